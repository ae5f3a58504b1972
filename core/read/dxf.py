"""DXF files, R12 to 2018, as strokes: blocks put in place, units and layers named.

Reading is done by ezdxf; this walks through the model space. What is not a line or a curve is
left out and counted.
"""

import re
import struct
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TextIO

import ezdxf
import ezdxf.recover
from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.insert import Insert
from ezdxf.filemanagement import dxf_file_info
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.validator import is_binary_dxf_file, is_dxf_file
from ezdxf.math import Matrix44

from core.errors import ImportFailed
from core.progress import Progress, Step, stop_if_cancelled
from core.read.dxf_strokes import NotAStroke, View, entity_stroke
from core.read.limits import BROKEN, Budget
from core.read.strokes import Skipped, SourceDrawing, SourceLayer, Stroke, is_finite

CURVE_MM = 0.01
COARSEST_MM = 25.4
"""Millimetres of a unit, where the file does not say what it is: an inch is the coarsest asked
for, so that approximated curves stay true whatever the answer."""
_TELL_EVERY = 20_000

_BROKEN = (
    *(*BROKEN, DXFError, RecursionError),
    *(StopIteration, EOFError, struct.error, OSError),
)

_INSUNITS = {
    1: (25.4, "inches"),
    2: (304.8, "feet"),
    4: (1.0, "millimetres"),
    5: (10.0, "centimetres"),
    6: (1000.0, "metres"),
    7: (1e6, "kilometres"),
    8: (25.4e-6, "microinches"),
    9: (0.0254, "mils"),
    10: (914.4, "yards"),
    13: (0.001, "micrometres"),
    14: (100.0, "decimetres"),
}
"""Source: DXF reference, header variable $INSUNITS."""


def read_dxf(path: Path, progress: Progress) -> SourceDrawing:
    """Read a DXF file.

    Raises:
        ImportFailed: it is none, it is broken beyond repair, or it holds too much.
        Cancelled: the user stopped it.
    """
    document, repairs = _load(path, progress)
    progress.tell(Step("Placing blocks"))
    mm, words = _units(document)
    walk = _Walk(document, str(path), CURVE_MM / (mm or COARSEST_MM), progress)
    walk.through(document.modelspace(), Matrix44(), layer="", names=())
    layers = _layers(document, walk.strokes)
    skipped = [Skipped(kind, reason, n) for (kind, reason), n in walk.skipped.most_common()]
    on_paper = sum(len(layout) for layout in document.layouts if layout.is_any_paperspace)
    if on_paper:
        skipped.append(Skipped("Paper layouts", "only the model is read", on_paper))
    return SourceDrawing(
        where=str(path),
        strokes=tuple(walk.strokes),
        layers=layers,
        mm_per_unit=mm,
        units_words=words,
        skipped=tuple(skipped),
        repairs=repairs,
    )


class _WatchedLines:
    """Hands a file on line by line, tells how far it is, and stops when told to."""

    def __init__(self, stream: TextIO, size: int, progress: Progress) -> None:
        self._stream, self._size, self._progress = stream, max(size, 1), progress
        self._lines = self._read = 0

    def readline(self) -> str:
        """Return the next line."""
        line = self._stream.readline()
        self._read += len(line)
        self._lines += 1
        if self._lines % _TELL_EVERY == 1:
            stop_if_cancelled(self._progress)
            share = min(1.0, self._read / self._size)
            self._progress.tell(Step("Reading the file", share))
        return line


def _load(path: Path, progress: Progress) -> tuple[Drawing, tuple[str, ...]]:
    """Return the document, and what had to be mended."""
    name = str(path)
    try:
        if is_binary_dxf_file(name):
            return ezdxf.readfile(name), ()  # type: ignore[attr-defined]  # re-exported
        if not is_dxf_file(name):
            raise _not_dxf(path)
        encoding = dxf_file_info(name).encoding
        with path.open(encoding=encoding, errors="surrogateescape") as stream:
            watched = _WatchedLines(stream, path.stat().st_size, progress)
            return Drawing.read(watched), ()  # type: ignore[arg-type]  # readline is all it uses
    except _BROKEN as broken:
        progress.tell(Step("Mending the file"))
        return _mended(path, broken)


def _mended(path: Path, broken: Exception) -> tuple[Drawing, tuple[str, ...]]:
    try:
        document, _ = ezdxf.recover.readfile(str(path))
    except _BROKEN as error:
        raise ImportFailed(
            "Its DXF is broken beyond repair.",
            where=str(path),
            mend="Save it anew as DXF from the program that drew it.",
        ) from error
    said = re.sub(r"\s+", " ", str(broken)).strip().rstrip(".")[:120]
    return document, (f"The file is damaged and was mended while reading ({said}).",)


def _not_dxf(path: Path) -> ImportFailed:
    with path.open("rb") as stream:
        start = stream.read(6)
    if re.fullmatch(rb"AC\d{4}", start):
        return ImportFailed(
            "It is a DWG file under another name.",
            where=str(path),
            mend="Save it as DXF from the program that drew it.",
        )
    return ImportFailed(
        "It is not a DXF file.",
        where=str(path),
        mend="Choose a DXF, SVG or PDF file.",
    )


def _units(document: Drawing) -> tuple[float | None, str]:
    found = _INSUNITS.get(int(document.header.get("$INSUNITS", 0)))
    return (found[0], f"{found[1]}, as the file says") if found else (None, "")


class _Walk:
    """Goes through the model space and all the blocks that are placed in it."""

    def __init__(
        self, document: Drawing, where: str, tolerance: float, progress: Progress
    ) -> None:
        self._blocks = document.blocks
        self._tolerance = tolerance
        self._budget = Budget(where, progress)
        self.strokes: list[Stroke] = []
        self.skipped: Counter[tuple[str, str]] = Counter()

    def through(
        self, entities: object, matrix: Matrix44, layer: str, names: tuple[str, ...]
    ) -> None:
        """Collect the strokes of entities.

        Args:
            entities: of the model space, or of a block.
            matrix: from there to the model space.
            layer: what layer 0 stands for in a block: that of the block as placed.
            names: of the blocks around, outermost first.
        """
        self._budget.check_depth(len(names))
        view = View(matrix, self._tolerance)
        for entity in entities:  # type: ignore[attr-defined]  # layouts iterate, untyped
            self._budget.spend()
            kind = entity.dxftype()
            if not isinstance(entity, DXFGraphic):
                self._skip(kind, "only the program that drew it can read it")
                continue
            if entity.dxf.get("invisible", 0):
                self._skip(kind, "it is hidden")
                continue
            own = str(entity.dxf.get("layer", "0"))
            own = layer if own == "0" and names else own
            try:
                if isinstance(entity, Insert):
                    self._place(entity, matrix, own, names)
                else:
                    self._add(entity, view, own, names)
            except NotAStroke as reason:
                self._skip(kind, str(reason))
            except _BROKEN:
                self._skip(kind, "it is damaged")

    def _place(
        self, insert: Insert, matrix: Matrix44, layer: str, names: tuple[str, ...]
    ) -> None:
        name = str(insert.dxf.name)
        block = self._blocks.get(name)
        if block is None:
            raise NotAStroke("its block is not in the file")
        if block.block is not None and block.block.dxf.get("flags", 0) & 4:
            raise NotAStroke("its block is in another file")
        if name in names:
            raise NotAStroke("its block holds itself")
        self._budget.spend(entities=insert.mcount)
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self.through(block, one.matrix44() * matrix, layer, (*names, name))

    def _add(self, entity: DXFEntity, view: View, layer: str, names: tuple[str, ...]) -> None:
        stroke = entity_stroke(entity, view)
        if not is_finite(stroke):
            raise NotAStroke("it is damaged")
        self._budget.spend(points=len(stroke.steps))
        # A block's name says what the part is; those that start with * are made by programs.
        name = next((n for n in names if not n.startswith("*")), "")
        self.strokes.append(replace(stroke, layer=layer, name=name, kind=entity.dxftype()))

    def _skip(self, kind: str, reason: str) -> None:
        self.skipped[kind, reason] += 1


def _layers(document: Drawing, strokes: list[Stroke]) -> tuple[SourceLayer, ...]:
    """Return the layers that have strokes, in the order in which they are first met."""
    return tuple(
        SourceLayer(name, is_shown=_is_shown(document, name))
        for name in dict.fromkeys(stroke.layer for stroke in strokes)
    )


def _is_shown(document: Drawing, name: str) -> bool:
    if not document.layers.has_entry(name):
        return True
    layer = document.layers.get(name)
    return not (layer.is_off() or layer.is_frozen())

"""SVG files as strokes, y up, in millimetres where the file says how large it is.

Transforms, view boxes and the path language are read by svgelements, from a tree that
``svg_tree`` has made safe and plain. Whether a shape is filled or only lined does not matter:
its path is the outline.
"""

import io
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import svgelements as se

from core.errors import ImportFailed
from core.progress import Progress, Step
from core.read.limits import BROKEN, Budget
from core.read.strokes import (
    Affine,
    ArcTo,
    CurveTo,
    LineTo,
    Skipped,
    SourceDrawing,
    SourceLayer,
    Stroke,
    StrokeStep,
    is_finite,
)
from core.read.svg_tree import LAYER, NAME, SVG, PlainSvg, plain_svg

MM_PER_PX = 25.4 / 96
"""Source: CSS Values and Units, 1 px is 1/96 of an inch; SVG takes its units from there."""
SIZED = "millimetres, by the size in the file"
UNSIZED = "pixels of 1/96 inch, by web standards"
NO_SIZE = (
    "The file gives no size in the world, so one of its units was taken as 1/96 inch, as the"
    " web standards have it. Check the sizes, or say what its unit is."
)
_DATA = "lapline-data"
_PLACEHOLDER = "M0 0L1 1"
_NUMBER = re.compile(r"\d*\.?\d+")
_UNSEEN = {"none", "transparent"}
_BROKEN = (*BROKEN, RecursionError)


def read_svg(path: Path, progress: Progress) -> SourceDrawing:
    """Read an SVG file, packed or not.

    Raises:
        ImportFailed: it is none, it is broken, or it holds too much.
        Cancelled: the user stopped it.
    """
    progress.tell(Step("Reading the file"))
    plain = plain_svg(path, progress)
    reading = _Reading(plain, str(path), progress)
    strokes = tuple(reading.strokes())
    layers = dict.fromkeys(stroke.layer for stroke in strokes)
    has_size = reading.scale is not None
    return SourceDrawing(
        where=str(path),
        strokes=strokes,
        layers=tuple(SourceLayer(name) for name in layers),
        mm_per_unit=1.0 if has_size else MM_PER_PX,
        units_words=SIZED if has_size else UNSIZED,
        skipped=tuple(Skipped(k, why, n) for (k, why), n in plain.skipped.most_common()),
        notes=() if has_size else (NO_SIZE,),
        repairs=reading.repairs(),
    )


class _Reading:
    """Interprets a plain SVG, shape by shape."""

    def __init__(self, plain: PlainSvg, where: str, progress: Progress) -> None:
        self._plain, self._where, self._progress = plain, where, progress
        self._budget = Budget(where, progress)
        # Path data is read shape by shape, so that it can be counted, told and stopped.
        self._data = _without_data(plain.root)
        self._cut_short = 0
        self._document = self._parsed()
        self.scale = self._mm_per_px()

    def repairs(self) -> tuple[str, ...]:
        """Return what was mended."""
        if not self._cut_short:
            return ()
        paths = "1 path is" if self._cut_short == 1 else f"{self._cut_short} paths are"
        return (f"{paths} broken and drawn as far as the break, as the standard has it.",)

    def strokes(self) -> Iterator[Stroke]:
        """Yield the strokes of all shapes."""
        scale = self.scale or 1.0
        height = float(self._document.height or 0.0)
        upright = Affine(0, scale, 1j * height * scale)
        shapes = [e for e in self._document.elements() if isinstance(e, se.Shape)]
        for count, shape in enumerate(shapes):
            self._progress.tell(Step("Reading the paths", count / len(shapes)))
            if reason := _unseen(shape):
                self._plain.skipped[_kind(shape), reason] += 1
                continue
            try:
                found = list(self._shape_strokes(shape))
            except _BROKEN:
                self._plain.skipped[_kind(shape), "it is damaged"] += 1
                continue
            for stroke in found:
                yield stroke.mapped(upright)

    def _mm_per_px(self) -> float | None:
        """Return what the library's pixels are in the world; None when the file is silent.

        Told from the size of the whole, for the library rounds an inch at the sixth digit.
        """
        sides = (
            (self._plain.width_mm, self._document.width),
            (self._plain.height_mm, self._document.height),
        )
        return next((mm / float(px) for mm, px in sides if mm and px), None)

    def _parsed(self) -> Any:
        stream = io.BytesIO(ET.tostring(self._plain.root))
        try:
            document = se.SVG.parse(stream, reify=False)
        except _BROKEN as error:
            raise ImportFailed(
                f"Its SVG is broken ({str(error)[:80] or type(error).__name__}).",
                where=self._where,
                mend="Save it anew as plain SVG.",
            ) from error
        if not isinstance(document, se.SVG):
            raise ImportFailed("It is not an SVG drawing.", where=self._where)
        return document

    def _shape_strokes(self, shape: Any) -> Iterator[Stroke]:
        path = self._path(shape)
        m = shape.transform
        placed = Affine.from_frame(
            complex(m.e, m.f), complex(m.e + m.a, m.f + m.b), complex(m.e + m.c, m.f + m.d)
        )
        like = Stroke(
            0,
            (),
            layer=str(shape.values.get(LAYER) or ""),
            name=str(shape.values.get(NAME) or ""),
            kind=_kind(shape),
            is_filled=not _is_unseen(shape, "fill"),
        )
        for stroke in _subpaths(path, like):
            self._budget.spend()
            seen = stroke.mapped(placed)
            if not is_finite(seen):
                raise ValueError("a number is too large")
            yield seen

    def _path(self, shape: Any) -> Any:
        number = shape.values.get(_DATA)
        if not isinstance(shape, se.Path) or number is None:
            return _outline(shape)
        data = self._data[int(number)]
        # Two numbers make a point; counted first, for interpreting them takes far longer.
        self._budget.spend(points=len(_NUMBER.findall(data)) // 2)
        path = se.Path()
        try:
            path.parse(data)
        except ValueError:
            self._cut_short += 1
        return path


def _without_data(root: ET.Element) -> list[str]:
    """Take the path data out of a tree, and leave the number of each."""
    found: list[str] = []
    for element in root.iter(f"{{{SVG}}}path"):
        element.set(_DATA, str(len(found)))
        found.append(element.get("d", ""))
        element.set("d", _PLACEHOLDER)
    return found


def _outline(shape: Any) -> Any:
    """Return a basic shape as a path, before its transform."""
    shape.transform, own = se.Matrix(), shape.transform
    path = se.Path(shape)
    shape.transform = own
    return path


def _kind(shape: Any) -> str:
    names = {"SimpleLine": "line"}
    name = type(shape).__name__
    return names.get(name, name.lower())


def _unseen(shape: Any) -> str:
    if shape.values.get("visibility", "") in ("hidden", "collapse"):
        return "it is hidden"
    if _is_unseen(shape, "fill") and _is_unseen(shape, "stroke"):
        return "it is neither filled nor lined, so it is not seen"
    return ""


def _is_unseen(shape: Any, paint: str) -> bool:
    return str(shape.values.get(paint) or "").strip().lower() in _UNSEEN


def _subpaths(path: Any, like: Stroke) -> Iterator[Stroke]:
    """Yield the unbroken runs of a path."""
    start = here = 0j
    steps: list[StrokeStep] = []
    for segment in path:
        end = _point(segment.end) if segment.end is not None else start
        if isinstance(segment, se.Move):
            if steps:
                yield replace(like, start=start, steps=tuple(steps))
            start, steps = end, []
        elif isinstance(segment, se.Close):
            if steps:
                yield replace(like, start=start, steps=tuple(steps), is_closed=True)
            end, steps = start, []
        else:
            steps.append(_step(segment, here, end))
        here = end
    if steps:
        yield replace(like, start=start, steps=tuple(steps))


def _step(segment: Any, start: complex, end: complex) -> StrokeStep:
    if isinstance(segment, se.CubicBezier):
        return CurveTo(_point(segment.control1), _point(segment.control2), end)
    if isinstance(segment, se.QuadraticBezier):
        control = _point(segment.control)
        return CurveTo(start + 2 / 3 * (control - start), end + 2 / 3 * (control - end), end)
    if isinstance(segment, se.Arc):
        return _arc(segment, start, end)
    return LineTo(end)


def _arc(arc: Any, start: complex, end: complex) -> StrokeStep:
    """Return an elliptical arc; one that is flat is a line."""
    centre = _point(arc.center)
    u, v = _point(arc.prx) - centre, _point(arc.pry) - centre
    turn = (u.conjugate() * v).imag
    if abs(turn) < 1e-12 or arc.sweep == 0:
        return LineTo(end)
    offset = start - centre
    # offset = u cos t + v sin t, solved by Cramer's rule
    along, across = (offset.conjugate() * v).imag, (u.conjugate() * offset).imag
    first = ArcTo(centre, u, v, 0.0, float(arc.sweep), end)
    return replace(first, start_rad=math.atan2(across / turn, along / turn))


def _point(point: Any) -> complex:
    return complex(float(point.x), float(point.y))

"""A drawing as DXF, for plotters and drawing programs.

R2000 and R2010 files say that they are in millimetres ($INSUNITS 4, $MEASUREMENT 1). R12 has
no such header variables (they came with R2000 and R14), and strict readers refuse what is new
to them, so an R12 file says it in a comment on its first line: choose millimetres when the
plotter's program asks.

The same drawing gives the same bytes: times and identifiers of the file are fixed.
Looks (fills, colours) are left out; layers have a plain colour each, by what they are for.
"""

import contextlib
import io
from collections.abc import Iterator
from dataclasses import replace
from enum import StrEnum

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing as DxfDocument

from core.geometry.arc_fit import fit_arcs
from core.write.drawing import Drawing, Extent, Purpose
from core.write.dxf_entities import DxfLine, new_lines, old_lines, text_entities


class DxfVersion(StrEnum):
    """The version of AutoCAD whose DXF is written."""

    R12 = "R12"
    R2000 = "R2000"
    R2010 = "R2010"


_COLOURS = {
    Purpose.CUT: 1,
    Purpose.WEED: 6,
    Purpose.TICK: 5,
    Purpose.CENTRE: 4,
    Purpose.REGISTER: 2,
    Purpose.LABEL: 3,
    Purpose.FRAME: 8,
    Purpose.PICTURE: 7,
}
"""AutoCAD colour index of a layer: red, magenta, blue, cyan, yellow, green, grey, black."""

_ENTITIES = "  0\nSECTION\n  2\nENTITIES\n"
_R12_COMMENT = "999\nAll lengths in this file are millimetres.\n"


def drawing_to_dxf(
    drawing: Drawing, version: DxfVersion = DxfVersion.R2000, arcs_mm: float | None = None
) -> bytes:
    """Return the drawing as the bytes of a DXF file.

    Args:
        drawing: what is written.
        version: of the format.
        arcs_mm: cuts become lines and arcs that keep within this; None leaves polylines.
    """
    with _fixed_identity():
        document = DxfDocument.new(version.value)
        if version is not DxfVersion.R12:
            document.header["$INSUNITS"] = units.MM
            document.header["$MEASUREMENT"] = 1
        for layer in drawing.layers:
            document.layers.add(layer.name, color=_COLOURS[layer.purpose])
        _set_extent(document, drawing.extent)
        return _bytes(document, version, _content(document, drawing, version, arcs_mm))


@contextlib.contextmanager
def _fixed_identity() -> Iterator[None]:
    """Have the library write fixed times and identifiers into documents made meanwhile."""
    options = ezdxf.options  # type: ignore[attr-defined]  # re-exported without saying so
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _set_extent(document: DxfDocument, extent: Extent) -> None:
    """Say what the drawing covers, in the layout and in the header.

    The library takes the layout's extents over into the header, but not those from the origin.
    """
    x0, y0, x1, y1 = extent
    space = document.modelspace()
    space.reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    space.reset_limits((x0, y0), (x1, y1))
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (x0, y0, 0.0), (x1, y1, 0.0)


def _content(
    document: DxfDocument, drawing: Drawing, version: DxfVersion, arcs_mm: float | None
) -> str:
    """Return all lines and texts of a drawing as entities of a document."""
    lines = [
        DxfLine(s.layer, run.points, run.is_closed) for s in drawing.shapes for run in s.runs
    ]
    if arcs_mm is not None:
        lines = _with_arcs(lines, drawing, arcs_mm)
    texts = [replace(text, text=one_line(text.text)) for text in drawing.texts]
    next_handle = document.entitydb.next_handle
    if version is DxfVersion.R12:
        return old_lines(lines, next_handle) + text_entities(texts, next_handle)
    owner = document.modelspace().layout_key
    return new_lines(lines, next_handle, owner) + text_entities(texts, next_handle, owner)


def _with_arcs(lines: list[DxfLine], drawing: Drawing, arcs_mm: float) -> list[DxfLine]:
    """Return lines with arcs in the place of cuts, all fitted at once."""
    cut = [i for i, line in enumerate(lines) if drawing.purpose(line.layer).is_cut]
    fitted = fit_arcs([(lines[i].points, lines[i].is_closed) for i in cut], arcs_mm)
    out = list(lines)
    for i, arcs in zip(cut, fitted, strict=True):
        out[i] = replace(lines[i], points=arcs.points, bulges=arcs.bulges)
    return out


def one_line(text: str) -> str:
    r"""Return a text without control characters, which a DXF line cannot hold.

    A DXF reader takes ``%%`` and ``\U+`` for codes; ``%%`` is broken up.
    """
    plain = "".join(c if c.isprintable() else " " for c in text)
    return plain.replace("%%", "% %")


def _bytes(document: DxfDocument, version: DxfVersion, content: str) -> bytes:
    """Return the document with the content put in as its entities."""
    stream = io.StringIO()
    document.write(stream)
    head, section, rest = stream.getvalue().partition(_ENTITIES)
    assert section, "every DXF has a section of entities"
    comment = _R12_COMMENT if version is DxfVersion.R12 else ""
    text = comment + head + section + content + rest
    return text.encode(document.output_encoding, errors="dxfreplace")

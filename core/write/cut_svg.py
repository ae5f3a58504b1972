"""A plotter's drawing as SVG: true to size, a group for each purpose, ids that people know.

One unit is one millimetre. Every line has an id made of its piece's label and its purpose, so
that a piece is found by name in the file.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from xml.sax.saxutils import quoteattr

from core.write.drawing import Drawing, Layer, Look, Purpose, Shape
from core.write.svg import shape_tag, svg_file, text_tag

_COLOURS = {
    Purpose.CUT: "#d00000",
    Purpose.WEED: "#b000b0",
    Purpose.TICK: "#0040d0",
    Purpose.CENTRE: "#007a8a",
    Purpose.REGISTER: "#806000",
    Purpose.LABEL: "#107010",
    Purpose.FRAME: "#808080",
    Purpose.PICTURE: "#000000",
}
_HAIRLINE_MM = 0.1

_START = (
    "A-Z_a-z\\u00c0-\\u00d6\\u00d8-\\u00f6\\u00f8-\\u02ff\\u0370-\\u037d\\u037f-\\u1fff"
    "\\u200c-\\u200d\\u2070-\\u218f\\u2c00-\\u2fef\\u3001-\\ud7ff\\uf900-\\ufdcf\\ufdf0-\\ufffd"
    "\\U00010000-\\U000effff"
)
"""What a name may begin with; the colon, which parts name spaces, is left out.

Source: Extensible Markup Language (XML) 1.0, fifth edition, productions 4 and 4a.
"""
_NOT_IN_NAME = re.compile(rf"[^{_START}.0-9\u00b7\u0300-\u036f\u203f-\u2040-]+")


def drawing_to_cut_svg(drawing: Drawing) -> str:
    """Return the drawing as the text of an SVG file, layer by layer."""
    met: dict[str, int] = {}
    body = [line for layer in drawing.layers for line in _group(drawing, layer, met)]
    return svg_file(drawing, body)


def _group(drawing: Drawing, layer: Layer, met: dict[str, int]) -> Iterator[str]:
    x0, _, _, top = drawing.extent
    colour = _COLOURS[layer.purpose]
    look = Look(stroke=colour, width_mm=_HAIRLINE_MM)
    texts = [t for t in drawing.texts if t.layer == layer.name]
    shapes = [s for s in drawing.shapes if s.layer == layer.name]
    if not (shapes or texts):
        return
    name = _unique(xml_id(layer.name), met)
    yield f'<g id={quoteattr(name)} data-purpose="{layer.purpose.value}">'
    for shape in shapes:
        yield shape_tag(replace(shape, look=look), x0, top, _unique(_id(shape, layer), met))
    for text in texts:
        yield text_tag(replace(text, colour=colour), x0, top)
    yield "</g>"


def _id(shape: Shape, layer: Layer) -> str:
    what = layer.purpose.value
    if what == "cut" and all(run.is_opening for run in shape.runs):
        what = "opening"
    return f"{xml_id(shape.label or shape.source or layer.name)}-{what}"


def _unique(name: str, met: dict[str, int]) -> str:
    """Return the name, with a number behind it when it was met before."""
    number = met[name] = met.get(name, 0) + 1
    return name if number == 1 else _unique(f"{name}.{number}", met)


def xml_id(text: str) -> str:
    """Return a text as a name that XML takes for an id; letters of all alphabets stay.

    >>> xml_id("Side board left 2"), xml_id("2 up"), xml_id("Grün/1")
    ('Side-board-left-2', '_2-up', 'Grün-1')
    """
    name = _NOT_IN_NAME.sub("-", unicodedata.normalize("NFC", text)).strip("-.") or "unnamed"
    return name if re.match(f"[{_START}]", name) else f"_{name}"

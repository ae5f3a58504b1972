"""A drawing as SVG, true to size.

Width and height are in millimetres and the view box counts millimetres, so one unit is one
millimetre wherever the file is opened. This is the only place that turns y downwards.
"""

from collections.abc import Iterable, Iterator
from xml.sax.saxutils import escape, quoteattr

from core.write.drawing import Drawing, Look, Run, Shape, Text
from core.write.typeface import CAP_HEIGHT_EM, FAMILY


def drawing_to_svg(drawing: Drawing) -> str:
    """Return the drawing as the text of an SVG file."""
    return svg_file(drawing, _body(drawing))


def svg_file(drawing: Drawing, body: Iterable[str]) -> str:
    """Return an SVG file of the drawing's size and name around a body."""
    x0, y0, x1, y1 = drawing.extent
    width, height = _number(x1 - x0), _number(y1 - y0)
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="{FAMILY}, sans-serif">\n'
        f"<title>{_text(drawing.name)}</title>\n"
    )
    return head + "\n".join([*body, "</svg>"]) + "\n"


def _body(drawing: Drawing) -> Iterator[str]:
    x0, _, _, top = drawing.extent
    if drawing.background:
        yield f'<rect width="100%" height="100%" fill="{drawing.background}"/>'
    layer = None
    for shape in drawing.shapes:
        if shape.layer != layer:
            if layer is not None:
                yield "</g>"
            layer = shape.layer
            yield f"<g data-layer={quoteattr(clean(layer))}>"
        yield shape_tag(shape, x0, top)
    if layer is not None:
        yield "</g>"
    yield from (text_tag(text, x0, top) for text in drawing.texts)


def shape_tag(shape: Shape, left: float, top: float, name: str = "") -> str:
    """Return a shape as a path; ``left`` and ``top`` are those of the picture, name its id."""
    path = "".join(_run(run, left, top) for run in shape.runs)
    source = f" data-source={quoteattr(clean(shape.source))}" if shape.source else ""
    given = f" id={quoteattr(name)}" if name else ""
    return f'<path{given} d="{path}" {_look(shape.look)}{source}/>'


def _run(run: Run, left: float, top: float) -> str:
    pairs = [f"{_number(x - left)} {_number(top - y)}" for x, y in run.points.tolist()]
    return "M" + "L".join(pairs) + ("Z" if run.is_closed else "")


def _look(look: Look) -> str:
    parts = [f'fill="{look.fill}" fill-rule="evenodd"' if look.fill else 'fill="none"']
    if look.stroke:
        parts.append(f'stroke="{look.stroke}" stroke-width="{_number(look.width_mm)}"')
        if look.dash_mm:
            dashes = " ".join(_number(d) for d in look.dash_mm)
            parts.append(f'stroke-dasharray="{dashes}"')
        kind = "round" if look.is_round else "butt"
        parts.append(f'stroke-linecap="{kind}" stroke-linejoin="round"')
    if look.opacity < 1:
        parts.append(f'opacity="{_number(look.opacity)}"')
    return " ".join(parts)


def text_tag(text: Text, left: float, top: float) -> str:
    """Return a line of text; ``left`` and ``top`` are those of the picture."""
    x, y = _number(text.at[0] - left), _number(top - text.at[1])
    size = _number(text.height_mm / CAP_HEIGHT_EM)
    parts = [f'x="{x}" y="{y}" font-size="{size}" fill="{text.colour}"']
    if text.anchor != "start":
        parts.append(f'text-anchor="{text.anchor}"')
    if text.is_bold:
        parts.append('font-weight="600"')
    if text.angle_deg:
        parts.append(f'transform="rotate({_number(-text.angle_deg)} {x} {y})"')
    return f"<text {' '.join(parts)}>{_text(text.text)}</text>"


def _number(value: float) -> str:
    """Return a number to a tenth of a micrometre, without needless zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _text(text: str) -> str:
    return escape(clean(text))


def clean(text: str) -> str:
    """Return the text without characters that XML 1.0 forbids."""
    return "".join(
        c
        for c in text
        if c in "\t\n" or "\x20" <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c > "\uffff"
    )

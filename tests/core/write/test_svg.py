import xml.etree.ElementTree as ET

import pytest
from shapely import box

from core.write.drawing import Drawing, Layer, Look, Purpose, Shape, Text, area_runs
from core.write.svg import drawing_to_svg
from core.write.typeface import CAP_HEIGHT_EM, text_width_mm

SVG = "{http://www.w3.org/2000/svg}"
LAYER = Layer("picture", Purpose.PICTURE)


def picture(*texts):
    look = Look(fill="#336699")
    shape = Shape("picture", area_runs(box(10, 20, 60, 40)), "p1", look)
    return Drawing("A & B", (-10, 0, 190, 100), (LAYER,), (shape,), texts)


def test_one_unit_is_one_millimetre():
    root = ET.fromstring(drawing_to_svg(picture()))
    assert (root.get("width"), root.get("height")) == ("200mm", "100mm")
    assert root.get("viewBox") == "0 0 200 100"


def test_y_runs_down_from_the_extents_top_left():
    path = ET.fromstring(drawing_to_svg(picture())).find(f".//{SVG}path")
    numbers = path.get("d").replace("M", "").replace("Z", "").replace("L", " ").split()
    points = {(float(x), float(y)) for x, y in zip(numbers[::2], numbers[1::2], strict=True)}
    assert points == {(20, 80), (70, 80), (70, 60), (20, 60)}
    assert path.get("data-source") == "p1"


def test_text_is_escaped_and_as_high_as_it_says():
    text = Text("picture", 'Lid <1> & "2"\x00', (0, 0), 10.0, angle_deg=30.0, anchor="middle")
    found = ET.fromstring(drawing_to_svg(picture(text))).find(f"{SVG}text")
    assert found.text == 'Lid <1> & "2"'
    assert float(found.get("font-size")) == pytest.approx(10.0 / CAP_HEIGHT_EM, abs=1e-3)
    assert found.get("transform").startswith("rotate(-30 ")


def test_widths_are_the_fonts_own():
    # Inter's figures are 0.6 to 0.7 em wide, its capitals 0.727 em high; "W" is wider than "i".
    assert text_width_mm("W", 10) > 3 * text_width_mm("i", 10)
    assert text_width_mm("ab", 10) == pytest.approx(
        text_width_mm("a", 10) + text_width_mm("b", 10)
    )
    assert text_width_mm("ab", 10, is_bold=True) > text_width_mm("ab", 10)
    assert text_width_mm("", 10) == 0
    assert text_width_mm("漢", 10) > 0

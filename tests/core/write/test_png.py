import io
from dataclasses import replace

import numpy as np
import pytest
import resvg_py
from PIL import Image
from shapely import box

from core.errors import ExportFailed
from core.write.drawing import Drawing, Layer, Look, Purpose, Shape, Text, area_runs
from core.write.png import drawing_to_png
from core.write.svg import drawing_to_svg

LAYER = Layer("picture", Purpose.PICTURE)
PAPER = "#fbfaf7"


def picture(*texts):
    look = Look(fill="#336699")
    shape = Shape("picture", area_runs(box(10, 20, 60, 40)), "p1", look)
    extent = (-10, 0, 190, 100)
    return Drawing("A & B", extent, (LAYER,), (shape,), texts, background=PAPER)


def seen(png):
    """The pixels, by another reader; it checks the sums of all chunks."""
    image = Image.open(io.BytesIO(png))
    image.load()
    assert image.mode == "RGB"
    return image


@pytest.mark.parametrize("width", [1, 97, 400, 1999])
def test_a_png_has_the_width_asked_for_and_the_pictures_shape(width):
    image = seen(drawing_to_png(picture(), width))
    assert image.width == width
    assert image.height == pytest.approx(width / 2, abs=1)


def test_colours_stand_where_they_are_drawn():
    image = seen(drawing_to_png(picture(), 400))
    assert image.getpixel((45, 125)) == (0x33, 0x66, 0x99)
    assert image.getpixel((135, 155)) == (0x33, 0x66, 0x99)
    assert image.getpixel((10, 125)) == (0xFB, 0xFA, 0xF7)
    assert image.getpixel((145, 155)) == (0xFB, 0xFA, 0xF7)


def test_it_is_what_another_renderer_makes_of_the_svg():
    drawing = picture()
    made = resvg_py.svg_to_bytes(svg_string=drawing_to_svg(drawing), width=400, dpi=96)
    other = np.asarray(Image.open(io.BytesIO(bytes(made))).convert("RGB"), dtype=float)
    ours = np.asarray(seen(drawing_to_png(drawing, 400)), dtype=float)
    assert ours.shape == other.shape
    assert np.abs(ours - other).mean() < 0.2


def test_text_shows_without_any_font_of_the_system():
    lettered = seen(drawing_to_png(picture(Text("picture", "Lid", (100, 50), 20.0)), 400))
    assert lettered.crop((220, 50, 300, 105)).getextrema() != (
        (0xFB,) * 2,
        (0xFA,) * 2,
        (0xF7,) * 2,
    )
    assert seen(drawing_to_png(picture(), 400)).tobytes() != lettered.tobytes()


def test_names_that_the_typeface_lacks_are_spelled_in_a_png_and_kept_in_an_svg():
    def png(text):
        return drawing_to_png(picture(Text("picture", text, (100, 50), 20.0)), 400)

    assert png("部品") == png("BuPin")
    assert png("部品") != png("部部")
    assert "部品" in drawing_to_svg(picture(Text("picture", "部品", (100, 50), 20.0)))


def test_a_roll_of_a_hundred_metres_is_rendered_whole():
    shape = Shape("picture", area_runs(box(90_000, 0, 100_000, 1500)), "", Look(fill="#336699"))
    roll = replace(picture(), extent=(0, 0, 100_000, 1500), shapes=(shape,))
    image = seen(drawing_to_png(roll, 2000))
    assert image.size == (2000, 30)
    assert image.getpixel((1795, 15)) == (0xFB, 0xFA, 0xF7)
    assert image.getpixel((1990, 15)) == (0x33, 0x66, 0x99)


@pytest.mark.parametrize("width", [0, 40_000])
def test_a_picture_without_size_or_too_large_is_refused(width):
    with pytest.raises(ExportFailed, match="The picture cannot be rendered"):
        drawing_to_png(picture(), width)

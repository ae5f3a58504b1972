"""PDF pages, written by hand and by Qt's PDF engine, by analytic areas."""

import math

import pytest
from PySide6.QtCore import QMarginsF, QRectF, QSizeF, Qt
from PySide6.QtGui import QPageSize, QPainter, QPdfWriter

from core.errors import ImportFailed
from core.read.outlines import ReadOptions, read_outlines
from helpers.outline_measures import panel_area

MM = 72 / 25.4


def pdf(*contents, extra="", rotate=0):
    """A PDF of pages with these contents, in points; objects from 50 up are ``extra``."""
    pages = range(10, 10 + 2 * len(contents), 2)
    kids = " ".join(f"{n} 0 R" for n in pages)
    objects = {1: "<</Type/Catalog/Pages 2 0 R>>",
               2: f"<</Type/Pages/Count {len(contents)}/Kids[{kids}]>>"}  # fmt: skip
    for n, content in zip(pages, contents, strict=True):
        objects[n] = (
            f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 900 900]/Rotate {rotate}"
            f"/Contents {n + 1} 0 R/Resources<</XObject<</F 50 0 R/G 51 0 R>>>>>>"
        )
        objects[n + 1] = stream("", content)
    parts = [f"{n} 0 obj\n{body}\nendobj\n" for n, body in objects.items()]
    return f"%PDF-1.7\n{''.join(parts)}{extra}trailer<</Root 1 0 R>>\n".encode()


def stream(entries, content):
    return f"<<{entries}/Length {len(content)}>>stream\n{content}\nendstream"


@pytest.fixture
def read(tmp_path):
    def read(data, **options):
        path = tmp_path / "drawing.pdf"
        path.write_bytes(data)
        return read_outlines(path, ReadOptions(**options))

    return read


def test_lines_curves_and_rectangles(read):
    bow = "0 500 m 0 560 100 560 100 500 c h B"
    found = read(pdf(f"10 10 200 100 re S 300 0 m 400 0 l 400 50 l h f {bow}"))
    areas = [panel_area(p) * MM**2 for p in found.panels]
    # the bow: y = 180 t (1 - t) over dx = 600 t (1 - t) dt, which comes to 3600
    assert areas == pytest.approx([20_000, 2500, 3600], rel=1e-5)
    assert found.units_words == "points of 1/72 inch, as in every PDF"


def test_what_is_on_an_only_page_goes_by_the_file(read):
    found = read(pdf("10 10 200 100 re S 300 0 50 50 re S"))
    assert [p.name for p in found.panels] == ["drawing 1", "drawing 2"]


def test_pages_are_layers_and_each_is_read_by_itself(read):
    data = pdf("0 0 72 72 re S", "0 0 36 36 re S")
    assert [layer.name for layer in read(data).layers] == ["Page 1", "Page 2"]
    assert [p.name for p in read(data, layers=("Page 2",)).panels] == ["Page 2"]


def test_transforms_and_forms_in_forms_add_up(read):
    head = "/Type/XObject/Subtype/Form/BBox[0 0 900 900]"
    to_inner = "/Matrix[2 0 0 2 0 0]/Resources<</XObject<</G 51 0 R>>>>"
    form = stream(head + to_inner, "q 1 0 0 3 5 5 cm /G Do Q")
    inner = stream(head, "0 0 10 10 re f")
    extra = f"50 0 obj\n{form}\nendobj\n51 0 obj\n{inner}\nendobj\n"
    (panel,) = read(pdf("q 0 1 -1 0 400 0 cm /F Do Q", extra=extra)).panels
    assert panel_area(panel) * MM**2 == pytest.approx(100 * 4 * 3, rel=1e-5)
    # (5, 5) doubled, turned by a quarter and moved, as its lower right corner
    assert panel.at[0] * MM == pytest.approx(400 - 10 - 60, abs=1e-3)
    assert panel.at[1] * MM == pytest.approx(10, abs=1e-3)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_a_turned_page_is_read_as_it_is_shown(read, rotate):
    (panel,) = read(pdf("0 0 200 100 re S", rotate=rotate)).panels
    width = max(n.at[0] for n in panel.outline) * MM
    assert width == pytest.approx(100 if rotate % 180 else 200, rel=1e-5)


def test_paths_that_only_clip_are_left_out(read):
    found = read(pdf("0 0 500 500 re W n 10 10 72 72 re S"))
    assert len(found.panels) == 1


def test_a_page_of_another_program_is_true_to_size(qapp, tmp_path):
    path = tmp_path / "qt.pdf"
    writer = QPdfWriter(str(path))
    writer.setResolution(2540)
    writer.setPageSize(QPageSize(QSizeF(300, 200), QPageSize.Unit.Millimeter))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0))
    painter = QPainter(writer)
    painter.scale(100, 100)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(Qt.GlobalColor.black)
    painter.drawRect(QRectF(20, 20, 100, 50))
    painter.drawEllipse(QRectF(150, 30, 80, 40))
    painter.setPen(Qt.GlobalColor.black)
    painter.drawText(10, 150, "words")
    painter.end()
    outlines = read_outlines(path)
    rectangle, ellipse = outlines.panels
    assert panel_area(rectangle) == pytest.approx(5000, abs=0.05 * 300)
    assert panel_area(ellipse) == pytest.approx(math.pi * 40 * 20, abs=0.05 * 194)
    assert max(n.at[0] for n in rectangle.outline) == pytest.approx(100, abs=0.05)
    assert [s.kind for s in outlines.skipped] == ["Text"]


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"hello", b"\0" * 3000])
def test_what_is_no_pdf_is_refused(read, data):
    with pytest.raises(ImportFailed, match="not a PDF that can be read"):
        read(data)


def test_a_page_without_lines_is_refused(read):
    with pytest.raises(ImportFailed, match="no line or curve"):
        read(pdf(""))


def test_too_many_pages_are_refused(read):
    with pytest.raises(ImportFailed, match="201 pages; 200 can be read"):
        read(pdf(*["0 0 9 9 re S"] * 201))


def test_pictures_are_left_out(read):
    image = stream(
        "/Type/XObject/Subtype/Image/Width 1/Height 1/ColorSpace/DeviceGray/BitsPerComponent 8",
        "x",
    )
    content = "0 0 72 72 re S q 9 0 0 9 0 0 cm /F Do Q"
    found = read(pdf(content, extra=f"50 0 obj\n{image}\nendobj\n"))
    assert [(s.kind, s.reason) for s in found.skipped] == [("Image", "a picture")]


def test_forms_within_themselves_come_to_an_end(read):
    form = stream("/Type/XObject/Subtype/Form/BBox[0 0 900 900]"
                  "/Resources<</XObject<</F 50 0 R>>>>", "0 0 72 72 re S /F Do")  # fmt: skip
    data = pdf("/F Do 200 0 36 36 re S", extra=f"50 0 obj\n{form}\nendobj\n")
    assert panel_area(read(data).panels[-1]) == pytest.approx(12.7**2, rel=1e-5)

"""Drawings on PDF pages, rendered by PDFium and measured in the picture."""

import io

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest

from core.write.crop import cropped
from core.write.drawing import (
    Drawing,
    Layer,
    Look,
    Purpose,
    Shape,
    Text,
    closed_run,
    open_run,
)
from core.write.pdf import drawings_to_pdf
from core.write.placed import Placed, put_together

INK = Layer("ink", Purpose.PICTURE)
PX_MM = 10
BLACK = Look(stroke="#000000", width_mm=0.4)


def drawing(*shapes: Shape, texts: tuple[Text, ...] = (), extent=(0.0, 0.0, 60.0, 40.0)):
    return Drawing("Page", extent, (INK,), shapes, texts)


def rendered(page: Drawing) -> np.ndarray:
    """The page as PDFium shows it, ten pixels a millimetre, grey, upper row first."""
    with pdfium.PdfDocument(drawings_to_pdf("Title", [page])) as document:
        picture = document[0].render(scale=25.4 * PX_MM / 72, grayscale=True)
        return picture.to_numpy().squeeze()


def test_lines_stand_where_they_are_drawn_to_a_tenth_of_a_millimetre():
    square = Shape("ink", (closed_run([(10, 5), (50, 5), (50, 35), (10, 35)]),), "", BLACK)
    dark = rendered(drawing(square)) < 128
    assert dark.shape == (400, 600)
    rows, columns = np.nonzero(dark)
    assert columns.min() == pytest.approx((10 - 0.2) * PX_MM, abs=1)
    assert columns.max() == pytest.approx((50 + 0.2) * PX_MM - 1, abs=1)
    assert rows.min() == pytest.approx((40 - 35 - 0.2) * PX_MM, abs=1)
    assert rows.max() == pytest.approx((40 - 5 + 0.2) * PX_MM - 1, abs=1)


def test_an_opening_in_a_filled_area_stays_free():
    rings = (
        closed_run([(5, 5), (55, 5), (55, 35), (5, 35)]),
        closed_run([(20, 10), (40, 10), (40, 30), (20, 30)]),
    )
    dark = rendered(drawing(Shape("ink", rings, "", Look(fill="#000000")))) < 128
    assert dark[200, 100]
    assert not dark[200, 300]
    assert dark.sum() == pytest.approx((50 * 30 - 20 * 20) * PX_MM**2, rel=0.01)


def test_dashes_have_their_length():
    line = Shape(
        "ink", (open_run([(0, 20), (60, 20)]),), "", Look("", "#000000", 1.0, (6.0, 4.0))
    )
    row = rendered(drawing(line))[200] < 128
    assert row.sum() == pytest.approx(0.6 * 600, abs=6)


def test_texts_are_words_to_a_reader_and_as_high_as_they_say():
    text = Text("ink", "HEX", (10.0, 10.0), 8.0)
    page = drawing(texts=(text,))
    rows, _ = np.nonzero(rendered(page) < 128)
    assert (rows.max() - rows.min() + 1) / PX_MM == pytest.approx(8.0, abs=0.2)
    read = pypdf.PdfReader(io.BytesIO(drawings_to_pdf("T", [page])))
    assert read.pages[0].extract_text().strip() == "HEX"


def test_the_list_of_contents_has_each_name_once():
    first, second = drawing(), drawing()
    other = Drawing("Other", second.extent, (INK,))
    read = pypdf.PdfReader(io.BytesIO(drawings_to_pdf("Ω", [first, second, other])))
    assert [entry.title for entry in read.outline] == ["Page", "Other"]
    assert read.metadata.title == "Ω"
    assert read.viewer_preferences.print_scaling == "/None"


def test_a_drawing_is_placed_at_its_scale():
    square = Shape("ink", (closed_run([(0, 0), (10, 0), (10, 10), (0, 10)]),), "", BLACK)
    label = Text("ink", "a", (5.0, 5.0), 2.0)
    own = drawing(square, texts=(label,), extent=(-10.0, -10.0, 20.0, 20.0))
    page = put_together("P", (100.0, 100.0), (Placed(own, (20.0, 30.0), 0.5),))
    assert page.shapes[0].runs[0].points.tolist()[2] == [30.0, 40.0]
    assert page.shapes[0].look.width_mm == 0.2
    assert (page.texts[0].at, page.texts[0].height_mm) == ((27.5, 37.5), 1.0)


def test_cropping_cuts_lines_at_the_window_and_leaves_out_what_is_outside():
    across = Shape("ink", (open_run([(-20, 10), (80, 10)]),), "", BLACK)
    far = Shape("ink", (open_run([(200, 0), (300, 0)]),), "", BLACK)
    ring = Shape("ink", (closed_run([(50, 5), (90, 5), (90, 30), (50, 30)]),), "", BLACK)
    texts = (Text("ink", "in", (5.0, 5.0), 2.0), Text("ink", "out", (150.0, 5.0), 2.0))
    shown = cropped(drawing(across, far, ring, texts=texts), (0.0, 0.0, 60.0, 40.0))
    assert len(shown.shapes) == 2
    assert shown.shapes[0].runs[0].points.tolist() == [[0, 10], [60, 10]]
    points = np.vstack([run.points for run in shown.shapes[1].runs])
    assert points[:, 0].max() == 60
    assert sum(_length(run.points) for run in shown.shapes[1].runs) == pytest.approx(45)
    assert [text.text for text in shown.texts] == ["in"]


def _length(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())

"""Paper templates, read back by pdfplumber and pypdf, and put together as a person does.

Sizes of paper: ISO 216 (A series); ANSI/ASME Y14.1 (A: 8.5 by 11 inches, B: 11 by 17 inches).
"""

import io
import re
from dataclasses import replace

import numpy as np
import pdfplumber
import pypdf
import pytest
import shapely
from msgspec.structs import replace as changed
from shapely import LineString, Polygon, box

from core.document.lines import PaintSpot, Seam
from core.document.panel import Trim
from core.document.path import Node, straight_path
from core.document.variant import Scheme, Variant
from core.plan.model import JobPlan, Piece
from core.plan.plan import plan_job
from core.write.papers import Paper
from core.write.templates import TemplateOptions, template_pages, templates_pdf
from helpers.plans import hand_job, hand_plan
from helpers.taped import Part

INCH = 25.4
ISO_216 = {Paper.A4: (210.0, 297.0), Paper.A3: (297.0, 420.0)}
ANSI_Y14_1 = {Paper.LETTER: (8.5 * INCH, 11 * INCH), Paper.TABLOID: (11 * INCH, 17 * INCH)}
MM = 25.4 / 72
CUT_WIDTH_MM = 0.6


def curved_plan() -> JobPlan:
    """A round opening is no test of curves: the board gets a bowed end and a slanted one."""
    job = hand_job()
    nodes = list(job.panels[0].outline)
    nodes[1] = changed(nodes[1], at=(640.0, 30.0), after=(60.0, 120.0))
    nodes[2] = changed(nodes[2], before=(90.0, -60.0))
    wave = Seam(
        id="s1",
        nodes=(
            Node(id="n1", at=(-20.0, 120.0), after=(200.0, 0.0)),
            Node(id="n2", at=(700.0, 260.0), before=(-200.0, 0.0)),
        ),
    )
    spot = PaintSpot(id="c1", at=(100.0, 350.0), film="f2")
    scheme = Scheme(panel="p1", seams=(wave,), spots=(spot,))
    variant = Variant(id="v1", name="Wave", schemes=(scheme,))
    panel = changed(job.panels[0], outline=tuple(nodes))
    return plan_job(changed(job, panels=(panel,), variants=(variant,)))


def pdf_of(plan: JobPlan, options: TemplateOptions, panel: int = 0) -> bytes:
    return templates_pdf(template_pages(plan, plan.panels[panel], options))


def text_of(page) -> str:
    return page.extract_text()


def lines_of(page, width_mm: float) -> list[np.ndarray]:
    """Lines of a width, as points in mm from the page's lower left corner."""
    height = float(page.height)
    found = []
    for item in (*page.lines, *page.curves, *page.rects):
        if item["linewidth"] * MM == pytest.approx(width_mm, abs=0.01) and item["stroke"]:
            points = [(x * MM, (height - y) * MM) for x, y in item["pts"]]
            if item["object_type"] == "rect" or _is_closed(item):
                points.append(points[0])
            found.append(np.array(points))
    return found


def _is_closed(item) -> bool:
    return any(step[0] == "h" for step in item.get("path", ()))


def crosses_of(page) -> dict[int, np.ndarray]:
    """The number and the place of each cross, from what is printed alone."""
    height = float(page.height)
    middles = []
    for item in page.lines:
        (ax, ay), (bx, by) = item["pts"]
        if abs(ay - by) < 0.01 and abs(bx - ax) * MM == pytest.approx(10.0, abs=0.01):
            middles.append(((ax + bx) / 2 * MM, (height - ay) * MM))
    crosses = {}
    words = [w for w in page.extract_words() if re.fullmatch(r"\d+", w["text"])]
    for x, y in middles:
        near = min(
            words,
            key=lambda w: np.hypot(
                w["x0"] * MM - x - 1.9, (height - w["bottom"]) * MM - y - 1.1
            ),
        )
        crosses[int(near["text"])] = np.array([x, y])
    return crosses


def put_together(pages) -> dict[str, np.ndarray]:
    """Where each page lies, so that crosses of one number meet; as a person lays them."""
    crosses = {page.page_number: crosses_of(page) for page in pages}
    first = pages[0].page_number
    places = {first: np.zeros(2)}
    where = dict(crosses[first])
    waiting = [p for p in crosses if p != first]
    while waiting:
        page = next(p for p in waiting if set(crosses[p]) & set(where))
        shared = sorted(set(crosses[page]) & set(where))
        shifts = np.array([where[n] - crosses[page][n] for n in shared])
        assert np.ptp(shifts, axis=0).max() < 0.05, "all crosses meet at once"
        places[page] = shifts.mean(axis=0)
        for number, at in crosses[page].items():
            where.setdefault(number, at + places[page])
        waiting.remove(page)
    return places


def reassembled(pages) -> Polygon:
    """The piece, from the thick cut lines of all pages laid together."""
    places = put_together(pages)
    lines = [
        LineString(points + places[page.page_number])
        for page in pages
        for points in lines_of(page, CUT_WIDTH_MM)
    ]
    rings = shapely.polygonize([shapely.union_all(lines, grid_size=0.01)])
    parts = sorted(rings.geoms, key=lambda ring: -ring.envelope.area)
    return parts[0]


def assert_same_shape(found: Polygon, piece: Piece, tolerance_mm: float) -> None:
    wanted = piece.cut
    x0, y0, _, _ = wanted.bounds
    fx, fy, _, _ = found.bounds
    moved = shapely.affinity.translate(wanted, fx - x0, fy - y0)
    assert found.hausdorff_distance(moved) < tolerance_mm
    assert len(found.interiors) == len(wanted.interiors)
    for a, b in zip(found.bounds, moved.bounds, strict=True):
        assert a == pytest.approx(b, abs=tolerance_mm)


def pages_of(pdf: pdfplumber.PDF, piece: Piece):
    """The tiled pages of one piece: those that name it and have crosses."""
    return [p for p in pdf.pages if piece.label in text_of(p) and crosses_of(p)]


@pytest.mark.parametrize("paper", [*ISO_216, *ANSI_Y14_1])
def test_pages_have_the_size_of_their_paper(paper):
    pdf = pypdf.PdfReader(io.BytesIO(pdf_of(hand_plan(), TemplateOptions(paper=paper))))
    wanted = (ISO_216 | ANSI_Y14_1)[paper]
    for page in pdf.pages:
        sides = sorted(float(s) * MM for s in (page.mediabox.width, page.mediabox.height))
        assert sides == pytest.approx(wanted, abs=0.01)


def test_the_check_square_is_100_mm_and_the_page_says_how_to_check():
    with pdfplumber.open(io.BytesIO(pdf_of(hand_plan(), TemplateOptions()))) as pdf:
        first = pdf.pages[0]
        sides = [(r, (float(r["width"]) * MM, float(r["height"]) * MM)) for r in first.rects]
        (square,) = [r for r, size in sides if size == pytest.approx((100.0, 100.0), abs=0.1)]
        inside = first.crop([square[side] for side in ("x0", "top", "x1", "bottom")])
        words = " ".join(text_of(inside).split())
    assert "Print at 100 %" in words
    assert "each side must be 100 mm" in words


@pytest.mark.parametrize("make", [hand_plan, curved_plan])
def test_pages_laid_together_by_their_crosses_give_the_piece(make):
    plan = make()
    mirrored = plan.panels[1]
    with pdfplumber.open(io.BytesIO(pdf_of(plan, TemplateOptions(), 1))) as pdf:
        for piece in mirrored.pieces:
            pages = pages_of(pdf, piece)
            assert len(pages) >= 3
            assert_same_shape(reassembled(pages), piece, 0.2)


def test_a_long_page_holds_the_piece_whole():
    plan = curved_plan()
    with pdfplumber.open(io.BytesIO(pdf_of(plan, TemplateOptions(paper=Paper.LONG)))) as pdf:
        assert len(pdf.pages) == 2
        for page, piece in zip(pdf.pages, plan.panels[0].pieces, strict=True):
            lines = [LineString(points) for points in lines_of(page, CUT_WIDTH_MM)]
            rings = shapely.polygonize([shapely.union_all(lines)])
            largest = max(rings.geoms, key=lambda ring: ring.area)
            assert_same_shape(largest, piece, 0.05)


def test_only_pages_that_hold_something_are_printed():
    """A long arch: the pages under it are empty."""
    plan = hand_plan()
    arch = box(0, 0, 1000, 800).difference(box(60, -1, 940, 740))
    piece = replace(plan.panels[0].pieces[0], final=arch)
    panel = replace(plan.panels[0], pieces=(piece,))
    pages = template_pages(replace(plan, panels=(panel,)), panel, TemplateOptions())
    names = [t.text for page in pages[1:] for t in page.texts if t.height_mm == 5.0]
    assert len(names) == len(set(names)) == len(pages) - 1
    with pdfplumber.open(io.BytesIO(templates_pdf(pages))) as pdf:
        assert_same_shape(reassembled(pdf.pages[1:]), piece, 0.2)
    assert len(pages) - 1 < 5 * 4, "fewer than the whole grid of five rows and four columns"
    for page in pages[1:]:
        assert any(shape.layer == "CUT-LINES" for shape in page.shapes) or any(
            shape.layer == "GUIDE-LINES" for shape in page.shapes
        )


def test_a_blank_shows_where_its_film_ends_and_its_grip_begins():
    job = hand_job()
    job = changed(job, panels=(changed(job.panels[0], trim=Trim.ON_PART),))
    plan = plan_job(job)
    pages = template_pages(plan, plan.panels[0], TemplateOptions(paper=Paper.LONG))
    assert "film ends; outside is grip" in [text.text for text in pages[0].texts]
    with pdfplumber.open(io.BytesIO(templates_pdf(pages))) as pdf:
        (cut,) = (x for x in lines_of(pdf.pages[0], CUT_WIDTH_MM) if len(x) > 2)
        assert_same_shape(Polygon(cut), plan.panels[0].pieces[0], 0.05)


def test_lines_are_told_apart_by_dashes_and_width_not_by_colour_alone():
    from core.write.template_lines import TemplateLine  # noqa: PLC0415

    styles = [(kind.look.dash_mm, kind.look.width_mm) for kind in TemplateLine]
    assert len(set(styles)) == len(styles)


def test_equal_plans_give_equal_bytes_and_fonts_are_embedded():
    plan = hand_plan()
    data = pdf_of(plan, TemplateOptions())
    assert data == pdf_of(hand_plan(), TemplateOptions())
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_names_in_other_scripts_do_not_break_a_template():
    plan = hand_plan()
    job = changed(plan.job, name="Ящик / θύρα / 部品 / لوحة / \x07")
    named = replace(plan.panels[0].pieces[0], label="Дверь 部 1")
    panel = replace(plan.panels[0], pieces=(named,))
    data = templates_pdf(
        template_pages(replace(plan, job=job, panels=(panel,)), panel, TemplateOptions())
    )
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        words = text_of(pdf.pages[0])
    assert "Дверь Bu 1" in words
    assert "Ящик / θύρα / BuPin / lwhh" in words


def test_a_piece_of_a_curved_panel_is_printed_as_its_film_laid_flat():
    """On a ball of 600 mm radius the film is not the map; what is cut and what guides agree."""
    dome = Part(lambda _s, _t: 1 / 600**2, length=600, half=215).grid()
    job = hand_job()
    panel = changed(
        job.panels[0],
        openings=(),
        is_pair=False,
        edge_turn_mm=0.0,
        surface=changed(dome, origin=(0.0, 200.0)),
    )
    seam = Seam(id="s1", nodes=straight_path([(350, -5), (350, 405)]))
    spot = PaintSpot(id="c1", at=(500.0, 200.0), film="f2")
    scheme = Scheme(panel="p1", seams=(seam,), spots=(spot,))
    variant = changed(job.variants[0], schemes=(scheme,))
    plan = plan_job(changed(job, panels=(panel,), variants=(variant,)))
    under = plan.panels[0].pieces[0]
    assert under.cut.hausdorff_distance(under.final) > 2.0
    pages = template_pages(plan, plan.panels[0], TemplateOptions(paper=Paper.LONG))
    with pdfplumber.open(io.BytesIO(templates_pdf(pages))) as pdf:
        (cut,) = (x for x in lines_of(pdf.pages[0], CUT_WIDTH_MM) if len(x) > 2)
        assert_same_shape(Polygon(cut), under, 0.05)
        seams = [x for x in lines_of(pdf.pages[0], 0.5) if np.ptp(x[:, 1]) > 300]
    (line,) = (LineString(x) for x in seams)
    # The lap is 8 mm on the part; on the flat film it is that much stretched or bunched.
    rim = Polygon(cut).exterior
    ends = line.interpolate([0.1, 0.5, 0.9], normalized=True)
    for point in ends:
        assert rim.distance(point) == pytest.approx(8.0, rel=0.15)


def test_a_whole_panel_is_printed_to_mark_its_seams_by():
    plan = curved_plan()
    right = plan.panels[1]
    options = TemplateOptions(paper=Paper.LONG, has_panel=True)
    with pdfplumber.open(io.BytesIO(pdf_of(plan, options, 1))) as pdf:
        assert len(pdf.pages) == 1 + len(right.pieces)
        page = pdf.pages[0]
        rings = [Polygon(x) for x in lines_of(page, CUT_WIDTH_MM) if len(x) > 2]
        outer = max(rings, key=lambda ring: ring.area)
        assert outer.area == pytest.approx(Polygon(right.outline.exterior).area, rel=1e-4)
        assert len(rings) == 1 + len(right.outline.interiors)
        x0, y0, _, _ = right.outline.bounds
        fx, fy, _, _ = outer.bounds
        seams = [LineString(x) for x in lines_of(page, 0.5) if np.ptp(x[:, 0]) > 25]
        there = shapely.affinity.translate(shapely.union_all(seams), x0 - fx, y0 - fy)
        path = shapely.line_merge(right.stretches[0].path)
        assert path.buffer(0.05).contains(there)
        assert there.length == pytest.approx(path.intersection(right.outline).length, abs=0.2)

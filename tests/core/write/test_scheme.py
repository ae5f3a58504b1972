import re
from dataclasses import replace

import pytest
import shapely
from shapely import Polygon, box

from core.errors import InputError
from core.write.inks import contrast
from core.write.page import PAPER
from core.write.scheme import distinct_panels, find_panels, scheme_drawing
from core.write.scheme_legend import order_ranges
from core.write.scheme_panel import hidden_bands
from core.write.typeface import text_width_mm
from helpers.plans import LAP_MM, SEAM_X, TURN_MM, hand_plan


def text_boxes(drawing):
    """The boxes of all level texts, by the font's own widths."""
    for text in drawing.texts:
        width = text_width_mm(text.text, text.height_mm, is_bold=text.is_bold)
        left = text.at[0] - {"start": 0, "middle": width / 2, "end": width}[text.anchor]
        bottom = text.at[1]
        yield text, box(left, bottom, left + width, bottom + text.height_mm)


def test_every_piece_has_its_number():
    numbers = [t.text for t in scheme_drawing(hand_plan()).texts if t.text.isdigit()]
    assert sorted(numbers) == ["1", "1", "1", "2", "2"]  # the legend's own sample is a 1


def test_no_text_is_cut_or_covers_another():
    drawing = scheme_drawing(hand_plan())
    sheet, boxes = box(*drawing.extent), list(text_boxes(drawing))
    for i, (text, area) in enumerate(boxes):
        assert sheet.contains(area), text.text
        for other, its_area in boxes[:i]:
            assert not area.intersects(its_area), (text.text, other.text)


def test_panels_are_true_to_size():
    drawing = scheme_drawing(hand_plan(), {"p1L"})
    by_source = {s.source: s for s in drawing.shapes if s.source}
    white, green = by_source["p1L.s1L"], by_source["p1L.s1R"]
    spans = [
        s.runs[0].points.max(axis=0) - s.runs[0].points.min(axis=0) for s in (white, green)
    ]
    assert spans[0] == pytest.approx((SEAM_X, 400))
    assert spans[1] == pytest.approx((600 - SEAM_X, 400))
    assert len(green.runs) == 2  # its opening


def test_a_right_panel_is_mirrored():
    drawing = scheme_drawing(hand_plan())
    middles = {
        s.source: s.runs[0].points[:, 0].mean()
        for s in drawing.shapes
        if s.source.startswith("p1")
    }
    assert middles["p1L.s1L"] < middles["p1L.s1R"] < middles["p1R.s1R"] < middles["p1R.s1L"]


def test_the_hidden_band_lies_beneath_the_top_film_a_lap_wide():
    plan = hand_plan()
    panel = plan.panels[0]
    regions = {r.id: r for r in panel.regions}
    ((region, band),) = hidden_bands(panel.pieces[0], regions)
    assert region.id == "p1L.s1R"
    assert band.area == pytest.approx(LAP_MM * (400 + 2 * TURN_MM))
    assert hidden_bands(panel.pieces[1], regions) == []


def test_panels_alike_are_shown_once():
    plan = hand_plan()
    left, right = plan.panels
    assert [n for _, n in distinct_panels([left, right, left])] == [2, 1]


def test_a_panel_is_found_by_copy_panel_and_name():
    plan = hand_plan()
    assert [p.id for p in find_panels(plan, "p1R")] == ["p1R"]
    assert [p.id for p in find_panels(plan, "p1")] == ["p1L", "p1R"]
    assert [p.id for p in find_panels(plan, "Side board")] == ["p1L", "p1R"]
    with pytest.raises(
        InputError, match=re.escape("There is no panel p9. The job has p1L, p1R.")
    ):
        find_panels(plan, "p9")


def test_a_panel_without_pieces_is_drawn_all_the_same():
    plan = hand_plan()
    bare = replace(plan.panels[0], regions=(), pieces=(), stretches=(), tape_runs=())
    drawing = scheme_drawing(replace(plan, panels=(bare,)))
    assert "600 × 400 mm  ·  0 pieces" in {
        t.text.replace(" · ", "  ·  ") for t in drawing.texts
    }


def test_a_job_without_panels_has_a_picture():
    drawing = scheme_drawing(replace(hand_plan(), panels=()))
    x0, y0, x1, y1 = drawing.extent
    assert x1 > x0
    assert y1 > y0


def test_all_texts_read_on_paper_or_on_a_disc():
    # WCAG 2.2, success criterion 1.4.3: at least 4.5.
    for text in scheme_drawing(hand_plan()).texts:
        assert contrast(text.colour, PAPER) > 4.5


def test_discs_of_numbers_stand_on_their_region():
    plan = hand_plan()
    drawing = scheme_drawing(plan, {"p1L"})
    by_source = {s.source: s for s in drawing.shapes if s.source.startswith("p1L.")}
    green = shapely.Polygon(by_source["p1L.s1R"].runs[0].points)
    two = next(t for t in drawing.texts if t.text == "2")
    assert green.contains(shapely.Point(two.at))


def test_ranges():
    assert order_ranges([3, 1, 2, 2, 7, 9, 8]) == "1–3, 7–9"
    assert order_ranges([]) == ""


def test_a_panel_whose_outline_is_not_usable_says_so():
    plan = hand_plan()
    nothing = Polygon()
    bare = replace(
        plan.panels[0], outline=nothing, extended=nothing, regions=(), pieces=(), stretches=()
    )
    drawing = scheme_drawing(replace(plan, panels=(bare, plan.panels[1])))
    assert "no plan: see the findings" in {t.text for t in drawing.texts}
    assert scheme_drawing(replace(plan, panels=(bare,))).texts

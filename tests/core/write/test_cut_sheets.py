from dataclasses import replace

import numpy as np
import pytest
import shapely
from msgspec.structs import replace as changed
from shapely import LineString, MultiPoint, Polygon

from core.write.cut_sheets import (
    CUT,
    FRAME,
    LAYERS,
    label_of,
    piece_drawing,
    sheet_drawing,
    sheet_spans,
)
from core.write.drawing import Purpose
from core.write.piece_marks import CENTRE_MARK_MM, CENTRES, LABELS, TICKS
from helpers.plans import hand_plan, hand_rolls


def sheet_drawings(film, plan):
    return [sheet_drawing(film, s, plan) for s in film.sheets if s.placements]


def sheets():
    plan = hand_plan()
    return [d for film in hand_rolls(plan).films for d in sheet_drawings(film, plan)]


def rings(drawing):
    return [Polygon(r.points) for s in drawing.shapes_for(Purpose.CUT) for r in s.runs]


def test_one_drawing_a_sheet_named_after_film_and_sheet():
    assert [d.name for d in sheets()] == ["Chalk white r1", "Grün / fern buy"]


def test_layers_say_what_they_are_for():
    layers = {layer.name: layer.purpose for layer in sheets()[0].layers}
    assert layers == {
        "CUT-LINES": Purpose.CUT,
        "MATCH-TICKS": Purpose.TICK,
        "CENTRE-MARKS": Purpose.CENTRE,
        "PIECE-LABELS": Purpose.LABEL,
        "ROLL-FRAME": Purpose.FRAME,
    }


def test_cut_lines_are_the_pieces_as_placed_and_nothing_else():
    plan = hand_plan()
    for film, drawing in zip(hand_rolls(plan).films, sheets(), strict=True):
        placed = [p.polygon for s in film.sheets for p in s.placements]
        shapes = drawing.shapes_for(Purpose.CUT)
        assert [s.source for s in shapes] == [
            p.item.piece for s in film.sheets for p in s.placements
        ]
        for shape, polygon in zip(shapes, placed, strict=True):
            outer, *holes = (r.points for r in shape.runs)
            assert shapely.equals(Polygon(outer, holes), polygon)
            assert all(r.is_closed for r in shape.runs)


def test_ticks_lie_on_their_piece():
    drawing = sheets()[0]
    cut = {s.source: Polygon(s.runs[0].points) for s in drawing.shapes_for(Purpose.CUT)}
    ticks = drawing.shapes_for(Purpose.TICK)
    assert {s.source for s in ticks} == set(cut)
    for shape in ticks:
        assert len(shape.runs) == 2  # 420 mm of seam, at most 150 mm apart
        for run in shape.runs:
            assert cut[shape.source].buffer(1e-6).contains(MultiPoint(run.points))


def test_labels_and_arrows_stand_inside_their_piece():
    for drawing in sheets():
        cut = {s.source: Polygon(s.runs[0].points) for s in drawing.shapes_for(Purpose.CUT)}
        arrows = drawing.shapes_for(Purpose.LABEL)
        assert [a.source for a in arrows] == [source for source in cut for _ in range(2)]
        for arrow in arrows:
            points = np.vstack([r.points for r in arrow.runs])
            assert cut[arrow.source].contains(MultiPoint(points))
        for text in drawing.texts:
            assert cut[text.source].contains(shapely.Point(text.at))
        assert {t.layer for t in drawing.texts} == {LABELS.name}


def test_a_label_says_panel_place_in_the_lay_order_film_and_whether_it_is_mirrored():
    labels = {}
    for drawing in sheets():
        for text in drawing.texts:
            labels.setdefault(text.source, []).append(text.text)
    assert labels == {
        "p1L.s1L": ["Side board left 1", "Chalk white", "lay 1 of 2"],
        "p1R.s1L": ["Side board right 1", "Chalk white", "lay 1 of 2, mirrored"],
        "p1L.s1R": ["Side board left 2", "Grün / fern", "lay 2 of 2"],
        "p1R.s1R": ["Side board right 2", "Grün / fern", "lay 2 of 2, mirrored"],
    }


def test_a_label_says_that_it_is_cut_from_the_liner_side():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    drawing = sheet_drawing(film, film.sheets[0], plan, is_mirrored=True)
    said = [t.text for t in drawing.texts if t.text.startswith("lay")]
    assert said == ["lay 1 of 2, cut from liner", "lay 1 of 2, mirrored, cut from liner"]


def directions_of(arrows):
    """The angles of arrows, from the tail to the tip of each stroke."""
    shafts = [arrow.runs[0].points[[0, -1]] for arrow in arrows]
    return [float(np.degrees(np.arctan2(*(h - t)[::-1])) % 360) for t, h in shafts]


def directions(drawing):
    """The angles of the up arrow and the flow arrow of each piece, in the order laid."""
    angles = directions_of(drawing.shapes_for(Purpose.LABEL))
    return [pytest.approx(pair) for pair in zip(angles[::2], angles[1::2], strict=True)]


def test_arrows_point_up_and_along_the_flow_as_the_piece_lies():
    # Left pieces flow to +x, right ones to -x; the rolls turn the second piece by 90 or 180.
    white, green = sheets()
    assert directions(white) == [(90, 0), (180, 270)]
    assert directions(green) == [(90, 0), (270, 0)]


def test_no_flow_arrow_where_the_panel_has_no_flow():
    plan = hand_plan()
    panels = tuple(changed(p, flow_deg=None) for p in plan.job.panels)
    plan = replace(plan, job=changed(plan.job, panels=panels))
    film = hand_rolls(plan).films[0]
    drawing = sheet_drawing(film, film.sheets[0], plan)
    arrows = drawing.shapes_for(Purpose.LABEL)
    assert len(arrows) == 2  # the up arrow of each piece
    assert directions_of(arrows) == [pytest.approx(90), pytest.approx(180)]


def test_centre_marks_stand_on_the_panels_middle_at_the_pieces_edge():
    plan = hand_plan()
    left = plan.panels[0]
    under, top = (piece_drawing(piece, plan) for piece in left.pieces)
    # The board is 600 x 400, its middle at (300, 200); the pieces end at x = 358 and at 350.
    marks = [tuple(map(tuple, r.points)) for r in under.shapes_for(Purpose.CENTRE)[0].runs]
    length = CENTRE_MARK_MM
    moved = [(310, 0), (310, 420), (0, 210), (368, 210)]  # the piece starts at (-10, -10)
    ends = {(round(x, 6), round(y, 6)) for mark in marks for x, y in mark}
    assert set(moved) <= ends
    for mark in marks:
        assert LineString(mark).length == pytest.approx(length)
    level = top.shapes_for(Purpose.CENTRE)[0].runs
    assert {round(float(y), 6) for run in level for y in run.points[:, 1]} == {210.0}
    assert len(level) == 4  # the piece's edges, and those of its opening


def test_the_frame_is_the_used_stretch_of_the_roll():
    drawing = sheets()[0]
    (frame,) = drawing.shapes_for(Purpose.FRAME)
    assert Polygon(frame.runs[0].points).bounds == drawing.extent
    assert drawing.extent[:2] == (0, 0)
    assert drawing.extent[3] == 1000.0
    assert drawing.extent[2] < 2500.0


def test_an_offcut_is_framed_whole():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    sheet = film.sheets[0]
    offcut = replace(sheet.sheet, kind="offcut", length_mm=1300.0)
    film = replace(film, sheets=(replace(sheet, sheet=offcut),))
    assert sheet_drawings(film, plan)[0].extent == (0, 0, 1300, 1000)


def test_a_retake_says_so():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    sheet = film.sheets[0]
    again = replace(sheet.placements[0], item=replace(sheet.placements[0].item, attempt=3))
    film = replace(film, sheets=(replace(sheet, placements=(again,)),))
    drawing = sheet_drawings(film, plan)[0]
    assert "Side board left 1 retake 2" in [t.text for t in drawing.texts]
    assert label_of(again.item) == "Side board left 1 retake 2"
    sources = {s.source for s in drawing.shapes if s.source}
    assert sources == {span.source for span in sheet_spans(film.sheets[0])} == {"p1L.s1L/3"}


def test_a_small_piece_has_at_least_its_number():
    plan = hand_plan()
    piece = replace(plan.pieces[0], final=shapely.box(0, 0, 9, 6), seam_paths=())
    (text,) = piece_drawing(piece, plan).texts
    assert text.text == "1"


def test_a_piece_by_itself_has_its_flow_along_x_and_starts_at_the_origin():
    plan = hand_plan()
    left, right = plan.panels
    for panel in (left, right):
        drawing = piece_drawing(panel.pieces[1], plan)
        assert drawing.extent[:2] == pytest.approx((0, 0))
        assert drawing.extent[2:] == pytest.approx((260, 420))
        tail, head = drawing.shapes_for(Purpose.LABEL)[1].runs[0].points[[0, -1]]
        assert head[0] > tail[0]
        assert head[1] == pytest.approx(tail[1])
        assert not drawing.shapes_for(Purpose.FRAME)
    assert (CUT, TICKS, CENTRES, LABELS, FRAME) == drawing.layers == LAYERS

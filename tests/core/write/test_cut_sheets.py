from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPoint, Polygon

from core.write.cut_sheets import CUT, FRAME, LABELS, TICKS, piece_drawing, sheet_drawing
from core.write.drawing import Purpose
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
        cut = [Polygon(s.runs[0].points) for s in drawing.shapes_for(Purpose.CUT)]
        arrows = drawing.shapes_for(Purpose.LABEL)
        assert len(arrows) == 2
        for piece, arrow, label in zip(cut, arrows, drawing.texts[::2], strict=True):
            points = np.vstack([r.points for r in arrow.runs])
            assert piece.contains(MultiPoint([*points.tolist(), label.at]))
        assert drawing.texts[0].text.startswith("Side board left ")
        assert {t.layer for t in drawing.texts} == {LABELS.name}


def test_arrows_point_along_the_flow_as_the_piece_lies():
    # Left pieces flow to +x, right ones to -x; the rolls turn the second piece by 90 or 180.
    expected = {"Chalk white r1": (0, 270), "Grün / fern buy": (0, 0)}
    for drawing in sheets():
        for arrow, angle in zip(
            drawing.shapes_for(Purpose.LABEL), expected[drawing.name], strict=True
        ):
            tail, head = arrow.runs[0].points
            turn = np.degrees(np.arctan2(*(head - tail)[::-1])) % 360
            assert (turn - angle + 180) % 360 == pytest.approx(180)


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
    assert "Side board left 1 retake 2" in [t.text for t in sheet_drawings(film, plan)[0].texts]


def test_a_small_piece_has_at_least_its_number():
    plan = hand_plan()
    piece = replace(plan.pieces[0], final=shapely.box(0, 0, 9, 6), seam_paths=())
    (text,) = piece_drawing(piece, plan.job).texts
    assert text.text == "1"


def test_a_piece_by_itself_has_its_flow_along_x_and_starts_at_the_origin():
    plan = hand_plan()
    left, right = plan.panels
    for panel in (left, right):
        drawing = piece_drawing(panel.pieces[1], plan.job)
        assert drawing.extent[:2] == pytest.approx((0, 0))
        assert drawing.extent[2:] == pytest.approx((260, 420))
        tail, head = drawing.shapes_for(Purpose.LABEL)[0].runs[0].points
        assert head[0] > tail[0]
        assert head[1] == pytest.approx(tail[1])
        assert not drawing.shapes_for(Purpose.FRAME)
    assert {CUT, TICKS, LABELS, FRAME} == set(drawing.layers)

from dataclasses import replace

import pytest
import shapely
from msgspec.structs import replace as changed
from shapely import Polygon, box

from core.document.job import Units
from core.roll.model import Item, Placement
from core.write.roll_picture import roll_drawing
from core.write.typeface import text_width_mm
from helpers.plans import hand_plan, hand_rolls


def test_pieces_lie_true_to_size_where_they_are_placed():
    plan = hand_plan()
    for film in hand_rolls(plan).films:
        drawing = roll_drawing(film, plan.job)
        drawn = [s for s in drawing.shapes if s.source]
        placed = [p for sheet in film.sheets for p in sheet.placements]
        assert [s.source for s in drawn] == [p.item.piece for p in placed]
        first, second = (Polygon(s.runs[0].points) for s in drawn)
        shift = first.centroid.x - Polygon(placed[0].polygon.exterior).centroid.x
        assert second.centroid.x - shift == pytest.approx(
            Polygon(placed[1].polygon.exterior).centroid.x
        )
        assert first.area == pytest.approx(Polygon(placed[0].polygon.exterior).area)


def test_labels_stand_inside_their_pieces():
    plan = hand_plan()
    drawing = roll_drawing(hand_rolls(plan).films[1], plan.job)
    pieces = [s for s in drawing.shapes if s.source]
    labels = [t for t in drawing.texts if t.text.startswith("Side board")]
    assert [t.text for t in labels] == ["Side board left 2", "Side board right 2"]
    for shape, label in zip(pieces, labels, strict=True):
        outer, *holes = (r.points for r in shape.runs)
        area = Polygon(outer, holes)
        half = text_width_mm(label.text, label.height_mm) / 2
        x, y = label.at
        assert area.contains(box(x - half, y, x + half, y + label.height_mm))


def test_it_says_what_is_used_and_what_is_missing():
    plan = hand_plan()
    white, green = (roll_drawing(f, plan.job) for f in hand_rolls(plan).films)
    said = " ".join(t.text for t in white.texts)
    assert "Roll r1" in said
    assert "used of 2.50 m" in said
    assert "1000 mm" in said
    said = " ".join(t.text for t in green.texts)
    assert "To buy" in said
    assert "2 pieces need 0.6 m more" in said
    assert "flow of every piece" in said


def test_inches_where_inches_are_shown():
    plan = hand_plan()
    job = changed(plan.job, units=Units.IN)
    said = " ".join(t.text for t in roll_drawing(hand_rolls(plan).films[0], job).texts)
    assert " in of roll" in said
    assert " m " not in said


def test_pieces_too_small_for_their_label_get_a_letter_and_a_key():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    sheet = film.sheets[0]
    small = [
        Placement(
            Item("p9", 1, "p9", f"Mirror cap left {i}", box(0, 0, 12, 12), None), 0, x, 500
        )
        for i, x in enumerate((20, 60), 1)
    ]
    sheets = (replace(sheet, placements=(*sheet.placements, *small)),)
    drawing = roll_drawing(replace(film, sheets=sheets), plan.job)
    texts = [t.text for t in drawing.texts]
    assert texts.count("a") == 2  # on the piece and in the key
    assert texts.count("b") == 2
    assert "Mirror cap left 2" in texts


def test_retakes_are_named():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    sheet = film.sheets[0]
    again = replace(sheet.placements[0], item=replace(sheet.placements[0].item, attempt=2))
    drawing = roll_drawing(
        replace(film, sheets=(replace(sheet, placements=(again,)),)), plan.job
    )
    assert "Side board left 1, retake 1" in [t.text for t in drawing.texts]


def test_a_film_that_nothing_is_cut_from_has_a_picture():
    plan = hand_plan()
    drawing = roll_drawing(replace(hand_rolls(plan).films[0], sheets=(), missing=()), plan.job)
    assert drawing.texts[0].text == "Chalk white"


def test_the_waste_is_hatched_and_pieces_are_not():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    drawing = roll_drawing(film, plan.job)
    first = next(s for s in drawing.shapes if s.source)
    hatch = max((s for s in drawing.shapes if not s.source), key=lambda s: len(s.runs))
    lines = shapely.MultiLineString([r.points for r in hatch.runs])
    assert len(hatch.runs) > 20
    assert shapely.intersection(lines, Polygon(first.runs[0].points).buffer(-1e-6)).length == 0


def test_where_the_job_ends_is_marked_on_a_roll_with_retakes_behind_it():
    plan = hand_plan()
    film = hand_rolls(plan).films[0]
    sheet = film.sheets[0]
    mark = "the job ends here"
    assert mark not in [t.text for t in roll_drawing(film, plan.job).texts]
    far = max(p.polygon.bounds[2] for p in sheet.placements)
    first = sheet.placements[0]
    again = replace(first, item=replace(first.item, attempt=2), dx_mm=first.dx_mm + far)
    behind = replace(sheet, placements=(*sheet.placements, again))
    assert far <= behind.job_end_mm <= again.polygon.bounds[0]
    drawing = roll_drawing(replace(film, sheets=(behind,)), plan.job)
    assert mark in [t.text for t in drawing.texts]
    beside = replace(again, dx_mm=first.dx_mm, dy_mm=first.dy_mm + 1.0)
    assert replace(sheet, placements=(*sheet.placements, beside)).job_end_mm is None

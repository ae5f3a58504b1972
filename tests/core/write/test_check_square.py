import math

import pytest
from shapely import Polygon

from core.write.check_square import OPENING_MM, SQUARE_MM, check_square
from core.write.cut_path import ordered_cuts
from core.write.drawing import Purpose
from core.write.outputs import OutputOptions, planned_outputs
from core.write.plotter import Plotter, PlotterFormat
from helpers.plans import hand_plan, hand_rolls
from helpers.plotted import cuts_of


def test_the_opening_is_cut_first_and_both_have_their_sizes():
    (_, opening), (_, outline) = cuts_of(ordered_cuts(check_square(), 0.0))
    assert Polygon(outline.points).area == pytest.approx(SQUARE_MM**2)
    assert Polygon(opening.points).area == pytest.approx(
        math.pi * (OPENING_MM / 2) ** 2, rel=2e-3
    )


def test_all_that_is_drawn_stands_on_the_square_beside_the_opening():
    drawing = check_square()
    outer, hole = (Polygon(r.points) for _, r in cuts_of(drawing))
    film = outer.difference(hole)
    for text in drawing.texts:
        x, y = text.at
        room = Polygon([(x, y), (x + 60, y), (x + 60, y + 4), (x, y + 4)])
        assert film.contains(room)
    for shape in drawing.shapes_for(Purpose.LABEL):
        assert film.contains(Polygon(shape.runs[0].points).convex_hull)


def test_it_is_written_as_the_plotter_wants_it():
    plan = hand_plan()
    options = OutputOptions(
        plotter=Plotter(format=PlotterFormat.HPGL), has_check_square=True, has_pictures=False
    )
    first = planned_outputs(plan, hand_rolls(plan), options)[0]
    assert first.name == "library-trike-one-board-check-square.plt"
    assert first.data().startswith(b"IN;DF;PA;")

"""How long plotter files take, and how far the tool travels; figures go to the extra info."""

import pytest

from core.write.cut_path import cut_lengths, ordered_cuts
from core.write.cut_sheets import sheet_drawing
from core.write.outputs import OutputOptions, planned_outputs
from core.write.planned_file import FileKind
from core.write.plotter import Plotter, PlotterFormat
from helpers.many_pieces import many_pieces


def files(plan, rolls, plotter):
    made = planned_outputs(plan, rolls, OutputOptions(plotter=plotter, has_pictures=False))
    return [f.data() for f in made if f.kind is FileKind.PLOTTER]


@pytest.mark.parametrize("format_", list(PlotterFormat))
def test_five_hundred_pieces_are_written(benchmark, format_):
    """Goal: under 2 s, labels and order of cuts included."""
    plan, rolls = many_pieces(500)
    for piece in plan.pieces:  # what a window has long since
        assert piece.cut
        assert piece.ticks is not None
    data = benchmark.pedantic(
        files, (plan, rolls, Plotter(format=format_)), rounds=3, warmup_rounds=1
    )
    benchmark.extra_info["bytes"] = len(data[0])
    assert len(data) == 1


def test_five_hundred_pieces_with_arcs_in_sections(benchmark):
    """Goal: under 2 s."""
    plan, rolls = many_pieces(500)
    plotter = Plotter(has_arcs=True, longest_feed_mm=2500.0)
    data = benchmark.pedantic(files, (plan, rolls, plotter), rounds=2)
    benchmark.extra_info["sections"] = len(data)
    assert len(data) > 3


@pytest.mark.parametrize("count", [50, 500])
def test_tool_path_against_a_naive_order(benchmark, count):
    """Travel, lifted, against cutting the pieces in the order in which they were laid."""
    plan, rolls = many_pieces(count)
    film = rolls.films[0]
    drawing = sheet_drawing(film, film.sheets[0], plan)
    ordered = benchmark.pedantic(ordered_cuts, (drawing, 0.0), rounds=3)
    naive, found = cut_lengths(drawing), cut_lengths(ordered)
    benchmark.extra_info["naive_m"] = round(naive.travel_mm / 1000, 1)
    benchmark.extra_info["travel_m"] = round(found.travel_mm / 1000, 1)
    benchmark.extra_info["ratio"] = round(found.travel_mm / naive.travel_mm, 3)
    assert found.cut_mm == pytest.approx(naive.cut_mm)
    assert found.travel_mm < 0.5 * naive.travel_mm

import pytest

from core.errors import ExportFailed, InputError
from core.write.outputs import OutputOptions, planned_outputs
from core.write.planned_file import FileKind
from core.write.plotter import FilesPer, Pens, Plotter, PlotterFormat
from helpers.plans import hand_plan, hand_rolls


@pytest.mark.parametrize(
    "wish",
    [
        {"longest_feed_mm": 50.0},
        {"longest_feed_mm": float("nan")},
        {"tolerance_mm": 0.0},
        {"overcut_mm": -0.1},
        {"min_feature_mm": 51.0},
        {"pens": Pens(0, 2)},
        {"pens": Pens(3, 3)},
    ],
)
def test_values_out_of_their_range_are_refused_with_what_mends_them(wish):
    with pytest.raises(InputError) as caught:
        Plotter(**wish)
    assert caught.value.mend


@pytest.mark.parametrize(
    ("format_", "ending"),
    [("R12", ".dxf"), ("R2000", ".dxf"), ("R2010", ".dxf"), ("hpgl", ".plt"), ("svg", ".svg")],
)
def test_endings(format_, ending):
    assert PlotterFormat(format_).ending == ending


def names(plotter, **more):
    plan = hand_plan()
    options = OutputOptions(plotter=plotter, has_pictures=False, **more)
    files = planned_outputs(plan, hand_rolls(plan), options)
    job = "library-trike-one-board-"
    return [f.name.replace(job, "") for f in files if f.kind is FileKind.PLOTTER]


def test_one_file_a_sheet_a_section_a_piece_or_a_film():
    assert names(Plotter()) == ["chalk-white-r1.dxf", "gruen-fern-buy.dxf"]
    assert names(Plotter(longest_feed_mm=500.0)) == [
        "chalk-white-r1-section-1-of-2.dxf",
        "chalk-white-r1-section-2-of-2.dxf",
        "gruen-fern-buy-section-1-of-2.dxf",
        "gruen-fern-buy-section-2-of-2.dxf",
    ]
    assert names(Plotter(files_per=FilesPer.PIECE)) == [
        "pieces/side-board-left-1.dxf",
        "pieces/side-board-left-2.dxf",
        "pieces/side-board-right-1.dxf",
        "pieces/side-board-right-2.dxf",
    ]
    assert names(Plotter(files_per=FilesPer.FILM)) == ["chalk-white.dxf", "gruen-fern.dxf"]
    assert names(Plotter(), has_plotter_files=False) == []


def test_a_film_s_sections_lie_beside_each_other_in_one_file():
    plan = hand_plan()
    plotter = Plotter(files_per=FilesPer.FILM, longest_feed_mm=500.0)
    options = OutputOptions(plotter=plotter, has_pictures=False)
    files = planned_outputs(plan, hand_rolls(plan), options)
    (drawing,) = files[0].drawings
    assert drawing.extent[3] == 1000 + 20 + 1000  # two widths of the roll and what is between
    assert drawing.name == "Chalk white"


def test_a_plotter_is_fed_one_sheet_at_a_time():
    feed = {"longest_feed_mm": 500.0, "format": PlotterFormat.HPGL}
    with pytest.raises(InputError, match=r"Chalk white: .* one at a time"):
        names(Plotter(files_per=FilesPer.FILM, **feed))
    assert len(names(Plotter(**feed))) == 4


def test_a_piece_longer_than_the_feed_is_told_of_before_anything_is_made():
    with pytest.raises(ExportFailed, match="Side board left 1"):
        names(Plotter(longest_feed_mm=200.0))
    assert len(names(Plotter(longest_feed_mm=200.0, splits_long_pieces=True))) > 4

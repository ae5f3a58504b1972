"""Every sample project goes all the way: it opens, plans, rolls and writes."""

from pathlib import Path

import pytest
import shapely
from pyogrio.raw import read

from core.document.file import load_job
from core.plan.plan import plan_file
from core.roll.problem import film_problems
from core.roll.rolls import roll_plan
from core.roll.verify import verify
from core.write.outputs import OutputOptions, write_all
from core.write.plotter import Plotter

SAMPLES = sorted((Path(__file__).parents[1] / "sample_projects").glob("*.lapline"))
EVERY = [(path, v.id) for path in SAMPLES for v in load_job(path).job.variants]
every_sample = pytest.mark.parametrize(
    ("path", "variant"), EVERY, ids=[f"{path.stem}-{variant}" for path, variant in EVERY]
)


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 2


@every_sample
def test_nothing_stops_a_sample_and_every_panel_is_covered(path: Path, variant: str) -> None:
    plan = plan_file(load_job(path), variant)
    assert not plan.is_stopped
    for panel in plan.panels:
        laid = shapely.union_all([piece.final for piece in panel.pieces])
        assert panel.extended.difference(laid).area < 1e-6 * panel.extended.area


@every_sample
def test_the_rolls_of_a_sample_hold_and_nothing_is_missing(path: Path, variant: str) -> None:
    plan = plan_file(load_job(path), variant)
    report = roll_plan(plan)
    for problem, rolls in zip(film_problems(plan), report.rolls.films, strict=True):
        assert verify(problem, rolls) == ()
        assert rolls.missing == ()
    laid = sum(len(s.placements) for f in report.rolls.films for s in f.sheets)
    assert laid == sum(piece.planned_tries for piece in plan.pieces)


@every_sample
def test_a_sample_is_written_and_read_back_whole(
    path: Path, variant: str, tmp_path: Path
) -> None:
    plan = plan_file(load_job(path), variant)
    options = OutputOptions(plotter=Plotter(overcut_mm=0.0), has_pictures=False)
    written = write_all(plan, roll_plan(plan).rolls, tmp_path / "out", options)
    areas: list[float] = []
    for drawing in written:
        if drawing.suffix == ".dxf":
            meta, _, shapes, fields = read(drawing)
            layers = fields[list(meta["fields"]).index("Layer")]
            lines = shapely.from_wkb(shapes)
            cut = lines[layers == "CUT-LINES"]
            assert shapely.is_closed(cut).all()
            areas += [shapely.Polygon(line.coords).area for line in cut]
    # Outer lines and openings alike; GDAL read them, so this is law 6 from outside.
    wanted = [
        shapely.Polygon(ring).area
        for piece in plan.pieces
        for ring in (piece.cut.exterior, *piece.cut.interiors)
        for _ in range(piece.planned_tries)
    ]
    assert sorted(areas) == pytest.approx(sorted(wanted), abs=1.0)


@every_sample
def test_the_trike_takes_around_five_metres(path: Path, variant: str) -> None:
    # Common practice, no source: about 5 m of film for a whole small vehicle.
    if path.stem == "library_trike":
        plan = plan_file(load_job(path), variant)
        used = sum(film.used_length_mm for film in roll_plan(plan).rolls.films)
        assert 3500 < used < 6500

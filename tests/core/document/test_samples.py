import itertools
from pathlib import Path

import pytest
import shapely

from core.document.edits.paths import reverse_path
from core.document.file import load_job, to_bytes
from core.document.film import Grain
from core.document.flatten import flatten
from core.document.lines import Inlay, SeamCut, Stripe, Under
from core.document.panel import MarkKind
from core.plan.model import Severity
from core.plan.plan import plan_file, plan_job
from core.roll.rolls import roll_plan
from sample_projects.make_samples import samples
from sample_projects.pencil import circle, drawn

FOLDER = Path(__file__).parents[3] / "sample_projects"
FILES = samples()
SAMPLES = {name: file.job for name, file in FILES.items()}
TRIKE = SAMPLES["library_trike.lapline"]


@pytest.mark.parametrize("name", SAMPLES)
def test_the_files_are_what_the_script_makes(name: str) -> None:
    assert (FOLDER / name).read_bytes() == to_bytes(FILES[name])
    assert load_job(FOLDER / name).job == SAMPLES[name]


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_stops_a_sample_or_warns_in_it(name: str) -> None:
    job = SAMPLES[name]
    for variant in job.variants:
        plan = plan_file(FILES[name], variant.id)
        grave = [f.text for f in plan.findings if f.severity is not Severity.NOTE]
        assert grave == []
        assert all(panel.pieces for panel in plan.panels)


@pytest.mark.parametrize("name", SAMPLES)
def test_panels_stand_apart_on_the_canvas(name: str) -> None:
    shapes = []
    for panel in SAMPLES[name].panels:
        shape = shapely.Polygon(flatten(panel.outline, closed=True) + panel.at)
        assert shape.is_valid
        for opening in panel.openings:
            hole = shapely.Polygon(flatten(opening.nodes, closed=True) + panel.at)
            assert shape.contains_properly(hole.buffer(10))
        for mark in panel.marks:
            assert shape.contains(_placed(mark.path, panel.at))
        shapes.append(shape)
    for a, b in itertools.combinations(shapes, 2):
        assert a.distance(b) > 70


def _placed(path, at):
    return shapely.MultiPoint([(x + at[0], y + at[1]) for x, y in path])


def test_the_trike_has_what_real_vehicles_have() -> None:
    panels = TRIKE.panels
    assert len(panels) >= 10
    assert sum(p.is_pair for p in panels) >= 3
    assert any(p.count > 1 for p in panels)
    assert {m.kind for p in panels for m in p.marks} == set(MarkKind)
    assert {f.grain for f in TRIKE.films} >= {Grain.NONE, Grain.TWO_WAY}
    lines = [line for s in TRIKE.variant("v1").schemes for line in s.lines]
    assert sum(isinstance(line, Stripe) for line in lines) == 3
    assert any(isinstance(line, Inlay) and line.rule.under is Under.FULL for line in lines)
    assert any(line.rule.cut is SeamCut.CUTTING_TAPE for line in lines)
    long, short = [], []
    for panel in panels:
        x0, y0, x1, y1 = shapely.LinearRing(flatten(panel.outline, closed=True)).bounds
        long.append(max(x1 - x0, y1 - y0))
        short.append(min(x1 - x0, y1 - y0))
    assert any(a > 15 * b for a, b in zip(long, short, strict=True))


def test_the_stripe_runs_on_from_panel_to_panel() -> None:
    for variant in TRIKE.variants:
        ends = []
        for panel in ("p2", "p1", "p3"):
            at = TRIKE.panel(panel).at
            (stripe,) = TRIKE.scheme(variant.id, panel).stripes
            first, last = stripe.nodes[0], stripe.nodes[-1]
            for node, width in ((first, stripe.start_width_mm), (last, stripe.end_width_mm)):
                ends.append((node.at[0] + at[0], node.at[1] + at[1], width))
        for here, there in ((1, 2), (3, 4)):
            assert ends[here] == pytest.approx(ends[there], abs=0.002)
        assert ends[0][2] < ends[1][2] < ends[3][2] < ends[5][2]


def test_the_trike_takes_about_five_metres_of_film() -> None:
    # About 5 m of film 1.52 m wide for a whole small vehicle: common practice, no source.
    for variant in TRIKE.variants:
        report = roll_plan(plan_job(TRIKE, variant.id))
        sheets = [sheet for film in report.rolls.films for sheet in film.sheets]
        area_mm2 = sum(sheet.used_length_mm * sheet.sheet.width_mm for sheet in sheets)
        assert 4.0 < area_mm2 / 1520 / 1000 < 6.0


@pytest.mark.parametrize("name", SAMPLES)
def test_the_stock_is_enough(name: str) -> None:
    job = SAMPLES[name]
    assert all(len(film.stock) == 2 for film in job.films)
    for variant in job.variants:
        report = roll_plan(plan_file(FILES[name], variant.id))
        assert [film.missing for film in report.rolls.films] == [()] * len(job.films)
        assert [f.text for f in report.findings if f.severity is Severity.STOP] == []


def test_the_pencil_draws_what_svg_says() -> None:
    # A quadratic Bezier (SVG 2, 9.3.7, from memory): its middle is a quarter, a half and a
    # quarter of its points.
    q = drawn("M 0 0 Q 50 100 100 0")
    assert q[0].after == pytest.approx((100 / 3, 200 / 3))
    middle = shapely.LineString(flatten(q, closed=False)).interpolate(0.5, normalized=True)
    assert (middle.x, middle.y) == pytest.approx((50, 50), abs=0.1)
    closed = drawn("M 0 0 L 10 0 L 10 10 C 10 15 0 15 0 10 Z", {2: 4.0})
    assert [n.smooth for n in closed] == [False, False, True, True]
    assert closed[1].turn_mm == 4.0
    with pytest.raises(ValueError, match="Q with 1"):
        drawn("M 0 0 Q 1 1")


def test_circles_are_round_and_counter_clockwise() -> None:
    disc = shapely.Polygon(flatten(circle(3, 4, 100), closed=True))
    # pi r2; flattening to 0.05 mm and four Bezier arcs (0.027 % of the radius) take a little.
    assert disc.area == pytest.approx(31415.93, rel=1e-3)
    assert disc.exterior.is_ccw
    assert not shapely.LinearRing(flatten(reverse_path(circle(3, 4, 100)), closed=True)).is_ccw

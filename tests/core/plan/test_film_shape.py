import pytest
import shapely
from msgspec.structs import replace

from core.document.edits.surfaces import set_reading, set_surface
from core.document.panel import Trim
from core.document.surface import ReadingKind, ReadingPlace, ScannedSurface
from core.plan.plan import plan_job
from core.roll.problem import film_problems
from core.roll.rolls import roll_plan
from core.roll.verify import verify
from core.shape.mirroring import mirrored_polygon
from helpers.jobs import (
    bolt,
    hole,
    job_with,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)
from helpers.plan_laws import assert_lawful
from helpers.taped import BALL, FLAT, girth_circle_cone

GRID = replace(BALL.grid(), origin=(0.0, 300.0))
PLATE = replace(FLAT.grid(), origin=(0.0, 300.0))
SCHEME = scheme(
    "p1",
    seam("s1", [(200, 0), (260, 600)]),
    stripe("t1", [(0, 420), (600, 360)], 60),
    spot("c1", 100, 100),
)


def _job(surface=GRID, **kw):
    fields = {"flow_deg": 0.0, "edge_turn_mm": 10.0, **kw}
    panel = rect_panel("p1", 600, 600, **fields)
    return set_surface(job_with([panel], [SCHEME]), "p1", surface)


def test_the_laws_of_the_plan_hold_in_the_map_of_a_curved_panel() -> None:
    curved, flat = plan_job(_job()), plan_job(_job(None))
    for plan in curved.panels:
        assert_lawful(plan)
    assert [p.final.wkb for p in curved.pieces] == [p.final.wkb for p in flat.pieces]


def test_pieces_of_a_flat_panel_are_their_own_film() -> None:
    for piece in plan_job(_job(None)).pieces:
        assert piece.ground is None
        assert piece.development is None
        assert piece.flat is piece.final
        assert [t.wkb for t in piece.ticks] == [t.wkb for t in piece.map_ticks]
        path = piece.seam_paths[0]
        assert piece.on_film(path) is path


def test_nothing_is_laid_flat_before_somebody_asks() -> None:
    plan = plan_job(_job())
    assert all("film_shape" not in piece.__dict__ for piece in plan.pieces)
    piece = plan.pieces[0]
    assert piece.known_flat is piece.final
    assert piece.flat is not piece.final
    assert piece.known_flat is piece.flat


def test_pieces_of_a_ball_are_less_than_the_map_and_of_a_plate_the_same() -> None:
    for curved, plate in zip(
        plan_job(_job()).pieces, plan_job(_job(PLATE)).pieces, strict=True
    ):
        # On a ball stations draw together: the map shows more area than there is.
        assert curved.flat.area < curved.final.area
        assert curved.flat.area == pytest.approx(
            curved.development.network.areas.sum(), rel=0.02
        )
        assert plate.flat.symmetric_difference(plate.final).area < 1e-6 * plate.final.area


def test_cut_and_ticks_lie_on_the_film() -> None:
    for piece in plan_job(_job()).pieces:
        assert piece.cut.buffer(1e-6).contains(piece.flat)
        assert len(piece.ticks) == len(piece.map_ticks)
        for tick, drawn in zip(piece.ticks, piece.map_ticks, strict=True):
            assert piece.flat.buffer(0.5).contains(tick)
            assert tick.length == pytest.approx(drawn.length, rel=0.05)


def test_a_blank_encloses_the_film_with_grip() -> None:
    job = _job(trim=Trim.ON_PART)
    for piece in plan_job(job).pieces:
        x0, y0, x1, y1 = piece.flat.bounds
        assert piece.cut.buffer(1e-6).contains(shapely.box(x0 - 99, y0 - 99, x1 + 99, y1 + 99))


def test_the_mirrored_panel_has_the_mirrored_film() -> None:
    lop = poly_panel(
        "p1",
        [(0, 0), (600, 0), (520, 600), (60, 560)],
        is_pair=True,
        flow_deg=30.0,
        edge_turn_mm=8.0,
        openings=(hole("o1", 300, 150, 40),),
        marks=(bolt("m1", 100, 100),),
    )
    uneven = set_reading(
        set_surface(job_with([lop], [SCHEME]), "p1", GRID),
        "p1",
        ReadingPlace(ReadingKind.LENGTH, 1, 0),
        (134.0,),
    )
    left, right = plan_job(uneven).panels
    assert_lawful(right)
    for a, b in zip(left.pieces, right.pieces, strict=True):
        assert mirrored_polygon(a.flat).symmetric_difference(b.flat).area < 1e-6
        assert a.cut.area == pytest.approx(b.cut.area, rel=1e-9)
        assert sorted(t.length for t in a.ticks) == pytest.approx(
            sorted(t.length for t in b.ticks), rel=1e-6
        )
        assert b.flow_deg == 180.0 - a.flow_deg


def test_copies_share_their_films() -> None:
    first, second = plan_job(_job(count=2)).panels
    for a, b in zip(first.pieces, second.pieces, strict=True):
        assert a.film_shape is b.film_shape


def test_what_an_edit_does_not_touch_keeps_its_film() -> None:
    job = _job()
    before = plan_job(job)
    films = {p.regions: p.film_shape for p in before.pieces}
    moved = replace(job.panel("p1"), name="Other", at=(50.0, 60.0))
    after = plan_job(replace(job, panels=(moved,)))
    assert all(p.film_shape is films[p.regions] for p in after.pieces)


def test_measuring_again_makes_other_films() -> None:
    job = _job()
    before = plan_job(job).pieces[0]
    place = ReadingPlace(ReadingKind.LENGTH, 0, 4)
    after = plan_job(set_reading(job, "p1", place, (120.0,))).pieces[0]
    assert after.final.equals(before.final)
    assert after.flat.symmetric_difference(before.flat).area > 1.0


def test_developed_pieces_lie_on_rolls_by_the_same_rules() -> None:
    plan = plan_job(_job(is_pair=True))
    report = roll_plan(plan)
    for problem, rolls in zip(film_problems(plan), report.rolls.films, strict=True):
        assert verify(problem, rolls) == ()
    laid = [p for f in report.rolls.films for s in f.sheets for p in s.placements]
    areas = {p.item.piece: p.polygon.area for p in laid}
    for piece in plan.pieces:
        assert areas[piece.id] == pytest.approx(piece.cut.area, rel=1e-9)


def test_a_panel_without_its_scan_is_planned_as_if_flat() -> None:
    job = _job(ScannedSurface(file="gone.mesh"))
    for piece in plan_job(job).pieces:
        assert piece.flat is piece.final
        assert piece.ground.surface.doubts


def test_a_grid_that_is_not_complete_leaves_the_panel_flat() -> None:
    job = set_reading(_job(), "p1", ReadingPlace(ReadingKind.LENGTH, 0, 0), ())
    assert all(p.flat is p.final for p in plan_job(job).pieces)


def test_a_doubtful_grid_still_shapes_the_film() -> None:
    job = _job(replace(girth_circle_cone(150.0), origin=(100.0, 300.0)))
    assert all(p.flat is not p.final for p in plan_job(job).pieces)

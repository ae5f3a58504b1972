"""Law 5 on film of any kind: odd offcuts, damage, feeds, wasted ends, blanks, openings."""

import math
from dataclasses import replace

import hypothesis.strategies as st
from hypothesis import given, settings
from shapely import Polygon, box
from shapely.affinity import rotate, scale, translate

from core.document.film import DamagedStretch, Grain, Offcut, Roll
from core.document.job import Settings
from core.ids import StockId
from core.roll.model import Placement, Sheet
from core.roll.nest import NestOptions, nest
from core.roll.problem import FilmProblem, film_problems
from core.roll.room import sheet_plan
from core.roll.sheets import quick_rolls
from core.roll.verify import TRIM_STAGES, straight_cut_breaches, verify, verify_sheet
from helpers.film_pieces import a_film, items, piece, plan_of

EXAMPLES = settings(max_examples=25, deadline=None)
TURNS = st.sampled_from([None, (0.0, 180.0), (33.0,), (7.0, 97.0, 187.0, 277.0)])


@st.composite
def stars(draw: st.DrawFn, largest: float = 300.0) -> Polygon:
    """Star-shaped outlines, some with an opening."""
    count = draw(st.integers(3, 12))
    size = draw(st.floats(10, largest))
    radii = draw(st.lists(st.floats(0.35, 1.0), min_size=count, max_size=count))
    turn = 2 * math.pi / count
    ring = [
        (size * r * math.cos(i * turn), size * r * math.sin(i * turn))
        for i, r in enumerate(radii)
    ]
    whole = Polygon(ring)
    if draw(st.booleans()):
        hole = box(-size / 12, -size / 12, size / 12, size / 12)
        whole = whole.difference(hole) if whole.contains(hole) else whole
    return whole


@st.composite
def odd_sheets(draw: st.DrawFn) -> Sheet:
    """Rolls and offcuts with any of what may be wrong with them."""
    length, width = draw(st.floats(300, 1500)), draw(st.floats(300, 1500))
    outline = None
    if draw(st.booleans()):
        outline = box(0, 0, length, width)
        corner = draw(st.tuples(st.floats(0.2, 0.9), st.floats(0.2, 0.9)))
        outline = outline.difference(
            box(length * corner[0], width * corner[1], length + 1, width + 1)
        )
    blocked = []
    for _ in range(draw(st.integers(0, 2))):
        x, y = draw(st.floats(0, length)), draw(st.floats(0, width))
        sides = draw(st.tuples(st.sampled_from([1.0, 40.0]), st.floats(5, 400)))
        blocked.append(translate(box(0, 0, *sides), x, y))
    return Sheet(
        StockId("k1"),
        "roll",
        width,
        length if outline is not None or draw(st.booleans()) else None,
        draw(st.sampled_from([0.0, 10.0])),
        lead_mm=draw(st.sampled_from([0.0, 35.0])),
        trail_mm=draw(st.sampled_from([0.0, 35.0])),
        section_mm=draw(st.sampled_from([None, 250.0, 610.0])),
        outline=outline,
        blocked=tuple(blocked),
    )


@EXAMPLES
@given(odd_sheets(), st.lists(stars(), max_size=7), TURNS, st.sampled_from([0.0, 4.0]))
def test_what_is_laid_on_odd_film_holds(sheet, shapes, turns, gap):
    pieces = items(shapes, turns)
    found = nest(pieces, sheet, NestOptions(gap_mm=gap))
    assert verify_sheet(found.plan, gap) == ()
    laid = {p.item.key for p in found.plan.placements}
    assert laid | {i.key for i in found.left} == {i.key for i in pieces}
    assert len(found.plan.placements) + len(found.left) == len(pieces)


@EXAMPLES
@given(
    st.lists(st.tuples(st.integers(4, 120), st.integers(4, 90)), min_size=1, max_size=9),
    st.lists(stars(), max_size=4),
    st.sampled_from([None, (17.0,), (17.0, 107.0, 197.0, 287.0)]),
    st.sampled_from([None, 3]),
    st.one_of(st.none(), st.floats(100, 2000)),
)
def test_straight_cuts_free_blanks_beside_other_pieces(sides, shapes, turns, stages, length):
    level = [rotate(box(0, 0, 5.0 * a, 5.0 * b), -17, origin=(0, 0)) for a, b in sides]
    wanted = items([*level, *shapes], turns)
    wanted = [replace(i, is_blank=k < len(level)) for k, i in enumerate(wanted)]
    sheet = Sheet(StockId("r1"), "roll", 620.0, length, 10.0)
    found = nest(wanted, sheet, NestOptions(gap_mm=5.0, stages=stages))
    assert verify_sheet(found.plan, 5.0) == ()
    assert list(straight_cut_breaches(found.plan, stages)) == []


@EXAMPLES
@given(
    odd_sheets(),
    st.booleans(),
    st.lists(st.tuples(st.integers(4, 90), st.integers(4, 70)), min_size=1, max_size=9),
    st.lists(stars(), max_size=3),
    st.sampled_from(["nothing", "a blank", "another piece"]),
    st.sampled_from([None, 3]),
)
def test_straight_cuts_free_blanks_on_odd_film(sheet, is_round, sides, shapes, pin, stages):
    if is_round and sheet.length_mm is not None:
        ring = box(0, 0, 1, 1).centroid.buffer(0.5, quad_segs=8)
        size = (sheet.length_mm, sheet.width_mm)
        sheet = replace(sheet, outline=scale(ring, *size, origin=(0, 0)))
    level = [box(0, 0, 5.0 * a, 5.0 * b) for a, b in sides]
    wanted = items([*level, *shapes, box(0, 0, 120, 90)], (0.0, 90.0))
    wanted = [replace(i, is_blank=k < len(level)) for k, i in enumerate(wanted)]
    room = sheet.free(1500.0)
    pinned: tuple[Placement, ...] = ()
    if pin != "nothing" and not room.is_empty:
        middle = room.representative_point()
        last = replace(wanted[-1], is_blank=pin == "a blank")
        placed = Placement(last, 0.0, middle.x - 60.0, middle.y - 45.0)
        holds = not verify_sheet(sheet_plan(sheet, 5.0, (placed,), "x"), 5.0)
        pinned = (placed,) if holds else ()
    found = nest(wanted[:-1], sheet, NestOptions(gap_mm=5.0, pinned=pinned, stages=stages))
    assert verify_sheet(found.plan, 5.0) == ()
    assert list(straight_cut_breaches(found.plan)) == []
    if stages is not None:
        excused = {p.item.key for p in pinned}
        assert list(straight_cut_breaches(found.plan, stages + TRIM_STAGES, excused)) == []


@EXAMPLES
@given(odd_sheets(), stars(), st.lists(stars(), max_size=5))
def test_all_is_laid_around_what_is_pinned(sheet, first, shapes):
    pin, *rest = items([first, *shapes])
    room = sheet.free(1500.0)
    middle = room.representative_point() if not room.is_empty else None
    if middle is None:
        return
    x0, y0, x1, y1 = first.bounds
    placed = Placement(pin, 0.0, middle.x - (x0 + x1) / 2, middle.y - (y0 + y1) / 2)
    if verify_sheet(sheet_plan(sheet, 5.0, (placed,), "x"), 5.0):
        return
    found = nest(rest, sheet, NestOptions(gap_mm=5.0, pinned=(placed,)))
    assert found.plan.placements[0] == placed
    assert verify_sheet(found.plan, 5.0) == ()


@st.composite
def problems(draw: st.DrawFn) -> FilmProblem:
    """One film with damaged rolls and odd offcuts, a machine that wastes, blanks and tries."""
    damage = DamagedStretch(start_mm=draw(st.floats(0, 500)), end_mm=600.0, low_mm=200.0)
    corner = ((0.0, 0.0), (700.0, 0.0), (700.0, 250.0), (300.0, 500.0), (0.0, 500.0))
    film = a_film(
        grain=draw(st.sampled_from(Grain)),
        roll_width_mm=draw(st.floats(400, 1600)),
        stock=(
            Roll(id="r1", length_mm=draw(st.floats(300, 3000)), damaged=(damage,)),
            Offcut(id="k1", length_mm=700.0, width_mm=500.0, outline=corner),
        ),
    )
    pieces = []
    for i, shape in enumerate(draw(st.lists(stars(), min_size=1, max_size=6)), 1):
        one = piece(f"g{i}", shape, tries=draw(st.integers(1, 2)))
        if draw(st.booleans()):
            one = replace(one, spec=replace(one.spec, is_blank=True, grip_mm=15.0))
        pieces.append(one)
    plan = plan_of(pieces, [film])
    feed = draw(st.sampled_from([None, 800.0]))
    machine = Settings(lead_mm=30.0, trail_mm=50.0, longest_feed_mm=feed)
    job = plan.job.__class__(
        name="Rolls", films=(film,), variants=plan.job.variants, settings=machine
    )
    (problem,) = film_problems(replace(plan, job=job))
    items_ = problem.items
    return replace(problem, forbidden=((items_[0].key, frozenset({StockId("r1")})),))


@EXAMPLES
@given(problems())
def test_a_films_quick_layout_on_such_stock_holds(problem):
    assert verify(problem, quick_rolls(problem)) == ()

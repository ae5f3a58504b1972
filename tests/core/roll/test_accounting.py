"""Stock adds up: judged by set operations on the shapes, not by the sums that are told."""

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from core.document.film import DamagedStretch, Offcut, Roll
from core.roll.costs import film_remains
from core.roll.finishing import changes_when_cut
from core.roll.model import SheetPlan
from core.roll.remainders import Remains, offcut_of, remains_of, useful_parts
from core.roll.rolls import roll_plan
from core.roll.stock import film_of, outline_of
from helpers.film_pieces import a_film, piece, plan_of

MM2 = 1.0

sides = st.floats(40, 420)
cuts = st.floats(0.15, 0.85)


@st.composite
def shapes(draw: st.DrawFn) -> Polygon:
    """A box, a triangle or an L."""
    w, h = draw(sides), draw(sides)
    kind = draw(st.sampled_from(["box", "triangle", "ell"]))
    if kind == "triangle":
        return Polygon([(0, 0), (w, 0), (w * draw(cuts), h)])
    if kind == "ell":
        x, y = w * draw(cuts), h * draw(cuts)
        return Polygon([(0, 0), (w, 0), (w, y), (x, y), (x, h), (0, h)])
    return box(0, 0, w, h)


ODD = Offcut(
    id="k1",
    length_mm=900.0,
    width_mm=700.0,
    outline=((0.0, 0.0), (900.0, 100.0), (800.0, 700.0), (50.0, 600.0)),
    openings=(((300.0, 300.0), (350.0, 300.0), (350.0, 380.0), (300.0, 380.0)),),
)


def check(sheet: SheetPlan, left: Remains, *, has_retakes: bool) -> None:
    cut = [p.polygon for p in sheet.placements if has_retakes or p.item.attempt == 1]
    used = sheet.used_length_mm if has_retakes else sheet.job_length_mm
    length = sheet.sheet.length_mm or used
    film = film_of(sheet.sheet, length)
    parts = [*cut, *left.kept]
    if left.roll_left_mm > 0:
        end = length - left.roll_left_mm
        parts.append(box(end, 0.0, length, sheet.sheet.width_mm))
    whole = shapely.union_all(parts)
    # Nothing is given twice, nothing comes from beyond the film, and the rest is the waste.
    assert abs(sum(p.area for p in parts) - whole.area) < MM2
    assert shapely.difference(whole, film).area < MM2
    assert abs(shapely.difference(film, whole).area - left.waste_mm2) < MM2
    assert abs(film.area - left.stock_mm2) < MM2


@settings(max_examples=30)
@given(
    st.lists(shapes(), min_size=1, max_size=7),
    st.integers(1, 2),
    st.sampled_from([(), (ODD,), (Offcut(id="k1", length_mm=600.0, width_mm=500.0),)]),
    st.sampled_from(
        [(), (Roll(id="r1", length_mm=700.0),), (Roll(id="r1", length_mm=4000.0),)]
    ),
    st.booleans(),
)
def test_pieces_waste_and_what_is_left_add_up_to_the_stock(
    drawn: list[Polygon],
    tries: int,
    offcuts: tuple[Offcut, ...],
    rolls: tuple[Roll, ...],
    has_retakes: bool,
) -> None:
    film = a_film(stock=(*offcuts, *rolls))
    pieces = [piece(f"g{i}", shape, tries=tries) for i, shape in enumerate(drawn)]
    (laid,) = roll_plan(plan_of(pieces, [film])).rolls.films
    for sheet in laid.sheets:
        check(sheet, remains_of(sheet, 120.0, has_retakes=has_retakes), has_retakes=has_retakes)


@settings(max_examples=25)
@given(st.lists(shapes(), min_size=1, max_size=5), st.floats(500, 3000), st.booleans())
def test_what_comes_back_on_the_shelf_is_the_stock_without_what_is_gone(
    drawn: list[Polygon], length: float, has_retakes: bool
) -> None:
    film = a_film(stock=(Roll(id="r1", length_mm=length), ODD))
    plan = plan_of([piece(f"g{i}", s, tries=2) for i, s in enumerate(drawn)], [film])
    (laid,) = roll_plan(plan).rolls.films
    changes = changes_when_cut(plan, laid, has_retakes=has_retakes)
    back = 0.0
    for stock in (c.after for c in changes if c.after is not None):
        own = outline_of(stock) if isinstance(stock, Offcut) else None
        area = stock.length_mm * (stock.width_mm or 0.0)
        back += area if own is None else own.area
    cut = film_remains(plan.job, laid, has_retakes=has_retakes)
    assert abs(sum(r.stock_mm2 - r.consumed_mm2 for _, r in cut) - back) < MM2
    # What is gone is at least the pieces that were cut.
    pieces = sum(r.pieces_mm2 + r.retakes_mm2 for _, r in cut)
    assert sum(r.consumed_mm2 for _, r in cut) >= pieces - MM2


def test_an_l_leaves_its_notch() -> None:
    ell = Polygon([(0, 0), (500, 0), (500, 200), (200, 200), (200, 500), (0, 500)])
    rest = shapely.difference(box(0, 0, 500, 500), ell)
    (part,) = useful_parts(rest, 100.0)
    assert abs(part.area - 300 * 300) < MM2


def test_what_is_narrower_than_worth_keeping_is_waste() -> None:
    assert useful_parts(box(0, 0, 1000, 99), 100.0) == ()
    (kept,) = useful_parts(box(0, 0, 1000, 100), 100.0)
    assert abs(kept.area - 100_000) < MM2


def test_a_neck_parts_an_area_in_two() -> None:
    bell = shapely.union_all(
        [box(0, 0, 300, 300), box(300, 140, 400, 160), box(400, 0, 700, 300)]
    )
    assert [round(p.area, -2) for p in useful_parts(bell, 100.0)] == [90_000, 90_000]


def test_a_remainder_comes_back_as_an_offcut_of_its_own_shape() -> None:
    shape = Polygon([(100, 50), (600, 50), (600, 450), (300, 250)])
    offcut = offcut_of(shape, "k7")
    back = outline_of(offcut)
    assert back is not None
    assert (offcut.length_mm, offcut.width_mm) == (500.0, 400.0)
    assert abs(back.area - shape.area) < 1e-6
    assert offcut_of(box(3, 4, 203, 104), "k8") == Offcut(
        id="k8", length_mm=200.0, width_mm=100.0
    )


def test_damage_is_never_kept() -> None:
    film = a_film(
        stock=(
            Offcut(
                id="k1",
                length_mm=800.0,
                width_mm=600.0,
                damaged=(DamagedStretch(start_mm=300.0, end_mm=400.0),),
            ),
        )
    )
    (laid,) = roll_plan(plan_of([piece("g1", box(0, 0, 200, 500))], [film])).rolls.films
    (sheet,) = laid.sheets
    damaged = box(300, 0, 400, 600)
    assert not any(p.polygon.intersects(damaged) for p in sheet.placements)
    for kept in remains_of(sheet, 100.0).kept:
        assert kept.intersection(damaged).area < 1e-6

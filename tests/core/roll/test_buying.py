import dataclasses
import math

import pytest
from msgspec.structs import replace
from shapely import box

from core.document.choices import PieceChoice, Pin, Place
from core.document.edits.films import set_stock
from core.document.film import DamagedStretch, Grain, Offcut, Offer, Roll
from core.errors import Cancelled
from core.ids import FilmId
from core.plan.model import JobPlan
from core.progress import Step
from core.roll import width_search
from core.roll.buying import BuyingList, FilmBuying, WidthChoice, buying_list
from core.roll.costs import costs, film_account
from core.roll.finishing import changes_when_cut, mark_cut
from core.roll.problem import film_problems
from core.roll.rolls import RollReport, roll_plan, tighten
from core.roll.shop import bought_mm, offers_of
from core.roll.verify import verify
from core.roll.width_search import pack_widths, take_width
from helpers.film_pieces import a_film, offcut, piece, plan_of, rolls


def with_choices(plan: JobPlan, *choices: PieceChoice) -> JobPlan:
    variant = replace(plan.variant, pieces=choices)
    return JobPlan(plan.job, variant, plan.panels)


def with_settings(plan: JobPlan, **kw: object) -> JobPlan:
    job = replace(plan.job, settings=replace(plan.job.settings, **kw))
    return JobPlan(job, plan.variant, plan.panels)


def report_of(plan: JobPlan) -> RollReport:
    report = roll_plan(plan)
    for problem, laid in zip(film_problems(plan), report.rolls.films, strict=True):
        if not problem.told and not problem.forbidden:
            assert verify(problem, laid) == ()
    return report


def codes(report: RollReport) -> list[str]:
    return [f.check for f in report.findings]


class TestRetakes:
    def test_they_lie_behind_the_job_and_are_counted_apart(self):
        plan = plan_of([piece("g1", box(0, 0, 900, 980), tries=3)], [a_film(stock=rolls(4000))])
        (film,) = report_of(plan).rolls.films
        # 900 and twice the margin of 10; then twice 900 and a gap of 5 each.
        assert math.isclose(film.job_length_mm, 920.0)
        assert math.isclose(film.used_length_mm, 920.0 + 2 * 905.0)

    def test_a_cut_across_the_roll_parts_job_and_retakes(self):
        shapes = [box(0, 0, w, h) for w, h in ((400, 300), (200, 650), (350, 350), (90, 80))]
        pieces = [piece(f"g{i}", s, tries=2) for i, s in enumerate(shapes)]
        (film,) = report_of(plan_of(pieces, [a_film(stock=rolls(5000))])).rolls.films
        (sheet,) = film.sheets
        ends = [p.polygon.bounds[2] for p in sheet.placements if p.item.attempt == 1]
        starts = [p.polygon.bounds[0] for p in sheet.placements if p.item.attempt > 1]
        assert max(ends) + 5.0 <= min(starts) + 1e-6

    def test_what_the_roll_does_not_hold_of_them_is_bought(self):
        plan = plan_of([piece("g1", box(0, 0, 900, 980), tries=2)], [a_film(stock=rolls(1000))])
        (film,) = report_of(plan).rolls.films
        assert [(s.sheet.id, s.job_length_mm > 0) for s in film.sheets] == [
            ("r1", True),
            ("buy", False),
        ]
        assert codes(report_of(plan)) == ["N514"]

    def test_packing_tighter_leaves_them_behind_the_job(self):
        shapes = [box(0, 0, 150 + 37 * i, 90 + 53 * (i % 5)) for i in range(9)]
        pieces = [piece(f"g{i}", s, tries=2) for i, s in enumerate(shapes)]
        plan = plan_of(pieces, [a_film(stock=rolls(9000))])
        before = report_of(plan).rolls.films[0]
        report = tighten(plan, ["f1"], 1.0, lambda _: None, lambda: False)
        (after,) = report.rolls.films
        (sheet,) = after.sheets
        ends = [p.polygon.bounds[2] for p in sheet.placements if p.item.attempt == 1]
        starts = [p.polygon.bounds[0] for p in sheet.placements if p.item.attempt > 1]
        assert max(ends) + 5.0 <= min(starts) + 1e-6
        assert after.job_length_mm <= before.job_length_mm + 1e-6


class TestStock:
    def test_opened_rolls_are_used_up_before_new_ones(self):
        stock = (
            Roll(id="r1", length_mm=5000.0),
            Roll(id="r2", length_mm=1200.0, is_opened=True),
        )
        shapes = [piece(f"g{i}", box(0, 0, 500, 980)) for i in range(4)]
        (film,) = report_of(plan_of(shapes, [a_film(stock=stock)])).rolls.films
        assert [(s.sheet.id, len(s.placements)) for s in film.sheets] == [("r1", 2), ("r2", 2)]

    def test_an_offcut_that_is_filled_better_goes_first(self):
        stock = (offcut("k1", 300, 300), offcut("k2", 320, 420))
        shapes = [piece("g1", box(0, 0, 300, 400)), piece("g2", box(0, 0, 100, 100))]
        (film,) = report_of(plan_of(shapes, [a_film(stock=stock)])).rolls.films
        lying = {p.item.piece: s.sheet.id for s in film.sheets for p in s.placements}
        assert lying == {"g1": "k2", "g2": "k1"}

    def test_damage_on_a_roll_is_left_free(self):
        damage = DamagedStretch(start_mm=300.0, end_mm=450.0, low_mm=200.0)
        roll = Roll(id="r1", length_mm=3000.0, damaged=(damage,))
        shapes = [piece(f"g{i}", box(0, 0, 400, 450)) for i in range(3)]
        (film,) = report_of(plan_of(shapes, [a_film(stock=(roll,))])).rolls.films
        bad = box(300, 200, 450, 1000)
        laid = [p.polygon for s in film.sheets for p in s.placements]
        assert len(laid) == 3
        assert all(p.intersection(bad).area < 0.01 for p in laid)  # a hair along an edge

    def test_a_roll_of_another_width_takes_what_the_film_on_offer_does_not(self):
        stock = (Roll(id="r1", length_mm=3000.0, width_mm=1400.0),)
        plan = plan_of([piece("g1", box(0, 0, 1300, 1300))], [a_film(stock=stock)])
        report = report_of(plan)
        assert [s.sheet.id for s in report.rolls.films[0].sheets] == ["r1"]
        assert codes(report) == []

    def test_the_machines_waste_counts_in_the_length(self):
        plan = with_settings(
            plan_of([piece("g1", box(0, 0, 900, 980))], [a_film()]), lead_mm=60.0, trail_mm=90.0
        )
        (film,) = report_of(plan).rolls.films
        assert math.isclose(film.used_length_mm, 60 + 900 + 90)

    def test_a_broken_outline_is_told_and_not_used(self):
        cross = Offcut(
            id="k1",
            length_mm=500.0,
            width_mm=500.0,
            outline=((0.0, 0.0), (500.0, 500.0), (500.0, 0.0), (0.0, 500.0)),
        )
        plan = plan_of([piece("g1", box(0, 0, 100, 100))], [a_film(stock=(cross, *rolls(900)))])
        report = report_of(plan)
        assert codes(report) == ["N513"]
        assert [s.sheet.id for s in report.rolls.films[0].sheets] == ["r1"]


class TestWishes:
    SHAPES = (box(0, 0, 300, 200), box(0, 0, 250, 150))

    def plan(self, *choices: PieceChoice, **film: object) -> JobPlan:
        stock = (*rolls(2000, 3000), offcut("k1", 400, 300))
        pieces = [piece(f"g{i}", s) for i, s in enumerate(self.SHAPES, 1)]
        return with_choices(plan_of(pieces, [a_film(stock=stock, **film)]), *choices)

    def lying(self, report: RollReport) -> dict[str, str]:
        return {
            p.item.piece: s.sheet.id for s in report.rolls.films[0].sheets for p in s.placements
        }

    def test_without_wishes_offcuts_go_first(self):
        assert self.lying(report_of(self.plan())) == {"g1": "k1", "g2": "r1"}

    def test_a_piece_is_pinned_to_a_roll(self):
        wish = PieceChoice(piece="g1", pins=(Pin(stock="r2"),))
        assert self.lying(report_of(self.plan(wish))) == {"g1": "r2", "g2": "k1"}

    def test_a_piece_is_kept_off_an_offcut(self):
        wish = PieceChoice(piece="g1", forbidden=("k1",))
        assert self.lying(report_of(self.plan(wish)))["g1"] == "r1"

    def test_a_piece_lies_where_it_is_pinned_and_others_around_it(self):
        place = Place(angle_deg=0.0, dx_mm=100.0, dy_mm=400.0)
        wish = PieceChoice(piece="g1", pins=(Pin(stock="r1", place=place),))
        report = report_of(self.plan(wish))
        (own,) = [
            p
            for s in report.rolls.films[0].sheets
            for p in s.placements
            if p.item.piece == "g1" and s.sheet.id == "r1"
        ]
        assert own.polygon.bounds == (100.0, 400.0, 400.0, 600.0)

    def test_pins_that_cannot_be_had_are_told_and_the_plan_stays(self):
        places = {
            "gone": Pin(stock="r77"),
            "over the edge": Pin(
                stock="r1", place=Place(angle_deg=0.0, dx_mm=-5.0, dy_mm=20.0)
            ),
            "grain": Pin(stock="r1", place=Place(angle_deg=45.0, dx_mm=500.0, dy_mm=300.0)),
        }
        for pin in places.values():
            wish = PieceChoice(piece="g1", pins=(pin,))
            report = report_of(self.plan(wish, grain=Grain.TWO_WAY))
            assert codes(report) == ["N511"], pin
            assert set(self.lying(report)) == {"g1", "g2"}

    def test_two_pieces_pinned_to_one_place_are_told(self):
        place = Place(angle_deg=0.0, dx_mm=100.0, dy_mm=100.0)
        wishes = [
            PieceChoice(piece=p, pins=(Pin(stock="r1", place=place),)) for p in ("g1", "g2")
        ]
        report = report_of(self.plan(*wishes))
        assert codes(report) == ["N511"]
        assert "too near to Piece g1" in report.findings[0].text

    def test_a_piece_that_is_kept_off_everything_is_laid_all_the_same(self):
        wish = PieceChoice(piece="g1", forbidden=("r1", "r2", "k1", "buy"))
        report = report_of(self.plan(wish))
        assert codes(report) == ["N512"]
        assert "g1" in self.lying(report)

    def test_a_piece_that_is_too_large_for_its_only_sheet_is_laid_elsewhere(self):
        plan = plan_of(
            [piece("g1", box(0, 0, 700, 700))],
            [a_film(stock=(offcut("k1", 400, 300), *rolls(2000)))],
        )
        wish = PieceChoice(piece="g1", pins=(Pin(stock="k1"),))
        report = report_of(with_choices(plan, wish))
        assert codes(report) == ["N512"]
        assert self.lying(report) == {"g1": "r1"}

    def test_a_choice_for_a_piece_that_is_not_there_waits(self):
        wish = PieceChoice(piece="p9.whole", pins=(Pin(stock="r77"),))
        assert codes(report_of(self.plan(wish))) == []


class TestBuying:
    def test_the_shops_step(self):
        film = a_film(buy_step_mm=500.0)
        assert [bought_mm(film, v) for v in (0.0, 1.0, 500.0, 500.1)] == [0, 500, 500, 1000]

    def test_all_widths_are_offered_once_and_the_films_own_is_among_them(self):
        film = a_film(
            price_per_m=20.0,
            offers=(
                Offer(width_mm=1370.0, price_per_m=26.0),
                Offer(width_mm=1000.0),
                Offer(width_mm=1370.0, price_per_m=30.0),
            ),
        )
        offers = [(o.width_mm, o.price_per_m) for o in offers_of(film)]
        assert offers == [(1000.0, 20.0), (1370.0, 26.0)]

    def test_the_cheaper_width_is_told(self):
        # Two side by side take 1300 of width: at 1370 half the length that they take at 1000.
        film = a_film(price_per_m=20.0, offers=(Offer(width_mm=1370.0, price_per_m=25.0),))
        pieces = [piece(f"g{i}", box(0, 0, 940, 640)) for i in range(4)]
        plan = plan_of(pieces, [film])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        # 1000 wide takes them turned, one behind the other: 4 x 640 + 3 gaps + margins.
        needed = {w.width_mm: round(w.needed_mm or 0.0) for w in bought.widths}
        assert needed == {1000.0: 2595, 1370.0: 1905}
        assert [w.price for w in bought.widths] == [3.0 * 20.0, 2.0 * 25.0]
        assert [round(w.left_mm) for w in bought.widths] == [405, 95]
        assert bought.current.width_mm == 1000.0
        assert bought.cheapest is not None
        assert bought.cheapest.width_mm == 1370.0

    def test_a_width_that_a_piece_does_not_fit_is_no_choice(self):
        film = a_film(price_per_m=20.0, offers=(Offer(width_mm=500.0, price_per_m=1.0),))
        plan = plan_of([piece("g1", box(0, 0, 900, 900))], [film])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        assert [w.is_possible for w in bought.widths] == [False, True]
        assert bought.cheapest == bought.current

    def test_without_prices_no_width_is_the_cheaper_one(self):
        film = a_film(offers=(Offer(width_mm=1370.0),))
        plan = plan_of([piece("g1", box(0, 0, 900, 900))], [film])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        assert bought.cheapest is None

    def test_what_the_shelf_gives_is_not_bought_at_any_width(self):
        film = a_film(
            price_per_m=20.0,
            offers=(Offer(width_mm=1370.0, price_per_m=1.0),),
            stock=rolls(3000),
        )
        plan = plan_of([piece("g1", box(0, 0, 900, 900))], [film])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        assert [w.bought_mm for w in bought.widths] == [0.0, 0.0]
        assert bought.cheapest == bought.current

    def test_films_without_pieces_are_left_out(self):
        plan = plan_of([piece("g1", box(0, 0, 90, 90))], [a_film(), a_film("f2")])
        assert [f.film for f in buying_list(plan, report_of(plan).rolls).films] == ["f1"]

    def test_more_retakes_never_take_less_film(self):
        pieces = [piece(f"g{i}", box(0, 0, 300 + 20 * i, 450)) for i in range(7)]
        plan = plan_of(pieces, [a_film(price_per_m=10.0)])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        curve = bought.curve
        assert [p.retakes for p in curve] == list(range(8))
        assert [p.is_planned for p in curve] == [True] + 7 * [False]
        lengths = [p.needed_mm for p in curve]
        assert lengths[0] == bought.with_retakes_mm
        assert lengths == sorted(lengths)
        assert all(p.bought_mm >= p.needed_mm and p.bought_mm % 500 == 0 for p in curve)

    def test_it_can_be_stopped(self):
        plan = plan_of([piece("g1", box(0, 0, 300, 450))], [a_film()])
        with pytest.raises(Cancelled):
            buying_list(plan, report_of(plan).rolls, lambda: True)

    def test_pieces_that_fit_nowhere_are_not_counted_on_the_curve(self):
        # The film is 1 m wide: a square of 1.2 m fits on none of it.
        shapes = {"g1": box(0, 0, 900, 900), "g2": box(0, 0, 1200, 1200)}
        plan = plan_of([piece(g, s, tries=2) for g, s in shapes.items()], [a_film()])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        assert {(p.pieces, p.left_out) for p in bought.curve} == {(1, 1)}
        assert [p.retakes for p in bought.curve if p.is_planned] == [1]
        assert max(p.retakes for p in bought.curve) == 1

    def test_planned_retakes_are_on_the_curve(self):
        pieces = [piece("g1", box(0, 0, 300, 450), tries=3), piece("g2", box(0, 0, 200, 200))]
        plan = plan_of(pieces, [a_film()])
        (bought,) = buying_list(plan, report_of(plan).rolls).films
        (planned,) = [p for p in bought.curve if p.is_planned]
        assert (planned.retakes, planned.needed_mm) == (2, bought.with_retakes_mm)


class TestCosts:
    def test_a_roll_that_is_cut_whole_costs_its_price(self):
        # 10 m at 1 m width and 20 a metre: 200; the piece is 98 % by 99.8 % of it.
        film = a_film(price_per_m=20.0, buy_step_mm=1.0)
        plan = plan_of([piece("g1", box(0, 0, 9980, 980))], [film])
        table = costs(plan, report_of(plan).rolls)
        assert math.isclose(table.total.film, 20.0 * 9.98 * 0.98)
        assert math.isclose(table.total.film + table.total.waste, 200.0)
        assert table.total.retakes == 0.0

    def test_retakes_are_apart(self):
        film = a_film(price_per_m=20.0)
        once = plan_of([piece("g1", box(0, 0, 900, 980))], [film])
        twice = plan_of([piece("g1", box(0, 0, 900, 980), tries=2)], [film])
        first, second = (costs(p, report_of(p).rolls).total for p in (once, twice))
        assert math.isclose(first.film, second.film)
        assert math.isclose(second.retakes, 20.0 * 0.905)
        assert math.isclose(second.total, second.job + second.retakes)

    @pytest.mark.parametrize(
        ("width_mm", "offers", "whole"),
        [(500.0, (), 100.0), (500.0, (Offer(width_mm=500.0, price_per_m=12.0),), 120.0)],
        ids=["by area", "as its width is sold"],
    )
    def test_a_roll_of_another_width_costs_what_its_width_costs(self, width_mm, offers, whole):
        # 10 m that are used up whole: of film at 20 a metre of 1 m, half as wide.
        stock = (Roll(id="r1", length_mm=10_000, width_mm=width_mm),)
        film = a_film(price_per_m=20.0, offers=offers, stock=stock)
        plan = plan_of([piece("g1", box(0, 0, 9980, width_mm - 20))], [film])
        laid = report_of(plan).rolls
        assert math.isclose(costs(plan, laid).total.film_used, whole)
        assert math.isclose(film_account(plan.job, laid.films[0]).cost, whole)

    def test_rows_add_up_to_the_whole(self):
        plan = plan_of([piece("g1", box(0, 0, 900, 500))], [a_film(price_per_m=7.0)])
        table = costs(plan, report_of(plan).rolls)
        assert math.isclose(sum(r.total for r in table.rows), table.total.total)

    def test_areas_of_a_film_add_up(self):
        plan = plan_of([piece("g1", box(0, 0, 900, 500), tries=2)], [a_film(stock=rolls(4000))])
        (account,) = costs(plan, report_of(plan).rolls).films
        given = account.pieces_mm2 + account.retakes_mm2 + account.waste_mm2 + account.left_mm2
        assert abs(given - account.stock_mm2) < 1.0
        assert account.stock_mm2 == 4_000_000.0


class TestFinishing:
    def test_a_roll_gets_shorter_and_its_damage_moves(self):
        roll = Roll(
            id="r1",
            length_mm=3000.0,
            damaged=(DamagedStretch(start_mm=2000.0, end_mm=2100.0, low_mm=100.0),),
        )
        plan = plan_of([piece("g1", box(0, 0, 900, 980))], [a_film(stock=(roll,))])
        (film,) = report_of(plan).rolls.films
        (change,) = changes_when_cut(plan, film)
        left = change.after
        assert isinstance(left, Roll)
        assert (left.length_mm, left.is_opened, left.width_mm) == (2080.0, True, 1000.0)
        assert [(d.start_mm, d.end_mm, d.low_mm) for d in left.damaged] == [(1080, 1180, 100)]

    def test_without_retakes_their_film_stays(self):
        plan = plan_of([piece("g1", box(0, 0, 900, 980), tries=2)], [a_film(stock=rolls(3000))])
        (film,) = report_of(plan).rolls.films
        lengths = [
            changes_when_cut(plan, film, has_retakes=has)[0].after for has in (False, True)
        ]
        assert [round(r.length_mm) for r in lengths if r is not None] == [2080, 1175]

    def test_film_beside_the_pieces_becomes_an_offcut(self):
        plan = plan_of([piece("g1", box(0, 0, 800, 800))], [a_film(stock=rolls(3000))])
        (film,) = report_of(plan).rolls.films
        roll, rest = changes_when_cut(plan, film)
        assert isinstance(rest.after, Offcut)
        # Beside the piece, which lies 10 from the other edge.
        assert math.isclose(rest.after.width_mm, 190.0, abs_tol=0.1)
        assert rest.before is None
        assert "stay on it" in roll.text

    def test_what_is_left_of_a_bought_roll_comes_onto_the_shelf(self):
        plan = plan_of([piece("g1", box(0, 0, 700, 980))], [a_film()])
        (film,) = report_of(plan).rolls.films
        (change,) = changes_when_cut(plan, film)
        assert isinstance(change.after, Roll)
        assert math.isclose(change.after.length_mm, 1000.0 - 720.0)

    def test_a_cut_film_keeps_its_layout(self):
        plan = plan_of([piece("g1", box(0, 0, 700, 980))], [a_film(stock=rolls(900))])
        report = report_of(plan)
        job = mark_cut(plan, report.rolls, report.rolls.films[0].film, "2026-11-25")
        assert [c.day for c in job.cuts] == ["2026-11-25"]
        again = roll_plan(JobPlan(job, plan.variant, plan.panels))
        assert again.rolls.films[0].sheets[0].engine == "kept"
        assert not [f for f in again.findings if f.check == "N516"]

    def test_film_that_was_cut_is_not_planned_on_its_old_stock_unseen(self):
        film = a_film(stock=rolls(2000))
        plan = plan_of([piece("g1", box(0, 0, 700, 980))], [film])
        job = mark_cut(plan, report_of(plan).rolls, FilmId("f1"), "2026-11-25")
        more = plan_of([piece(f"g{i}", box(0, 0, 700, 980)) for i in (1, 2)], [film])
        findings = roll_plan(JobPlan(job, more.variant, more.panels)).findings
        (told,) = [f for f in findings if f.check == "N516"]
        assert "was cut on 2026-11-25" in told.text
        fresh = set_stock(job, "f1", rolls(1000))
        findings = roll_plan(JobPlan(fresh, more.variant, more.panels)).findings
        assert not [f for f in findings if f.check == "N516"]


# Widths compared like with like


def a_width(width_mm: float, at_once: float, packed: float | None, *, is_laid: bool = False):
    price = at_once if packed is None else packed
    return WidthChoice(
        *(width_mm, 10.0, price * 100, price * 100, price, 0.0, is_laid),
        at_once_price=at_once,
        packed_price=packed,
    )


@pytest.mark.parametrize(
    ("other_packed", "cheapest_mm", "saved"),
    [(None, 1220.0, 2.0), (32.0, 1520.0, 0.0), (25.0, 1220.0, 5.0)],
    ids=["not packed", "packed and dearer", "packed and cheaper"],
)
def test_a_packed_width_is_never_compared_with_one_laid_at_once(
    other_packed, cheapest_mm, saved
):
    widths = (a_width(1220.0, 38.0, other_packed), a_width(1520.0, 40.0, 30.0, is_laid=True))
    film = FilmBuying("f1", "Fjord", (3000.0,), (3000.0,), 0.0, 0, widths, (), is_stuck=False)
    assert film.is_packed is (other_packed is not None)
    assert film.is_mixed is (other_packed is None)
    assert film.cheapest.width_mm == cheapest_mm
    assert film.saved == pytest.approx(saved)


def test_a_width_too_narrow_for_a_piece_is_no_price_to_pay():
    own = a_width(1520.0, 40.0, None, is_laid=True)
    fine = FilmBuying("f1", "Fjord", (), (), 0.0, 0, (own,), (), is_stuck=False)
    narrow = dataclasses.replace(a_width(610.0, 9.0, None, is_laid=True), needed_mm=None)
    widths = (narrow, a_width(1220.0, 38.0, None))
    stuck = FilmBuying("f2", "Apricot", (), (), 0.0, 0, widths, (), is_stuck=True)
    buying = BuyingList((fine, stuck), "EUR")
    assert buying.unmade == (stuck,)
    assert buying.price == buying.least_price == 40.0


class Listener:
    """Hears how far the work is; stops it after so many steps."""

    def __init__(self, most: int = 1000) -> None:
        self.words: list[str] = []
        self.most = most

    def tell(self, step: Step) -> None:
        self.words.append(step.words)

    def is_cancelled(self) -> bool:
        return len(self.words) >= self.most


@pytest.fixture
def plan_with_widths(monkeypatch):
    """Boards on a film with three widths, the least too narrow; searches find nothing new."""
    monkeypatch.setattr(
        width_search, "tightened", lambda _, start, __, tell: (tell(start), (start, ()))[1]
    )
    offers = (
        Offer(width_mm=200.0, price_per_m=1.0),
        Offer(width_mm=760.0, price_per_m=9.0),
    )
    film = a_film(price_per_m=20.0, offers=offers)
    return plan_of([piece(f"g{i}", box(0, 0, 600, 300)) for i in range(4)], [film])


def test_every_width_that_is_wide_enough_is_packed_for_as_long(plan_with_widths):
    laid = roll_plan(plan_with_widths).rolls
    heard = Listener()
    packed = {p.fingerprint: p for p in pack_widths(plan_with_widths, laid, 3.0, heard)}
    assert [(p.width_mm, p.seconds) for p in packed.values()] == [(760.0, 3.0), (1000.0, 3.0)]
    assert any("760 mm wide" in words for words in heard.words)
    (film,) = buying_list(plan_with_widths, laid, packed=packed).films
    assert film.is_packed
    assert film.cheapest.width_mm == 760.0


def test_a_stopped_search_tells_only_of_widths_that_had_their_time(plan_with_widths):
    laid = roll_plan(plan_with_widths).rolls
    assert list(pack_widths(plan_with_widths, laid, 3.0, Listener(1))) == []
    (first,) = pack_widths(plan_with_widths, laid, 3.0, Listener(3))
    (film,) = buying_list(plan_with_widths, laid, packed={first.fingerprint: first}).films
    assert film.is_mixed


def test_a_width_is_taken_with_the_layout_that_was_packed_on_it(plan_with_widths):
    laid = roll_plan(plan_with_widths).rolls
    found = list(pack_widths(plan_with_widths, laid, 3.0, Listener()))
    packed = {p.fingerprint: p for p in found}
    job = take_width(plan_with_widths, "f1", 760.0, packed)
    taken = JobPlan(job, job.variants[0], plan_with_widths.panels)
    report = roll_plan(taken)
    assert {s.engine for s in report.rolls.films[0].sheets} == {"kept"}
    assert report.rolls.films[0].to_buy_mm == pytest.approx(found[0].rolls.to_buy_mm)
    assert take_width(plan_with_widths, "f1", 760.0, {}).nests == ()

from dataclasses import replace

import pytest
from msgspec.structs import replace as changed
from shapely import Polygon, box

from core.document.film import Grain, Turning
from core.plan.model import Severity
from core.roll import nest, strip, strip_workers, tightening
from core.roll.model import Placement
from core.roll.problem import film_problems
from core.roll.rolls import kept_nests, roll_plan, tighten
from core.roll.strip import SolverFailed
from core.roll.verify import verify
from helpers.film_pieces import (
    a_film,
    offcut,
    panel_like_shapes,
    piece,
    plan_of,
    rolls,
)


def never() -> bool:
    return False


def wedges(count=6):
    """Triangles that fit in pairs: what boxes waste, turning half of them wins back."""
    return [Polygon([(0, 0), (400, 0), (400, 150)]) for _ in range(count)]


def plan(shapes, *films, gap_mm=5.0, nests=(), **kw):
    pieces = [piece(f"g{i}", s, **kw) for i, s in enumerate(shapes, 1)]
    return plan_of(pieces, films or (a_film(stock=rolls(5000)),), gap_mm=gap_mm, nests=nests)


def engines(report):
    return [[s.engine for s in f.sheets] for f in report.rolls.films]


def assert_lawful(plan_, report):
    for problem, film in zip(film_problems(plan_), report.rolls.films, strict=True):
        assert verify(problem, film) == ()


class TestKeptNests:
    def test_come_back_as_they_were_kept(self):
        before = plan(
            panel_like_shapes(6, 1), a_film(stock=(*rolls(9000), offcut("k1", 500, 400)))
        )
        nests = kept_nests(before, roll_plan(before).rolls)
        after = replace(before, job=changed(before.job, nests=nests))
        report = roll_plan(after)
        assert {e for film in engines(report) for e in film} == {"kept"}
        assert report.findings == ()
        assert kept_nests(after, report.rolls) == nests

    def test_hold_while_another_film_changes(self):
        before = plan(wedges(), a_film(), a_film("f2"))
        nests = kept_nests(before, roll_plan(before).rolls)
        films = (before.job.films[0], a_film("f2", stock=rolls(77)))
        after = replace(before, job=changed(before.job, films=films, nests=nests))
        assert engines(roll_plan(after))[0] == ["kept"]

    def test_are_dropped_with_a_note_when_a_piece_changes(self):
        before = plan(wedges())
        nests = kept_nests(before, roll_plan(before).rolls)
        report = roll_plan(plan([*wedges(5), box(0, 0, 400, 151)], nests=nests))
        assert engines(report) == [["quick"]]
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N501", Severity.NOTE)
        assert "have changed" in finding.text

    def test_are_dropped_when_their_film_is_held_to_quarter_turns(self):
        before = plan(panel_like_shapes(4, 2))
        nests = kept_nests(before, roll_plan(before).rolls)
        quarters = a_film(stock=rolls(5000), turning=Turning.QUARTERS)
        after = replace(before, job=changed(before.job, films=(quarters,), nests=nests))
        report = roll_plan(after)
        assert [f.check for f in report.findings] == ["N501"]
        placed = report.rolls.films[0].sheets[0].placements
        assert {p.angle_deg % 90 for p in placed} == {0.0}

    def test_of_another_variant_are_none_of_ours(self):
        before = plan(wedges())
        nests = tuple(
            changed(n, variant="v2") for n in kept_nests(before, roll_plan(before).rolls)
        )
        report = roll_plan(plan(wedges(), nests=nests))
        assert engines(report) == [["quick"]]
        assert report.findings == ()

    @pytest.mark.parametrize(
        ("spoil", "why"),
        [
            (lambda p: changed(p, dx_mm=p.dx_mm - 50.0), "does not hold"),
            (lambda p: changed(p, piece="g99"), "is gone"),
            (lambda p: changed(p, angle_deg=45.0), "does not hold"),
        ],
        ids=["moved", "renamed", "turned"],
    )
    def test_that_a_file_spoils_are_not_believed(self, spoil, why):
        film = a_film(grain=Grain.TWO_WAY, stock=rolls(5000))
        before = plan(wedges(), film)
        (nest,) = kept_nests(before, roll_plan(before).rolls)
        (sheet,) = nest.sheets
        placements = (spoil(sheet.placements[0]), *sheet.placements[1:])
        spoilt = changed(nest, sheets=(changed(sheet, placements=placements),))
        report = roll_plan(plan(wedges(), film, nests=(spoilt,)))
        assert engines(report) == [["quick"]]
        assert why in report.findings[0].text

    def test_on_a_sheet_that_is_gone_are_not_believed(self):
        before = plan(wedges())
        (nest,) = kept_nests(before, roll_plan(before).rolls)
        spoilt = changed(nest, sheets=(changed(nest.sheets[0], stock="r9"),))
        assert "not in stock" in roll_plan(plan(wedges(), nests=(spoilt,))).findings[0].text

    def test_of_films_without_pieces_are_not_made(self):
        empty = plan([], a_film())
        assert kept_nests(empty, roll_plan(empty).rolls) == ()


@pytest.fixture
def solver_alone(monkeypatch):
    """No shuffled quick layouts before the solver's."""
    monkeypatch.setattr(nest, "shuffled_layouts", lambda *_: iter(()))


class TestTighten:
    def test_shortens_lawfully_and_tells_each_better_layout(self):
        job_plan = plan(panel_like_shapes(14, 2), a_film(stock=rolls(9000)))
        told = []
        report = tighten(job_plan, ["f1"], 5.0, told.append, never)
        assert_lawful(job_plan, report)
        quick = roll_plan(job_plan).rolls.films[0]
        lengths = [quick.used_length_mm, *(r.used_length_mm for r in told)]
        assert lengths == sorted(lengths, reverse=True)
        assert len(told) >= 1
        assert report.rolls.films[0] == told[-1]

    def test_leaves_other_films_as_they_are(self):
        pieces = [
            piece(f"g{i}", s, film=f)
            for i, (s, f) in enumerate(zip(wedges(), ["f1", "f2"] * 3, strict=True), 1)
        ]
        job_plan = plan_of(pieces, [a_film(), a_film("f2")])
        report = tighten(job_plan, ["f2"], 1.0, lambda _: None, never)
        assert report.rolls.films[0] == roll_plan(job_plan).rolls.films[0]

    def test_cancelled_at_once_gives_the_quick_layout(self):
        job_plan = plan(wedges())
        report = tighten(job_plan, ["f1"], 60.0, lambda _: None, lambda: True)
        assert report == roll_plan(job_plan)

    def test_one_piece_needs_no_solver(self, monkeypatch):
        monkeypatch.setattr(strip_workers, "_start_worker", lambda *_: pytest.fail("started"))
        job_plan = plan(wedges(1))
        assert tighten(job_plan, ["f1"], 60.0, lambda _: None, never) == roll_plan(job_plan)

    @pytest.mark.usefixtures("solver_alone")
    def test_a_worker_that_dies_leaves_the_quick_layout_and_a_warning(self, monkeypatch):
        start = strip_workers._start_worker

        def start_dying(*args):
            process = start(*args)
            process.kill()
            return process

        monkeypatch.setattr(strip_workers, "_start_worker", start_dying)
        job_plan = plan(wedges())
        report = tighten(job_plan, ["f1"], 60.0, lambda _: None, never)
        assert report.rolls == roll_plan(job_plan).rolls
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N505", Severity.WARNING)

    @pytest.mark.usefixtures("solver_alone")
    def test_what_was_found_before_the_worker_died_is_kept(self, monkeypatch):
        job_plan = plan(panel_like_shapes(14, 2), a_film(stock=rolls(9000)))
        better = []

        def dying(*args):
            for placements in strip.strip_layouts(*args):
                yield placements
                if better:
                    break
            raise SolverFailed("The layout solver stopped unexpectedly.")

        monkeypatch.setattr(nest, "strip_layouts", dying)
        report = tighten(job_plan, ["f1"], 3.0, better.append, never)
        assert report.rolls.films[0] == better[-1]
        assert [f.check for f in report.findings] == ["N505"]
        assert_lawful(job_plan, report)

    @pytest.mark.usefixtures("solver_alone")
    def test_an_answer_that_breaks_the_gap_is_rejected_and_told(self, monkeypatch):
        def overlapping(items, sheet, *_):
            yield tuple(Placement(i, 0.0, sheet.margin_mm, sheet.margin_mm) for i in items)

        monkeypatch.setattr(nest, "strip_layouts", overlapping)
        job_plan = plan(wedges(20))
        report = tighten(job_plan, ["f1"], 5.0, lambda _: pytest.fail("shown"), never)
        assert report.rolls == roll_plan(job_plan).rolls
        (finding,) = report.findings
        assert finding.check == "N507"
        assert "one of the solver's layouts did not hold and was not used" in finding.text
        assert "Piece g1, try 1, and Piece g11, try 1, lie" in finding.text

    @pytest.mark.usefixtures("solver_alone")
    def test_a_half_done_answer_is_passed_over_without_a_note(self, monkeypatch):
        def losing(items, sheet, *_):
            yield (Placement(items[0], 0.0, sheet.margin_mm, sheet.margin_mm),)

        monkeypatch.setattr(nest, "strip_layouts", losing)
        report = tighten(plan(wedges(20)), ["f1"], 5.0, lambda _: pytest.fail("shown"), never)
        assert report.findings == ()

    def test_a_half_done_sheet_is_no_better_layout(self, monkeypatch):
        """What is laid on rolls beside a refilled offcut has lost all its pieces."""
        monkeypatch.setattr(tightening, "lay_on_rolls", lambda *_: [])
        film = a_film(stock=(*rolls(9000), offcut("k1", 500, 300)))
        job_plan = plan(panel_like_shapes(6, 5), film)
        report = tighten(job_plan, ["f1"], 0.5, lambda _: None, never)
        assert report.findings == ()
        assert_lawful(job_plan, report)

    def test_a_search_that_is_begun_anew_needs_no_warning(self, monkeypatch):
        start = strip_workers._start_worker
        started = []

        def start_one_dying(*args):
            started.append(start(*args))
            if len(started) == 1:
                started[0].kill()
            return started[-1]

        monkeypatch.setattr(nest, "shuffled_layouts", lambda *_: iter(()))
        monkeypatch.setattr(strip_workers, "_start_worker", start_one_dying)
        report = tighten(plan(wedges()), ["f1"], 3.0, lambda _: None, never)
        assert len(started) > 1
        assert report.findings == ()

    def test_stock_that_is_short_is_filled_and_the_rest_bought(self):
        film = a_film(stock=rolls(700), grain=Grain.TWO_WAY)
        job_plan = plan(panel_like_shapes(16, 3), film)
        before = roll_plan(job_plan).rolls.films[0]
        report = tighten(job_plan, ["f1"], 6.0, lambda _: None, never)
        assert_lawful(job_plan, report)
        after = report.rolls.films[0]
        assert {s.sheet.id for s in after.sheets} == {"r1", "buy"}
        (bought,) = (m.length_mm for m in after.missing)
        (quick_bought,) = (m.length_mm for m in before.missing)
        assert bought <= quick_bought
        assert after.used_length_mm < before.used_length_mm
        assert [f.check for f in report.findings] == ["N504"]

    def test_offcuts_carry_no_less_than_before(self):
        film = a_film(stock=(*rolls(9000), offcut("k1", 500, 300)))
        job_plan = plan(panel_like_shapes(10, 5), film)
        before = roll_plan(job_plan).rolls.films[0]
        after = tighten(job_plan, ["f1"], 2.0, lambda _: None, never).rolls.films[0]
        old, new = (
            next(s for s in film.sheets if s.sheet.id == "k1") for film in (before, after)
        )
        assert new.pieces_area_mm2 >= old.pieces_area_mm2
        assert after.used_length_mm <= before.used_length_mm

    @pytest.mark.parametrize("ids", [[], ["f9"], ["f2"]], ids=["none", "unknown", "no pieces"])
    def test_with_nothing_to_do_gives_the_roll_plan(self, ids):
        job_plan = plan(wedges(), a_film(), a_film("f2"))
        assert tighten(job_plan, ids, 60.0, lambda _: None, never) == roll_plan(job_plan)

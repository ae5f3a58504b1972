"""A film that cannot be laid, and pieces that fit nowhere: told once, in plain words."""

import logging

import pytest
from shapely import Polygon, box

from core.document.film import Grain
from core.errors import ExportFailed, GeometryError
from core.plan.model import JobPlan, Severity
from core.roll import sheets
from core.roll.buying import buying_list
from core.roll.costs import costs
from core.roll.left_out import named, stops
from core.roll.rolls import roll_plan, tighten
from core.write.outputs import planned_outputs
from core.write.wording import finding_sentence
from helpers.film_pieces import a_film, offcut, piece, plan_of, rolls


def two_films(first=(), second=()) -> JobPlan:
    pieces = [piece(f"g{i}", s, film="f1") for i, s in enumerate(first, 1)]
    pieces += [piece(f"h{i}", s, film="f2") for i, s in enumerate(second, 1)]
    narrow = a_film(roll_width_mm=420.0, stock=rolls(3000))
    return plan_of(pieces, [narrow, a_film("f2", stock=rolls(3000))])


@pytest.fixture
def failing(monkeypatch):
    """Let the layout of one film fail, with an error that is chosen."""

    def fail(film: str, error: Exception) -> None:
        lay = sheets.quick_rolls

        def lay_or_fail(problem):
            if problem.film.id == film:
                raise error
            return lay(problem)

        monkeypatch.setattr(sheets, "quick_rolls", lay_or_fail)

    return fail


class TestAFilmThatFails:
    PLAN = staticmethod(lambda: two_films([box(0, 0, 300, 200)], [box(0, 0, 400, 300)]))

    def test_stops_the_job_by_name_and_the_others_stand(self, failing):
        failing("f1", GeometryError("no layout of them holds: Lid 1, try 2, is left out."))
        plan = self.PLAN()
        report = roll_plan(plan)
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N508", Severity.STOP)
        assert finding.text.startswith("Film f1: its pieces could not be laid out, as no lay")
        first, second = report.rolls.films
        assert first.has_failed
        assert first.sheets == ()
        assert [p.item.piece for p in second.sheets[0].placements] == ["h1"]
        assert stops(plan, report.rolls) == (finding,)

    def test_by_a_mistake_of_ours_is_told_and_logged(self, failing, caplog):
        failing("f1", IndexError("of an engine"))
        with caplog.at_level(logging.CRITICAL, "lapline"):
            (finding,) = roll_plan(self.PLAN()).findings
        assert "Lapline made a mistake (IndexError)" in finding.text

    def test_is_not_packed_bought_or_counted(self, failing):
        failing("f1", GeometryError("no layout of them holds."))
        plan = self.PLAN()
        report = tighten(plan, ["f1", "f2"], 0.2, lambda _: None, lambda: False)
        assert [f.check for f in report.findings] == ["N508"]
        stuck, laid = buying_list(plan, report.rolls).films
        assert stuck.is_stuck
        assert not stuck.current.is_possible
        assert laid.current.is_possible
        assert [a.film for a in costs(plan, report.rolls).films] == ["f2"]


class TestOneCause:
    WIDE = (box(0, 0, 500, 500), box(0, 0, 610, 510))

    def test_is_told_once_for_a_film(self):
        plan = two_films([*self.WIDE, box(0, 0, 90, 90)])
        (finding,) = roll_plan(plan).findings
        assert (finding.check, finding.severity) == ("N503", Severity.STOP)
        assert finding.text == (
            "2 pieces fit on no roll of Film f1: Piece g1 (500 mm), Piece g2 (510 mm); "
            "usable width is 400 mm. Split them with seams, or take a wider film."
        )

    def test_is_told_apart_from_another(self):
        crossing = Polygon([(0, 0), (90, 90), (90, 0), (0, 80)])
        found = roll_plan(two_films([*self.WIDE, crossing])).findings
        assert [f.check for f in found] == ["N503", "N506"]

    def test_of_one_piece_names_the_place_once(self):
        plan = two_films(self.WIDE[:1])
        (finding,) = roll_plan(plan).findings
        panel = plan.panels[0]
        assert finding.text.startswith("Piece g1 fits on no roll of Film f1: 500 mm wide, ")
        assert finding.panel == panel.id
        named_so = type(finding)("N503", Severity.STOP, f"{panel.name} 1 fits", panel.id)
        assert finding_sentence(plan, named_so).count(panel.name) == 1

    def test_of_offcuts_alone_is_one_warning(self):
        stock = (offcut("k1", 1300, 700),)
        film = a_film(roll_width_mm=420.0, grain=Grain.ONE_WAY, stock=stock)
        pieces = [piece(f"g{i}", box(0, 0, 570, 570)) for i in (1, 2)]
        (finding,) = roll_plan(plan_of(pieces, [film])).findings
        assert (finding.check, finding.severity) == ("N503", Severity.WARNING)
        assert finding.text.startswith("2 pieces fit on offcuts of Film f1 alone: Piece g1, ")

    def test_of_very_many_names_the_first(self):
        assert named([f"Lid {i}" for i in range(300)]).endswith("Lid 11 and 288 more")


def test_what_the_rolls_leave_out_is_not_handed_out():
    plan = two_films([box(0, 0, 500, 500)], [box(0, 0, 90, 90)])
    with pytest.raises(ExportFailed, match="a finding stops the job: Piece g1 fits"):
        planned_outputs(plan, roll_plan(plan).rolls)

import math
from collections import Counter

import pytest
from msgspec.structs import replace
from shapely import Polygon, box
from shapely.affinity import rotate

from core.document.film import DamagedStretch, Grain, Roll, Turning
from core.plan.model import JobPlan, Severity
from core.roll.rolls import roll_plan
from core.roll.sheets import quick_rolls
from core.roll.verify import verify
from helpers.film_pieces import (
    a_film,
    no_number_shape,
    offcut,
    panel_like_shapes,
    piece,
    plan_of,
    problem_of,
    rolls,
)


def laid_on(film_rolls):
    return {s.sheet.id: [p.item.piece for p in s.placements] for s in film_rolls.sheets}


def report_of(shapes, film, **kw):
    pieces = [piece(f"g{i}", s, **kw) for i, s in enumerate(shapes, 1)]
    return roll_plan(plan_of(pieces, [film]))


def test_what_fits_an_offcut_goes_there_and_the_rest_on_the_roll():
    film = a_film(stock=(*rolls(2000), offcut("k1", 220, 120)))
    found = quick_rolls(problem_of([box(0, 0, 400, 300), box(0, 0, 190, 90)], film))
    assert laid_on(found) == {"r1": ["g1"], "k1": ["g2"]}
    assert not found.missing


def test_the_smallest_offcut_that_holds_a_piece_takes_it():
    film = a_film(stock=(offcut("k1", 900, 900), offcut("k2", 220, 120)))
    found = quick_rolls(problem_of([box(0, 0, 190, 90)], film))
    assert laid_on(found) == {"k2": ["g1"]}


def test_the_shortest_roll_that_takes_all_is_used():
    film = a_film(stock=rolls(5000, 1500, 300))
    found = quick_rolls(problem_of([box(0, 0, 900, 900)], film))
    assert laid_on(found) == {"r2": ["g1"]}


def test_pieces_are_split_over_rolls_and_what_lacks_is_to_be_bought():
    film = a_film(stock=rolls(1000, 500))
    problem = problem_of([box(0, 0, 400, 900)] * 5, film)
    found = quick_rolls(problem)
    assert verify(problem, found) == ()
    counts = {s.sheet.id: len(s.placements) for s in found.sheets}
    assert counts == {"r1": 2, "r2": 1, "buy": 2}
    (missing,) = found.missing
    assert missing.length_mm == pytest.approx(2 * 400 + 5 + 20)
    assert missing.text == "0.83 m of Film f1, 1000 mm wide, must be bought"
    assert len(missing.items) == 2


def test_retakes_are_laid_as_well():
    problem = problem_of([box(0, 0, 400, 300)], a_film(stock=rolls(900)), tries=3)
    assert Counter(
        p.item.attempt for s in quick_rolls(problem).sheets for p in s.placements
    ) == {
        1: 1,
        2: 1,
        3: 1,
    }


def test_used_length_counts_both_end_margins():
    found = quick_rolls(problem_of([box(0, 0, 980, 400)], a_film(grain=Grain.ONE_WAY)))
    assert found.sheets[0].used_length_mm == pytest.approx(980 + 20)


@pytest.mark.parametrize(
    ("damage", "is_told"),
    [
        (DamagedStretch(start_mm=9000.0, end_mm=9100.0), True),
        (DamagedStretch(start_mm=100.0, end_mm=200.0, low_mm=0.0, high_mm=9999.0), True),
        (DamagedStretch(start_mm=100.0, end_mm=200.0, low_mm=1200.0), True),
        (DamagedStretch(start_mm=4900.0, end_mm=5000.0, high_mm=1000.0), False),
    ],
)
def test_damage_that_is_not_on_the_film_is_told(damage, is_told):
    roll = Roll(id="r1", length_mm=5000.0, damaged=(damage,))
    plan = plan_of([piece("g1", box(0, 0, 300, 300))], [a_film(stock=(roll,))])
    told = [f.text for f in roll_plan(plan).findings if f.check == "N517"]
    assert bool(told) is is_told
    assert all("on r1 the damage at" in text for text in told)


def whole_damaged() -> Roll:
    return Roll(id="r1", length_mm=500.0, damaged=(DamagedStretch(start_mm=0.0, end_mm=500.0),))


class TestFindings:
    def test_no_stock_is_a_note(self):
        report = report_of([box(0, 0, 400, 300)], a_film(grain=Grain.ONE_WAY))
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N502", Severity.NOTE)
        assert "all 0.42 m" in finding.text

    def test_stock_too_short_is_a_warning(self):
        report = report_of([box(0, 0, 980, 800)] * 2, a_film(stock=rolls(1000)))
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N504", Severity.WARNING)
        assert "(1.00 m on rolls)" in finding.text

    def test_quarter_turns_are_told_where_a_free_turn_would_fit(self):
        slanted = rotate(box(0, 0, 1000, 300), 45, origin=(0, 0))  # 919 mm across at 0 and 90
        film = a_film(roll_width_mm=420.0, turning=Turning.QUARTERS, stock=rolls(3000))
        (finding,) = report_of([slanted], film).findings
        assert finding.check == "N503"
        assert "its film lets it lie along or across the roll alone" in finding.text
        assert report_of([slanted], replace(film, turning=Turning.ANY)).findings == ()

    @pytest.mark.parametrize(
        ("film", "settings", "said"),
        [
            (a_film(edge_margin_mm=600.0), {}, "Make the unused edge of the film narrower"),
            (a_film(), {"longest_feed_mm": 100.0}, "enter the longest feed that the machine"),
            (a_film(stock=rolls(500)), {"lead_mm": 800.0}, "r1 is not used, as unused edges"),
            (
                a_film(stock=(whole_damaged(),)),
                {},
                "r1 is not used, as unused edges, damage and the machine's waste leave nothing",
            ),
        ],
        ids=["edges eat the roll", "a short feed", "waste eats the roll", "all damaged"],
    )
    def test_what_leaves_no_film_is_told_with_what_mends_it(self, film, settings, said):
        plan = plan_of([piece("g1", box(0, 0, 300, 200))], [film])
        job = replace(plan.job, settings=replace(plan.job.settings, **settings))
        findings = roll_plan(JobPlan(job, plan.variant, plan.panels)).findings
        assert any(said in f.text for f in findings), [f.text for f in findings]

    def test_a_piece_wider_than_the_roll_stops_and_says_why(self):
        film = a_film(grain=Grain.ONE_WAY, roll_width_mm=420.0, stock=rolls(3000))
        report = report_of([box(0, 0, 300, 570), box(0, 0, 100, 100)], film)
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N503", Severity.STOP)
        assert "570 mm wide, usable width is 400 mm and grain forbids turning" in finding.text
        assert finding.panel == "p1"
        (missing,) = report.rolls.films[0].missing
        assert (missing.length_mm, [i.piece for i in missing.items]) == (None, ["g1"])
        assert laid_on(report.rolls.films[0]) == {"r1": ["g2"]}

    def test_a_piece_too_wide_whichever_way_does_not_blame_the_grain(self):
        film = a_film(grain=Grain.ONE_WAY, roll_width_mm=420.0)
        report = report_of([box(0, 0, 570, 570)], film)
        assert "grain" not in report.findings[0].text

    def test_a_piece_on_a_wide_offcut_alone_is_a_warning(self):
        film = a_film(roll_width_mm=420.0, stock=(offcut("k1", 700, 700),))
        (finding,) = report_of([box(0, 0, 570, 570)], film).findings
        assert (finding.check, finding.severity) == ("N503", Severity.WARNING)

    @pytest.mark.parametrize(
        "shape",
        [Polygon([(0, 0), (90, 90), (90, 0), (0, 80)]), Polygon(), no_number_shape()],
        ids=["crossing", "empty", "not a number"],
    )
    def test_a_broken_outline_stops_and_the_others_are_laid(self, shape):
        report = report_of([shape, box(0, 0, 50, 50)], a_film(stock=rolls(900)))
        (finding,) = report.findings
        assert (finding.check, finding.severity) == ("N506", Severity.STOP)
        assert laid_on(report.rolls.films[0]) == {"r1": ["g2"]}


def test_a_film_without_pieces_has_no_sheets_and_no_findings():
    report = roll_plan(plan_of([], [a_film(), a_film("f2", stock=rolls(900))]))
    assert [(f.film, f.sheets, f.missing) for f in report.rolls.films] == [
        ("f1", (), ()),
        ("f2", (), ()),
    ]
    assert report.findings == ()


def test_three_hundred_pieces_are_laid():
    problem = problem_of(panel_like_shapes(300, 6), a_film(roll_width_mm=1520.0))
    found = quick_rolls(problem)
    assert verify(problem, found) == ()
    assert found.sheets[0].utilisation > 0.5
    assert math.isfinite(found.used_length_mm)

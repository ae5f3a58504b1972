from dataclasses import replace

from core.plan.model import Finding, Severity
from core.write.text_report import plan_lines, roll_lines
from core.write.wording import finding_sentence, seam_sentence, text_table
from helpers.plans import hand_plan, hand_rolls


def test_a_plan_reads_as_lines():
    lines = list(plan_lines(hand_plan()))
    assert lines[:2] == ["Library trike, one board · Two-tone", "2 panels, 4 pieces"]
    assert "Side board (p1L)" in lines
    assert "  1  Chalk white  368 mm × 420 mm  pre-cut" in lines
    assert "  2  Grün / fern  260 mm × 420 mm  pre-cut" in lines
    assert "  520 mm of cutting tape along s1" in lines
    assert "  Grün / fern  2 pieces  0.20 m²" in lines
    assert "Findings" not in lines


def test_a_panel_without_pieces_points_at_the_findings():
    plan = hand_plan()
    stop = Finding("G101", Severity.STOP, "It crosses itself.", "p1L", (12.5, 30.0))
    bare = replace(plan.panels[0], pieces=(), regions=(), findings=(stop,))
    lines = list(plan_lines(replace(plan, panels=(bare,))))
    assert "  no pieces: see the findings" in lines
    assert lines[-1] == "  stop G101: Side board at (12.5 mm, 30 mm): It crosses itself."


def test_rolls_read_as_lines():
    plan = hand_plan()
    lines = list(roll_lines(plan, hand_rolls(plan)))
    assert "  roll r1  0.82 m  of 2.50 m  2 pieces  38 % used" in lines
    assert any(line.startswith("  to buy  0.55 m") for line in lines)
    assert lines[-1] == "  missing: 2 pieces need 0.6 m more"


def test_a_film_that_is_not_needed_says_so():
    plan = hand_plan()
    rolls = hand_rolls(plan)
    bare = replace(rolls.films[0], sheets=())
    assert "  nothing of it is needed" in roll_lines(plan, replace(rolls, films=(bare,)))


def test_an_overlay_and_a_butt_seam_in_words():
    plan = hand_plan()
    panel = plan.panels[0]
    seam = panel.stretches[0]
    assert "runs on all the way beneath" in seam_sentence(
        plan, panel, replace(seam, is_full=True)
    )
    assert "no lap" in seam_sentence(plan, panel, replace(seam, lap_mm=0.0))
    second = replace(seam, id="s1.2")
    assert seam_sentence(plan, panel, second).startswith("s1, part 2: 2 over 1")


def test_a_finding_without_a_place():
    note = Finding("N502", Severity.NOTE, "No stock is entered.")
    assert finding_sentence(hand_plan(), note) == "note N502: No stock is entered."


def test_tables_line_up_and_may_be_empty():
    assert text_table([]) == []
    assert text_table([("a", "bb"), ("ccc", "d")]) == ["a    bb", "ccc  d"]

"""Rolls that cannot be laid: the window says so, and hands nothing out."""

import pytest
from msgspec.structs import replace

from app.handout.window import HandOutWindow
from app.session import Session
from core.document.edits.films import replace_film
from core.errors import GeometryError
from core.plan.plan import plan_job
from core.roll import sheets
from core.roll.rolls import roll_plan
from core.write.outputs import OutputOptions


def settle(qtbot, window):
    qtbot.waitUntil(lambda: window.session.are_rolls_current, timeout=30_000)
    window.films.refresh()
    window.review.refresh()


def narrow(job):
    """The job with a first film that no piece of it fits on."""
    return replace_film(job, replace(job.films[0], roll_width_mm=60.0))


def test_one_film_that_fails_is_told_and_the_others_are_shown(qtbot, window, monkeypatch):
    lay = sheets.quick_rolls

    def fail_first(problem):
        if problem.film.id == "f1":
            raise GeometryError("no layout of them holds.")
        return lay(problem)

    monkeypatch.setattr(sheets, "quick_rolls", fail_first)
    film = window.session.job.film("f1")
    window.session.do("Gap", replace_film(window.session.job, replace(film, price_per_m=3.0)))
    settle(qtbot, window)
    told = [f.text for f in window.review.findings if f.check == "N508"]
    assert len(told) == 1
    assert told[0].startswith(f"{film.name}: its pieces could not be laid out")
    lines = [window.films.list.item(i).toolTip() for i in range(window.films.list.count())]
    assert sum("Could not be laid out: see Review" in line for line in lines) == 1
    hand_out = window.actions_by_id["hand_out"]
    assert not hand_out.isEnabled()
    assert "could not be laid out" in hand_out.toolTip()
    assert window.actions_by_id["film_to_buy"].isEnabled()
    buying = window.stock.show_buying()
    qtbot.waitUntil(lambda: buying.keeper.money is not None, timeout=30_000)
    assert film.name in buying.total.text()
    assert "see Review" in buying.saving.text()
    window.session.undo()
    monkeypatch.undo()
    qtbot.waitUntil(hand_out.isEnabled, timeout=30_000)


@pytest.mark.parametrize("error", [GeometryError("It cannot be."), IndexError("ours")])
def test_a_layout_that_fails_altogether_stops_every_film(qtbot, small_job, error):
    def fail(_plan):
        raise error

    session = Session(lay_out=fail)
    with qtbot.capture_exceptions() as raised:
        session.do("Start", small_job)
        qtbot.waitUntil(lambda: session.rolls is not None)
    assert [e[1] for e in raised] == ([] if isinstance(error, GeometryError) else [error])
    assert {f.check for f in session.rolls.findings} == {"N508"}
    assert all(f.has_failed for f in session.rolls.rolls.films)


def test_the_hand_out_window_says_what_stops_the_job(qtbot, qapp, small_job, tmp_path):
    plan = plan_job(narrow(small_job))
    window = HandOutWindow(plan, None, OutputOptions(has_pictures=False), tmp_path)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: not window.is_busy, timeout=30_000)
    assert not window.foot.write_button.isEnabled()
    for words in (window.foot.problem.text(), window.foot.write_button.toolTip()):
        assert "fit on no roll of" in words
        assert "Review" in words
    window.write()
    assert list(tmp_path.iterdir()) == []


def test_a_stop_of_the_rolls_takes_handing_out_away(qtbot, window):
    assert window.actions_by_id["hand_out"].isEnabled()
    window.session.do("Narrow", narrow(window.session.job))
    settle(qtbot, window)
    assert [f.check for f in roll_plan(window.session.plan).findings].count("N503") == 1
    hand_out = window.actions_by_id["hand_out"]
    assert not hand_out.isEnabled()
    assert "See Review" in hand_out.toolTip()

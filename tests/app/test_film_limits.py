"""A film's kind and limits in its dialog."""

import pytest

from app.dialogs.film import FilmDialog
from app.dialogs.film_limits import BallDialog
from core.document.film import FilmKind
from core.document.job import Units
from helpers.jobs import job_with, rect_panel

JOB = job_with([rect_panel("p1", 600, 300)])


@pytest.fixture
def dialog(qtbot, qapp) -> FilmDialog:
    dialog = FilmDialog(JOB.films[0], JOB, "Film", None)
    qtbot.addWidget(dialog)
    return dialog


def test_a_kind_brings_its_limits_and_they_can_be_changed(dialog):
    limits = dialog.limits
    limits.kind.setCurrentIndex(2)
    limits.kind.activated.emit(2)
    assert limits.stretch.text() == "1"
    limits.bunching.setText("0,7")
    dialog.accept()
    assert dialog.film.kind is FilmKind.MONOMERIC
    assert dialog.film.bunching_limit_pct == pytest.approx(0.7)
    assert dialog.film.warm_stretch_limit_pct == pytest.approx(1.0)


def test_warm_film_stretches_no_less(dialog):
    dialog.limits.warm.setText("3")
    dialog.accept()
    assert dialog.isHidden()
    assert "Warm" in dialog.problem.text()
    assert dialog.film is JOB.films[0]


def test_a_trial_on_a_ball_shows_what_it_gives_while_it_is_typed(qtbot, qapp):
    dialog = BallDialog(Units.CM, None)
    qtbot.addWidget(dialog)
    dialog.ball.setText("22")
    dialog.laid.setText("8.8")
    assert dialog.outcome.text().startswith("Bunches 2.0 %")
    dialog.worked.setText("5")
    assert dialog.outcome.text() == ""
    dialog.accept()
    assert "smaller" in dialog.problem.text()
    dialog.worked.setText("15")
    dialog.accept()
    assert dialog.found.stretch_pct == pytest.approx(6.0, abs=0.1)

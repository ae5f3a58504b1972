"""A film's kind and limits in its dialog."""

import pytest
from PySide6.QtWidgets import QDialogButtonBox

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


def test_a_trial_on_a_ball_counts_once_all_of_it_is_typed(qtbot, qapp):
    dialog = BallDialog(Units.CM, None)
    qtbot.addWidget(dialog)
    take = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
    assert not take.isEnabled()
    for field, words in zip(
        (dialog.ball, dialog.laid, dialog.worked), ("22", "8.8", "15"), strict=True
    ):
        assert field.text() == ""
        field.setText(words)
    assert (dialog.outcome.text(), dialog.found) == ("", None)
    dialog.warm.setText("42")
    assert "too large" in dialog.problem.text()
    assert not take.isEnabled()
    dialog.warm.setText("5")
    assert "later scrap is smaller" in dialog.problem.text()
    dialog.warm.setText("18")
    assert dialog.problem.text() == ""
    assert dialog.outcome.text().startswith("Bunches 2.0 %")
    take.click()
    assert dialog.found.stretch_pct == pytest.approx(6.0, abs=0.1)

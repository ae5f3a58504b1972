import math

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from app import file_commands, job_commands
from app.selection import Selection
from core.document.file import load_job
from core.document.film import Roll
from core.tolerance import FLATTEN_MM
from helpers.gui import type_into


def test_a_dropped_job_is_opened(blank_window, job_path):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(job_path))])
    copy, left, none = (
        Qt.DropAction.CopyAction,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier(0),
    )
    enter = QDragEnterEvent(QPointF(50, 50).toPoint(), copy, data, left, none)
    QApplication.sendEvent(blank_window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(blank_window, QDropEvent(QPointF(50, 50), copy, data, left, none))
    assert blank_window.session.path == job_path


def test_recent_files_are_remembered_and_lost_ones_forgotten(window, tmp_path, monkeypatch):
    told = []
    monkeypatch.setattr(file_commands, "show_error", lambda error, _p: told.append(error))
    path = tmp_path / "second.lapline"
    window.session.save(path)
    assert window.files.open(path)
    menu = window.actions_by_id.submenus["recent"]
    assert menu.actions()[0].text() == "second.lapline"
    path.unlink()
    menu.actions()[0].trigger()
    assert told
    assert "second.lapline" not in [a.text() for a in menu.actions()]


@pytest.mark.parametrize(
    ("answer", "closes"),
    [
        (QMessageBox.StandardButton.Cancel, False),
        (QMessageBox.StandardButton.Discard, True),
        (QMessageBox.StandardButton.Save, True),
    ],
)
def test_unsaved_changes_are_asked_for_on_close(window, job_path, monkeypatch, answer, closes):
    monkeypatch.setattr(file_commands, "ask_unsaved", lambda *_: answer)
    window.session.select(Selection("panel", ("p1",), "p1"))
    type_into(window.selected.editor.turn, "7")
    assert window.close() is closes
    saved = load_job(job_path).job.panel("p1").edge_turn_mm
    assert saved == (7.0 if answer is QMessageBox.StandardButton.Save else 0.0)


def test_a_panel_by_size_starts_a_job_from_nothing(qtbot, blank_window, monkeypatch):
    def accept(dialog):
        type_into(dialog.across, "60 cm")
        dialog.radius.setText("30")
        dialog.accept()
        return dialog.result()

    monkeypatch.setattr(job_commands.NewPanelDialog, "exec", accept)
    QTest.mouseClick(blank_window.start.add, Qt.MouseButton.LeftButton)
    plan = blank_window.session.plan.panels[0]
    # A rectangle with quarter circles for corners: a b - (4 - pi) r^2, less at most the
    # flattening tolerance along the arcs.
    exact = 600 * 500 - (4 - math.pi) * 30**2
    assert plan.outline.area == pytest.approx(exact, abs=FLATTEN_MM * 2 * math.pi * 30)
    assert not blank_window.session.plan.is_stopped
    assert not blank_window.start.isVisible()
    blank_window.session.undo()
    assert blank_window.start.isVisible()


def test_films_are_added_changed_and_deleted_as_steps(window, monkeypatch):
    def accept(dialog):
        dialog.name.setText("Fern green")
        dialog.stock.add_roll()
        dialog.accept()
        return dialog.result()

    monkeypatch.setattr(job_commands.FilmDialog, "exec", accept)
    count = len(window.session.job.films)
    window.actions_by_id["add_film"].trigger()
    film = window.session.job.films[-1]
    assert film.name == "Fern green"
    assert [type(s) for s in film.stock] == [Roll]
    assert window.films.film == film.id
    window.actions_by_id["delete_film"].trigger()
    assert len(window.session.job.films) == count
    window.session.undo()
    window.session.undo()
    assert len(window.session.job.films) == count


def test_a_film_in_use_is_not_deleted(window, monkeypatch):
    told = []
    monkeypatch.setattr(job_commands, "show_error", lambda error, _p: told.append(error))
    window.films.pick("f1")
    window.actions_by_id["delete_film"].trigger()
    assert told
    assert window.session.job.film("f1")


def test_variants_are_added_shown_and_deleted(window, monkeypatch):
    monkeypatch.setattr(job_commands.QInputDialog, "getText", lambda *_a, **_k: ("Calm", True))
    window.actions_by_id["add_variant"].trigger()
    assert window.session.plan.variant.name == "Calm"
    assert window.header.variant.currentText() == "Calm"
    window.header.variant.pick("v1")
    assert window.session.variant == "v1"
    window.header.variant.pick("v2")
    window.actions_by_id["delete_variant"].trigger()
    assert window.session.variant == "v1"
    window.session.undo()
    assert len(window.session.job.variants) == 2

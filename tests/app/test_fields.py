"""Keys in a field: what is typed there is its own, all else is the window's."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel

from app.selection import Selection
from core.document.edits.lines import find_line
from helpers.gui import type_into

CTRL = Qt.KeyboardModifier.ControlModifier


def lap_of(window):
    return find_line(window.session.job, "v1", "s1")[1].rule.lap_mm


def test_undo_in_a_field_that_is_finished_takes_back_the_job_s_last_step(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    field = window.selected.editor.lap
    type_into(field, "12")
    assert lap_of(window) == 12.0
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    assert lap_of(window) is None
    QTest.keyClick(field, Qt.Key.Key_Y, CTRL)
    assert lap_of(window) == 12.0


def test_undo_while_typing_takes_back_what_was_typed(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    type_into(window.selected.editor.lap, "12")
    field = window.selected.editor.lap
    QTest.keyClicks(field, "345")
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    assert lap_of(window) == 12.0
    assert "345" not in field.text()


def test_undo_in_a_count_takes_back_the_job_s_last_step(window):
    window.session.select(Selection("panel", ("p1",), "p1"))
    field = window.selected.editor.count
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_Up)
    assert window.session.job.panel("p1").count == 2
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    assert window.session.job.panel("p1").count == 1


def test_escape_in_a_field_leads_back_to_the_canvas(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    field = window.selected.editor.lap
    field.setFocus()
    QTest.keyClicks(field, "banana")
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert field.hasFocus()
    assert field.text() == ""
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert window.canvas.hasFocus()
    assert window.session.selection.ids == ("s1",)


def test_what_is_wrong_is_told_below_the_field(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    field = window.selected.editor.lap

    def told() -> list[str]:
        labels = window.selected.editor.findChildren(QLabel)
        return [w.text() for w in labels if w.isVisible() and "banana" in w.text()]

    type_into(field, "banana")
    assert len(told()) == 1
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert told() == []

"""Copying, repeating, locking, hiding by key and menu, in a whole window."""

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog

from app.canvas.menus import add_actions, build_menu
from app.canvas_commands import ArrayDialog
from app.selection import Selection
from core.document.edits.drafting import GuideLine, add_guide
from core.document.edits.lines import find_line
from core.document.edits.runs import add_run, find_run
from core.units import Units
from helpers.jobs import stripe

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
NONE = Qt.KeyboardModifier.NoModifier
NEW = (
    *("copy", "cut", "paste", "duplicate", "repeat", "lock", "hide", "show_hidden"),
    *("unlink_run", "clear_guides", "show_rulers", "show_grid", "tool_measure"),
)


def press(window, key, keys=CTRL):
    window.canvas.setFocus()
    QTest.keyClick(window.canvas, key, keys)


def choose(window, kind, *ids, panel=None):
    window.session.select(Selection(kind, ids, panel))


def test_panels_are_copied_and_pasted_by_key_with_their_lines(window):
    session, before = window.session, window.session.job
    choose(window, "panel", "p1")
    press(window, Qt.Key.Key_C)
    assert '"lapline-clip"' in QGuiApplication.clipboard().text()
    press(window, Qt.Key.Key_V)
    assert [p.id for p in session.job.panels] == ["p1", "p2", "p3"]
    assert len(session.job.scheme("v1", "p3").lines) == 2
    assert session.selection == Selection("panel", ("p3",), "p3")
    assert session.undo_text == "Paste a panel"
    session.undo()
    assert session.job is before


def test_lines_are_cut_from_one_panel_and_pasted_on_another(window):
    session, before = window.session, window.session.job
    choose(window, "line", "s1", panel="p1")
    press(window, Qt.Key.Key_X)
    assert session.job.scheme("v1", "p1").seams == ()
    choose(window, "panel", "p2")
    press(window, Qt.Key.Key_V)
    (line,) = session.job.scheme("v1", "p2").seams
    # A third along the lower and the upper edge, on a panel 200 wide.
    assert [n.at[0] for n in line.nodes] == pytest.approx([200 / 3, 200 / 3])
    assert session.selection.ids == (line.id,)
    session.undo()
    session.undo()
    assert session.job is before


def test_other_text_in_the_clipboard_is_refused_in_words(window, qtbot):
    QGuiApplication.clipboard().setText("a shopping list")
    with qtbot.waitSignal(window.session.said) as said:
        press(window, Qt.Key.Key_V)
    assert "nothing of Lapline" in said.args[0]


def test_duplicating_leaves_the_clipboard_alone(window):
    QGuiApplication.clipboard().setText("a shopping list")
    choose(window, "panel", "p2")
    press(window, Qt.Key.Key_D)
    assert window.session.job.panel("p3").at == (720, -20)
    assert window.session.job.panel("p3").is_pair
    choose(window, "line", "t1", panel="p1")
    press(window, Qt.Key.Key_D)
    assert len(window.session.job.scheme("v1", "p1").stripes) == 2
    assert QGuiApplication.clipboard().text() == "a shopping list"


def test_a_panel_is_repeated_with_typed_gaps(window, monkeypatch):
    def fill(dialog):
        dialog.rows.setValue(2)
        dialog.columns.setValue(3)
        dialog.across.setText("3 cm")
        dialog.up.setText("10+15")
        dialog.accept()
        return QDialog.DialogCode.Accepted

    monkeypatch.setattr(ArrayDialog, "exec", fill)
    before = window.session.job
    choose(window, "panel", "p2")
    press(window, Qt.Key.Key_D, CTRL | SHIFT)
    places = {p.at for p in window.session.job.panels[1:]}
    assert places == {(700 + 230 * i, 325 * k) for i in range(3) for k in range(2)}
    assert len(window.session.selection.ids) == 6
    window.session.undo()
    assert window.session.job is before


def test_the_array_dialog_says_what_is_wrong(qtbot):
    dialog = ArrayDialog(Units.MM, None)
    qtbot.addWidget(dialog)
    dialog.columns.setValue(1)
    dialog.accept()
    assert "repeats nothing" in dialog.problem.text()
    dialog.columns.setValue(2)
    dialog.across.setText("wide")
    dialog.accept()
    assert "Gap between columns" in dialog.problem.text()


def test_lock_and_unlock_by_key(window):
    choose(window, "panel", "p1", "p2")
    press(window, Qt.Key.Key_K, CTRL | SHIFT)
    assert all(p.is_locked for p in window.session.job.panels)
    assert window.session.undo_text == "Lock 2 panels"
    assert window.actions_by_id["lock"].text() == "Unlock"
    press(window, Qt.Key.Key_K, CTRL | SHIFT)
    assert not any(p.is_locked for p in window.session.job.panels)


def test_hide_and_show_by_key_and_select_all_leaves_the_hidden_out(window, qtbot):
    choose(window, "panel", "p2")
    with qtbot.waitSignal(window.session.said) as said:
        press(window, Qt.Key.Key_H, NONE)
    assert "planned and cut" in said.args[0]
    assert window.session.job.panel("p2").is_hidden
    assert len({p.of for p in window.session.plan.panels}) == 2
    press(window, Qt.Key.Key_A)
    assert window.session.selection.ids == ("p1",)
    press(window, Qt.Key.Key_H, SHIFT)
    assert not window.session.job.panel("p2").is_hidden
    assert not window.actions_by_id["show_hidden"].isEnabled()


def test_select_all_takes_the_lines_of_the_panel_while_one_is_selected(window):
    choose(window, "line", "s1", panel="p1")
    press(window, Qt.Key.Key_A)
    assert window.session.selection == Selection("line", ("s1", "t1"), "p1")
    choose(window, "none")
    press(window, Qt.Key.Key_A)
    assert window.session.selection == Selection("panel", ("p1", "p2"))


def test_a_run_is_unlinked_by_key_and_nothing_moves(window):
    session = window.session
    line = stripe("t1", [(0, 60), (900, 60)], 30)
    job, ids = add_run(session.job, "v1", line.nodes, ("p1", "p2"), line)
    session.do("Draw", job)
    choose(window, "line", ids[0], panel="p1")
    press(window, Qt.Key.Key_U, CTRL | SHIFT)
    assert find_run(session.job, "v1", ids[0]) is None
    assert (
        find_line(session.job, "v1", ids[1])[1].nodes == find_line(job, "v1", ids[1])[1].nodes
    )
    assert not window.actions_by_id["unlink_run"].isEnabled()
    session.undo()
    assert find_run(session.job, "v1", ids[0]).is_in_line


def test_measure_rulers_and_grid_have_keys_and_are_remembered(window):
    press(window, Qt.Key.Key_M, NONE)
    assert window.canvas.tool == "measure"
    assert window.actions_by_id["tool_measure"].isChecked()
    assert window.canvas.has_rulers
    press(window, Qt.Key.Key_R, SHIFT)
    assert not window.canvas.has_rulers
    assert not window.settings.flag("rulers", default=True)
    press(window, Qt.Key.Key_G, NONE)
    assert window.canvas.desk.grid_mm == 10
    assert window.settings.flag("grid", default=False)
    press(window, Qt.Key.Key_G, NONE)
    assert window.canvas.desk.grid_mm is None


def test_all_guides_go_at_once(window):
    job = window.session.job
    for i in (1, 2):
        job = add_guide(job, GuideLine(id=f"h{i}", way="level", at_mm=50.0 * i))
    window.session.do("Guides", job)
    press(window, Qt.Key.Key_G, SHIFT)
    assert window.session.job.guides == ()
    window.session.undo()
    assert len(window.session.job.guides) == 2


def menu_words(window, at):
    """The words of the menu that a right click at a place opens."""
    canvas = window.canvas
    px = canvas.px_of(at)
    pointer = canvas._pointer(QPointF(px), NONE)

    menu = build_menu(canvas, canvas.desk, canvas._select, pointer)
    add_actions(menu, canvas.more_actions(window.session.selection))
    words = [a.text() for a in menu.actions() if a.text()]
    menu.deleteLater()
    return words


def test_context_menus_offer_what_fits(window):
    assert {"Paste", "Select all", "Rulers", "Grid"} <= set(menu_words(window, (650, 150)))
    on_line = menu_words(window, (200, 100))
    assert {"Copy", "Cut", "Duplicate", "Unlink a stripe from its run"} <= set(on_line)
    on_rim = menu_words(window, (0, 100))
    assert {"Copy", "Lock", "Hide", "Repeat in rows and columns…"} <= set(on_rim)
    window.session.do(
        "Guide", add_guide(window.session.job, GuideLine(id="h1", way="upright", at_mm=650.0))
    )
    assert "Delete all guides" in menu_words(window, (650, 150))
    assert window.session.selection == Selection("guide", ("h1",))


def test_a_right_click_on_one_of_several_keeps_them_all(window):
    choose(window, "panel", "p1", "p2")
    assert "Copy" in menu_words(window, (0, 100))
    assert window.session.selection.ids == ("p1", "p2")


def test_every_new_action_has_a_key_and_is_in_a_menu(window):
    actions = window.actions_by_id
    for name in NEW:
        assert actions[name].shortcuts()
        assert name in actions.menu_of
    keys = [k.toString() for _, action in actions for k in action.shortcuts()]
    assert len(keys) == len(set(keys))

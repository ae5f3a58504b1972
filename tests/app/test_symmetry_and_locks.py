"""A panel kept symmetric under the mouse, locked panels against typing, a run lined up."""

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.selection import Selection
from core.document.edits.built_up import make_symmetric
from core.document.edits.locks import set_locked
from core.document.edits.outlines import middle_axis
from core.document.edits.panels import move_panel, replace_panel
from core.document.edits.runs import add_run, find_run
from core.document.path import straight_path
from core.errors import EditRefused
from helpers.gui import type_into
from helpers.jobs import stripe
from helpers.mouse import ALT, Hand

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
PANEL = Selection("panel", ("p1",), "p1")
CTRL_SHIFT = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


def keep(window):
    session = window.session
    job = session.committed_job
    axis = middle_axis(job.panel("p1"), is_level=False)
    session.do("Keep", make_symmetric(job, "p1", axis, keeps_left=True, is_kept=True))
    session.select(PANEL)


def press(window, key, keys):
    window.canvas.setFocus()
    QTest.keyClick(window.canvas, key, keys)


def on_canvas(panel, node):
    return panel.at[0] + node.at[0], panel.at[1] + node.at[1]


def test_keep_symmetric_by_its_key_and_let_go(window, qtbot):
    session = window.session
    session.select(PANEL)

    def accept():
        dialog = QApplication.activeModalWidget()
        button = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        assert button.text() == "Keep symmetric"
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    assert not window.actions_by_id["let_go_symmetry"].isEnabled()
    QTimer.singleShot(0, accept)
    press(window, Qt.Key.Key_Y, CTRL_SHIFT)
    axis = session.committed_job.panel("p1").symmetry
    assert axis is not None
    assert axis.angle_deg == 90.0
    assert session.undo_text == f"Keep {session.job.panel('p1').name} symmetric"
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    press(window, Qt.Key.Key_H, CTRL_SHIFT)
    assert session.committed_job.panel("p1").symmetry is None
    session.undo()
    assert session.committed_job.panel("p1").symmetry == axis
    session.undo()
    assert session.committed_job.panel("p1").symmetry is None


def test_a_dragged_node_takes_its_twin_along_and_undo_restores_both(window):
    keep(window)
    session, hand = window.session, Hand(window.canvas)
    window.canvas.zoom_to_fit()
    before = session.committed_job
    panel = before.panel("p1")
    middle = panel.symmetry.through[0]
    node = max(panel.outline, key=lambda n: n.at[0] + n.at[1])
    x, y = on_canvas(panel, node)
    hand.drag_on((x, y), (x - 60, y - 40), ALT)
    seen = {n.id: n.at for n in session.job.panel("p1").outline}  # while the button is down
    hand.release((x - 60, y - 40), ALT)
    after = {n.id: n.at for n in session.committed_job.panel("p1").outline}
    assert after == seen
    assert after[node.id] == pytest.approx((node.at[0] - 60, node.at[1] - 40), abs=2)
    twin = next(
        n
        for n in panel.outline
        if n.at == pytest.approx((2 * middle - node.at[0], node.at[1]), abs=1e-6)
    )
    assert after[twin.id] == pytest.approx((2 * middle - after[node.id][0], after[node.id][1]))
    assert session.undo_text == f"Move a node of the outline of {panel.name}"
    session.undo()
    assert session.committed_job is before


def test_the_axis_is_drawn_and_goes_when_it_is_let_go(window, qapp):
    def pixels():
        qapp.processEvents()
        return window.canvas.viewport().grab().toImage()

    keep(window)
    session = window.session
    window.canvas.zoom_to_fit()
    kept = pixels()
    job = session.committed_job
    panel = job.panel("p1")
    session.do("Let go", replace_panel(job, replace(panel, symmetry=None)))
    free = pixels()
    x, low = on_canvas(panel, min(panel.outline, key=lambda n: n.at[1]))
    x = panel.at[0] + panel.symmetry.through[0]
    px = window.canvas.px_of((x, low))
    ratio = kept.devicePixelRatio()

    def differing(off):
        column = round((px.x() + off) * ratio)
        rows = range(kept.height())
        return sum(kept.pixel(column, y) != free.pixel(column, y) for y in rows)

    along = max(differing(off) for off in (-1, 0, 1))
    assert along > 40
    assert differing(9) == 0


def test_what_is_typed_for_a_locked_panel_is_refused_in_one_line(window, qtbot):
    session = window.session
    session.do("Lock", set_locked(session.job, ["p1"], locked=True))
    locked = session.committed_job
    session.select(PANEL)
    with qtbot.waitSignal(session.said) as said:
        type_into(window.selected.editor.turn, "33")
    assert "is locked" in said.args[0]
    assert "\n" not in said.args[0]
    assert session.job is locked
    session.select(Selection("line", ("s1",), "p1"))
    with qtbot.waitSignal(session.said) as said:
        type_into(window.selected.editor.lap, "19")
    assert "is locked" in said.args[0]
    assert session.job is locked


def test_a_locked_panel_refuses_edits_and_previews_but_can_be_unlocked(window):
    session = window.session
    session.do("Lock", set_locked(session.job, ["p1"], locked=True))
    locked = session.committed_job
    for act in (session.preview, lambda job: session.do("Move", job)):
        with pytest.raises(EditRefused, match="locked"):
            act(move_panel(locked, "p1", (900.0, 900.0)))
        assert session.job is locked
        assert not session.is_previewing
    session.do("Move the other", move_panel(locked, "p2", (900.0, 900.0)))
    session.do("Unlock", set_locked(session.job, ["p1"], locked=False))
    session.do("Move", move_panel(session.job, "p1", (5.0, 5.0)))
    assert session.job.panel("p1").at == (5.0, 5.0)
    for _ in range(4):
        session.undo()
    assert not session.job.panel("p1").is_locked


def test_a_dialog_on_a_locked_panel_says_so(window):
    session = window.session
    session.do("Lock", set_locked(session.job, ["p1"], locked=True))
    session.select(PANEL)
    seen = []

    def look():
        dialog = QApplication.activeModalWidget()
        seen.append(dialog.problem.text())
        ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        seen.append(ok.isEnabled())
        dialog.reject()

    QTimer.singleShot(0, look)
    window.actions_by_id["rotate_panel"].trigger()
    assert "is locked" in seen[0]
    assert seen[1] is False


def test_a_run_that_was_broken_by_moving_a_panel_is_lined_up_again(window):
    session = window.session
    job = replace_panel(session.job, replace(session.job.panel("p2"), is_pair=False))
    job = move_panel(move_panel(job, "p1", (0.0, 0.0)), "p2", (700.0, 0.0))
    line = straight_path([(-50.0, 100.0), (1000.0, 100.0)])
    like = stripe("t9", [(0, 0), (1, 0)], 30.0)
    job, ids = add_run(job, "v1", line, ["p1", "p2"], like)
    session.do("Draw", job)
    session.select(Selection("line", (ids[0],), "p1"))
    assert not window.actions_by_id["line_up_run"].isEnabled()
    session.do("Move", move_panel(session.job, "p2", (720.0, 30.0)))
    broken = session.committed_job
    assert not find_run(broken, "v1", ids[0]).is_in_line
    press(window, Qt.Key.Key_N, CTRL_SHIFT)
    run = find_run(session.committed_job, "v1", ids[0])
    assert run.is_in_line
    assert run.widths == (30.0, 30.0)
    assert session.undo_text == "Line up a run of stripes"
    session.undo()
    assert session.committed_job is broken

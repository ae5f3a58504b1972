"""The Panel menu: each command from its action to the undo, with real keys and clicks."""

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from app import job_commands
from app.outline_commands import _DIALOGS
from app.selection import NOTHING, Selection
from core.document.edits.panels import replace_panel
from core.document.measures import ring_size
from helpers.gui import type_into
from helpers.mouse import Hand

# What Qt's platform without a screen says when a dialog with a smallest size is shown.
pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
CTRL = Qt.KeyboardModifier.ControlModifier
PANEL = Selection("panel", ("p1",), "p1")
NODE = Selection("node", ("p1",), "p1", "n2")


@pytest.fixture
def overlapping(window):
    """The small job with its panels over each other, not pairs, and with air from below."""
    session = window.session
    job = session.committed_job
    job = replace_panel(job, replace(job.panel("p1"), flow_deg=90.0))
    job = replace_panel(job, replace(job.panel("p2"), at=(500.0, 50.0), is_pair=False))
    session.do("Set the scene", job)
    return window


def run(window, action, act, *, selection=PANEL):
    """Trigger an action and act in the dialog that it opens, as a person would."""
    seen = []

    def in_dialog():
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, QDialog)
        seen.append(dialog)
        try:
            act(dialog)
        finally:
            if dialog.isVisible():
                dialog.reject()

    window.session.select(selection)
    assert window.actions_by_id[action].isEnabled(), action
    QTimer.singleShot(0, in_dialog)
    window.actions_by_id[action].trigger()
    assert seen, action


def press_ok(dialog):
    button = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
    dialog.refresh()
    assert button.isEnabled(), dialog.problem.text()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def retype(field, text):
    """Replace a field's text by typing, without Enter, which would accept the dialog."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)


def choose(combo, value):
    combo.setCurrentIndex(combo.findData(value))


def as_it_is(_dialog):
    pass


FILLED = {
    "scale_panel": lambda d: retype(d.length, "750+2*15"),
    "rotate_panel": as_it_is,
    "mirror_panel": lambda d: choose(d.axis, "level"),
    "make_symmetric": lambda d: d.half.setCurrentIndex(1),
    "keep_symmetric": as_it_is,
    "split_panel": as_it_is,
    "join_panels": as_it_is,
    "cut_away": lambda d: d.keep.setChecked(False),
    "round_corners": lambda d: retype(d.radius, "2 cm"),
    "offset_outline": lambda d: retype(d.distance, "1/2 in"),
    "straighten": as_it_is,
    "align_nodes": lambda d: choose(d.moves, "n3"),
    "weld_nodes": as_it_is,
    "edge_length": lambda d: retype(d.length, "29 1/2 in"),
}
CHANGES = sorted(set(FILLED) - {"make_symmetric", "mirror_panel"})


@pytest.mark.parametrize("action", sorted(FILLED))
def test_each_command_previews_makes_one_step_and_is_undone(overlapping, action):
    session = overlapping.session
    before = session.committed_job
    seen = {}

    def act(dialog):
        FILLED[action](dialog)
        dialog.refresh()
        seen["preview"] = session.job
        assert session.committed_job is before
        seen["sentence"] = dialog.sentence
        press_ok(dialog)

    run(overlapping, action, act)
    after = session.committed_job
    assert not session.is_previewing
    assert after == seen["preview"]
    if action in CHANGES:
        assert after != before
        assert session.undo_text == seen["sentence"]
    session.undo()
    assert session.committed_job == before if action in CHANGES else True


@pytest.mark.parametrize("action", sorted(_DIALOGS))
def test_a_dialog_that_is_left_leaves_no_trace(overlapping, action):
    session = overlapping.session
    before, step = session.committed_job, session.undo_text

    def act(dialog):
        QTest.keyClick(dialog, Qt.Key.Key_Escape)
        assert not dialog.isVisible()

    run(overlapping, action, act)
    assert session.job is before
    assert session.undo_text == step
    assert not session.is_previewing


def test_typed_lengths_hold_to_a_billionth(overlapping):
    def act(dialog):
        choose(dialog.by, "size")
        dialog.refresh()
        retype(dialog.across, "29 1/2 in")
        press_ok(dialog)

    run(overlapping, "scale_panel", act)
    width, height = ring_size(overlapping.session.job.panel("p1").outline)
    assert width == pytest.approx(749.3, rel=1e-9)
    assert height == pytest.approx(300, rel=1e-9)


def test_what_cannot_be_is_said_and_cannot_be_accepted(overlapping):
    def act(dialog):
        ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        retype(dialog.radius, "400")
        dialog.refresh()
        assert "room for about 150 mm" in dialog.problem.text()
        assert not ok.isEnabled()
        assert not overlapping.session.is_previewing
        retype(dialog.radius, "wide")
        dialog.refresh()
        assert "wide" in dialog.problem.text()
        retype(dialog.radius, "30")
        dialog.refresh()
        assert ok.isEnabled()
        assert not dialog.problem.isVisible()

    run(overlapping, "round_corners", act)


def test_typing_is_tried_by_itself_after_a_pause(qtbot, overlapping):
    def act(dialog):
        retype(dialog.distance, "25")
        qtbot.waitUntil(
            lambda: ring_size(overlapping.session.job.panel("p1").outline)[0] == 650
        )

    run(overlapping, "offset_outline", act)


def test_nodes_are_chosen_by_clicks_in_the_picture(overlapping):
    def act(dialog):
        for node in ("n2", "n4"):
            at = dialog.picture.px_of(node).toPoint()
            QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=at)
        assert (dialog.start.node, dialog.end.node) == ("n2", "n4")
        press_ok(dialog)

    run(overlapping, "split_panel", act)
    job = overlapping.session.job
    assert [n.id for n in job.panel("p1").outline] == ["n2", "n3", "n4"]
    assert len(job.panels) == 3


def test_the_selected_node_is_the_one_meant(overlapping):
    def act(dialog):
        assert dialog.node.node == "n2"
        assert not dialog.which.currentData()
        press_ok(dialog)

    run(overlapping, "round_corners", act, selection=NODE)
    outline = overlapping.session.job.panel("p1").outline
    assert [n.smooth for n in outline] == [False, True, True, False, False]


def test_simplify_tells_how_far_it_strays(overlapping):
    session = overlapping.session
    panel = session.job.panel("p1")
    first, second = panel.outline[:2]
    middle = replace(first, id="n9", at=(300.0, 0.2))
    outline = (first, middle, second, *panel.outline[2:])
    session.do(
        "Add a node", replace_panel(session.committed_job, replace(panel, outline=outline))
    )

    def act(dialog):
        assert "5 nodes become 4, at most 0.20 mm away" in dialog.note.text()
        press_ok(dialog)

    run(overlapping, "simplify", act)
    assert len(session.job.panel("p1").outline) == 4


def test_width_height_and_edge_length_are_typed_in_the_pane(window):
    session = window.session
    session.select(PANEL)
    window.selected.refresh()
    assert window.selected.editor.across.text() == "600 mm"
    type_into(window.selected.editor.upright, "35 cm")
    assert ring_size(session.job.panel("p1").outline) == pytest.approx((600, 350), rel=1e-9)
    session.undo()
    session.select(Selection("node", ("p1",), "p1", "n1"))
    type_into(window.selected.editor.length, "500+25")
    assert session.job.panel("p1").outline[1].at == pytest.approx((525, 0), rel=1e-9)
    assert session.undo_text == "Set the length of an edge of Panel p1"
    session.undo()
    assert session.job.panel("p1").outline[1].at == (600, 0)


def test_commands_that_do_not_apply_say_why(window):
    window.session.select(NOTHING)
    for action in _DIALOGS:
        assert not window.actions_by_id[action].isEnabled(), action
        assert "Select a panel" in window.actions_by_id[action].toolTip()
    window.session.select(Selection("line", ("s1",), "p1"))
    assert not window.actions_by_id["offset_outline"].isEnabled()
    window.session.select(NODE)
    assert window.actions_by_id["offset_outline"].isEnabled()


def test_they_are_in_the_menu_bar_and_in_the_menu_under_the_pointer(window, monkeypatch):
    assert all(window.actions_by_id.menu_of[name] == "Panel" for name in _DIALOGS)
    for selection in (PANEL, NODE):
        shown = window.outlines.menu_for(selection)
        assert window.actions_by_id["round_corners"] in shown
    assert window.outlines.menu_for(Selection("line", ("s1",), "p1")) == []
    window.session.select(PANEL)
    hand, menus = Hand(window.canvas), []
    monkeypatch.setattr("PySide6.QtWidgets.QMenu.popup", lambda menu, _: menus.append(menu))
    window.canvas.zoom_to_fit()
    px = hand.px((600.0, 150.0))
    event = QContextMenuEvent(
        QContextMenuEvent.Reason.Mouse, px, window.canvas.viewport().mapToGlobal(px)
    )
    QApplication.sendEvent(window.canvas.viewport(), event)
    assert window.actions_by_id["scale_panel"] in menus[0].actions()
    menus[0].deleteLater()


def add_by_measures(window, act):
    run_new = []

    def in_dialog():
        dialog = QApplication.activeModalWidget()
        run_new.append(dialog)
        try:
            act(dialog)
        finally:
            if dialog.isVisible():
                dialog.reject()

    QTimer.singleShot(0, in_dialog)
    QTest.keyClick(window.canvas, Qt.Key.Key_P, CTRL)
    assert isinstance(run_new[0], job_commands.NewPanelDialog)


@pytest.mark.parametrize(
    ("shape", "fill", "size"),
    [
        ("rectangle", lambda d: (retype(d.across, "75 cm"), retype(d.radius, "0")), (750, 500)),
        ("circle", lambda d: retype(d.diameter, "12 in"), (304.8, 304.8)),
        ("ellipse", lambda d: retype(d.upright, "300"), (800, 300)),
        ("trapezium", lambda d: retype(d.shift, "250"), (850, 500)),
    ],
)
def test_plain_shapes_become_panels_of_their_size(blank_window, shape, fill, size):
    def act(dialog):
        choose(dialog.shape, shape)
        fill(dialog)
        press_ok(dialog)

    add_by_measures(blank_window, act)
    panel = blank_window.session.job.panels[0]
    assert ring_size(panel.outline) == pytest.approx(size, rel=1e-9)
    assert not blank_window.session.plan.is_stopped
    assert blank_window.session.selection.ids == (panel.id,)
    blank_window.session.undo()
    assert blank_window.session.job.panels == ()


def type_measures(dialog, lengths):
    choose(dialog.shape, "survey")
    for pair, text in lengths.items():
        retype(dialog.survey.fields[pair], text)
    dialog.refresh()


def test_sides_and_diagonals_become_a_panel(blank_window):
    def act(dialog):
        ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        type_measures(dialog, {(0, 1): "80 cm", (1, 2): "600", (2, 3): "800"})
        assert "side 1–4 and one diagonal" in dialog.note.text()
        assert not ok.isEnabled()
        type_measures(dialog, {(0, 3): "600", (0, 2): "1000", (1, 3): "1000.5"})
        assert "With 1 spare measure" in dialog.note.text()
        press_ok(dialog)

    add_by_measures(blank_window, act)
    outline = blank_window.session.job.panels[0].outline
    assert ring_size(outline) == pytest.approx((800, 600), abs=0.5)
    assert len(outline) == 4


def test_contradictory_measures_are_refused_by_name(blank_window):
    def act(dialog):
        type_measures(dialog, {(0, 1): "800", (1, 2): "600", (2, 3): "800", (0, 3): "600"})
        type_measures(dialog, {(0, 2): "1040", (1, 3): "1000"})
        assert "1–3" in dialog.problem.text()
        ok = dialog.buttons.button(dialog.buttons.StandardButton.Ok)
        assert not ok.isEnabled()
        dialog.survey.count.setValue(12)
        assert len(dialog.survey.inward) == 12
        assert len(dialog.survey.fields) == 66
        assert dialog.survey.fields[(0, 1)].text() == "800"

    add_by_measures(blank_window, act)
    assert blank_window.session.job.panels == ()

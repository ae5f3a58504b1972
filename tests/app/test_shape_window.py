"""The window driven end to end over a curved part: measured, judged, divided, on the rolls."""

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel
from shapely import LineString

from app.scan_commands import SCANS
from app.selection import Selection
from app.shape_words import gravest
from core.document.edits.locks import set_locked
from core.document.edits.panels import replace_panel
from core.document.edits.surfaces import resize_grid, set_surface
from core.document.surface import MeasuredSurface, places, reading_at
from core.plan import proposal_check
from core.plan.model import Severity
from core.plan.shape_check import Verdict
from core.progress import Step
from core.shape.proposals.model import Answer, LineKind, Proposal, ProposedLine
from helpers.gui import SAMPLES, forget_changes
from helpers.surfaces import cap

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
LONG_MS = 60_000


def settle(qtbot, window):
    """Wait until rolls and shapes belong to what is drawn."""
    qtbot.waitUntil(
        lambda: (
            window.shapes.is_current
            and not window.shapes.is_busy
            and window.session.are_rolls_current
        ),
        timeout=LONG_MS,
    )


@pytest.fixture
def curved(qtbot, blank_window):
    """The window on the sample of curved parts."""
    blank_window.session.open_copy(SAMPLES / "curved_parts.lapline")
    settle(qtbot, blank_window)
    yield blank_window
    forget_changes(blank_window.session)


def point_at(widget, place):
    """Move the pointer over a widget."""
    at, none = QPointF(place), Qt.MouseButton.NoButton
    kind, keys = QEvent.Type.MouseMove, Qt.KeyboardModifier.NoModifier
    event = QMouseEvent(kind, at, QPointF(widget.mapToGlobal(place)), none, none, keys)
    QApplication.sendEvent(widget, event)


def choose(window, panel):
    window.session.select(Selection("panel", (panel,), panel))


def found_in(answer):
    def fake(_plan, _panel, _question, progress):
        progress.tell(Step("Trying", 0.5))
        return answer

    return fake


def test_measure_judge_adopt_and_see_the_pieces_change(qtbot, curved):
    # The readings of the sample are typed anew, as from a slip of paper.
    session = curved.session
    readings = session.job.panel("p1").surface
    session.do("Flat", set_surface(session.job, "p1", None))
    choose(curved, "p1")
    curved.actions_by_id["measure_panel"].trigger()
    measuring = curved.shape.measuring
    qtbot.waitUntil(lambda: QApplication.focusWidget() in measuring.table.fields.values())
    measuring.table.go_to(next(places(measuring.surface)))
    for place in places(readings):
        words = "; ".join(f"{v:g}" for v in reading_at(readings, place))
        field = QApplication.focusWidget()
        field.setText(words)
        QTest.keyClick(field, Qt.Key.Key_Return)
    typed = session.job.panel("p1").surface
    assert isinstance(typed, MeasuredSurface)
    assert typed.offsets == readings.offsets
    settle(qtbot, curved)
    qtbot.waitUntil(lambda: measuring.card.tone == "warn", timeout=LONG_MS)
    assert "Seam needed" in measuring.card.head.text()
    needed = [f for f in curved.review.findings if f.check == "L701"]
    assert needed
    shapes = [s for s in curved.shapes.report.pieces if s.verdict is Verdict.SEAM]
    assert {f.severity for f in needed} == {s.severity for s in shapes} == {Severity.WARNING}
    before = [p.cut.area for p in session.plan.panels[0].pieces]

    measuring.seams.click()
    search = curved.shape.search
    # An event loop lets the worker run; waiting in short turns would starve it.
    with qtbot.waitSignal(search._work.ended, timeout=LONG_MS):
        assert search.is_busy
    assert len(search.window.buttons) == 3
    shown = {label.text() for label in search.window.findChildren(QLabel)}
    search.window.buttons[0].click()
    assert session.undo_text == "Draw the seams proposed for Parcel dome"
    settle(qtbot, curved)
    pieces = session.plan.panels[0].pieces
    assert len(pieces) > 1
    verdicts = {curved.shapes.report.of(p.id).verdict for p in pieces}
    assert verdicts <= {Verdict.FREE, Verdict.WARM}
    worst = gravest(curved.shapes.report.of(p.id) for p in pieces)
    assert f"{worst.range_pct:.1f} %" in shown, "what is drawn needs what the card has said"
    laid = {
        p.item.piece
        for film in session.rolls.rolls.films
        for sheet in film.sheets
        for p in sheet.placements
    }
    assert {p.id for p in pieces} <= laid
    assert len(before) == 1
    session.undo()
    assert len(session.plan.panels[0].pieces) == 1
    measuring.close()


def test_proposed_relief_cuts_are_drawn_by_a_click_and_undone_by_one_step(
    qtbot, curved, monkeypatch
):
    session = curved.session
    choose(curved, "p2")
    cuts = tuple(
        ProposedLine(LineKind.RELIEF, LineString([(x * 288, y * 288), (x * 200, y * 200)]))
        for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))
    )
    words = "4 relief cuts from the rim: so."
    best = Proposal(cuts, "relief cuts", (8.1,), 500.0, 0.0, 12.2, words)
    monkeypatch.setattr(proposal_check, "search_seams", found_in(Answer(19.6, 12.2, (best,))))
    curved.actions_by_id["propose_seams"].trigger()
    search = curved.shape.search
    qtbot.waitUntil(lambda: not search.is_busy)
    (button,) = search.window.buttons
    assert button.text() == "Draw these relief cuts"
    shown = {label.text() for label in search.window.findChildren(QLabel)}
    button.click()
    assert session.undo_text == "Draw the relief cuts proposed for Locker hood"
    (piece,) = (p for p in session.plan.pieces if p.panel == "p2")
    assert len(piece.relief_cuts) == 4
    settle(qtbot, curved)
    shape = curved.shapes.report.of(piece.id)
    assert shape.verdict is Verdict.WARM
    assert {"lays with warmth", f"{shape.range_pct:.1f} %", "7.1 cold, 12.2 warm"} <= shown
    session.undo()
    assert not session.job.scheme(session.variant, "p2").reliefs


def test_verdicts_stand_in_the_lay_order_and_with_the_selection(qtbot, curved):
    choose(curved, "p2")
    qtbot.waitUntil(lambda: "Seam needed" in curved.selected.shape.card.head.text())
    assert "takes 7.1" in curved.selected.shape.card.more.text().replace("\u00a0", " ")
    curved.session.set_variant("v3")
    settle(qtbot, curved)
    qtbot.waitUntil(lambda: "Lays freely" in curved.selected.shape.card.head.text())
    tree = curved.lay_order.tree
    qtbot.waitUntil(lambda: "lays freely" in tree.topLevelItem(1).child(0).toolTip(0).lower())
    choose(curved, "p1")
    assert not curved.selected.shape.isHidden()


def test_strain_shows_on_the_canvas_with_the_value_under_the_pointer(qtbot, curved):
    layer, canvas = curved.shape.layer, curved.canvas
    canvas.zoom_to_fit()
    curved.actions_by_id["show_strain"].trigger()
    assert set(canvas.canvas_scene.strain.items) == {"p1", "p2"}
    assert layer.legend.isVisible()
    panel = curved.session.job.panel("p1")
    spot = canvas.mapFromScene(QPointF(330.0 + panel.at[0], panel.at[1]))
    point_at(canvas.viewport(), spot)
    before = layer.legend.words
    assert "tretches" in before
    curved.session.set_variant("v3")
    settle(qtbot, curved)
    qtbot.waitUntil(lambda: layer.legend.words != before)  # though the pointer did not move
    assert "tretches" in layer.legend.words
    point_at(canvas.viewport(), QPoint(3, 3))
    assert layer.legend.words == ""
    curved.actions_by_id["show_strain"].trigger()
    assert canvas.canvas_scene.strain.items == {}
    assert layer.legend.isHidden()


def test_a_drag_does_not_wait_for_the_shape(qtbot, curved):
    session = curved.session
    panel = session.committed_job.panel("p1")
    for step in range(3):
        nodes = list(panel.outline)
        nodes[0] = replace(nodes[0], at=(nodes[0].at[0], nodes[0].at[1] - step - 1.0))
        session.preview(
            replace_panel(session.committed_job, replace(panel, outline=tuple(nodes)))
        )
    assert not curved.shapes.is_current
    session.drop_preview()
    settle(qtbot, curved)


def test_the_scanned_part_is_seen_with_films_and_strain(qtbot, curved):
    choose(curved, "p2")
    curved.actions_by_id["show_part"].trigger()
    part = curved.shape.part
    qtbot.waitUntil(lambda: part.view.is_fine)
    assert part.look == "films"
    middle = part.view.rect().center()
    heather = part.view.grab().toImage().pixelColor(middle)
    assert heather.blue() > heather.green()
    part.buttons["strain"].click()
    point_at(part.view, middle)
    assert "tretches" in part.legend.words
    curved.session.set_variant("v3")
    qtbot.waitUntil(lambda: curved.shapes.is_current, timeout=LONG_MS)
    part.buttons["bare"].click()
    assert not any(button.hasFocus() for button in part.buttons.values())
    choose(curved, "p1")  # it follows the selection
    assert curved.session.job.panel("p1").name in part.windowTitle()
    qtbot.waitUntil(lambda: part.view.is_fine, timeout=LONG_MS)
    assert "one shape" in part.note.text()
    part.close()
    assert curved.shape.part is None


def test_commands_say_why_they_cannot_be_done(curved):
    reasons = curved.shape.reasons()
    assert reasons["show_strain"] == ""
    choose(curved, "p1")
    assert curved.shape.reasons()["show_part"] == ""
    choose(curved, "p2")
    assert "scanned" in curved.shape.reasons()["measure_panel"]
    locked = set_locked(curved.session.job, ["p1"], locked=True)
    curved.session.do("Lock", locked)
    choose(curved, "p1")
    assert "locked" in curved.shape.reasons()["measure_panel"]
    curved.session.undo()
    job = curved.session.job
    sized = replace(job.panel("p1"), surface=MeasuredSurface(length=(900.0,), width=(600.0,)))
    curved.session.do("Size alone", replace_panel(job, sized))
    choose(curved, "p1")
    assert "Length and width alone" in curved.shape.reasons()["show_part"]
    curved.session.new()
    reasons = curved.shape.reasons()
    assert reasons.pop("from_scan") == ""
    assert all(reasons.values())


def test_where_one_piece_lies_no_seam_is_needed(qtbot, curved, monkeypatch):
    monkeypatch.setattr(proposal_check, "search_seams", found_in(Answer(2.0, 3.5, ())))
    curved.session.set_variant("v3")
    choose(curved, "p1")
    curved.actions_by_id["propose_seams"].trigger()
    search = curved.shape.search
    qtbot.waitUntil(lambda: not search.is_busy)
    assert "No seam is needed" in search.window.state.head.text()
    assert search.window.buttons == []
    search.window.stop.click()
    assert curved.shape.search is None


def test_three_lines_are_told_why_nothing_is_proposed(qtbot, curved):
    session = curved.session
    session.do("Three lines", resize_grid(session.job, "p1", 5, 3))
    choose(curved, "p1")
    curved.actions_by_id["propose_seams"].trigger()
    search = curved.shape.search
    assert not search.is_busy
    assert "shoulder" in search.window.state.text.text()
    assert search.window.bar.isHidden()
    search.window.stop.click()


def test_a_search_is_cancelled_with_its_window(qtbot, curved):
    choose(curved, "p2")
    curved.actions_by_id["propose_seams"].trigger()
    search = curved.shape.search
    qtbot.waitUntil(lambda: search.window.bar.maximum() == 100, timeout=LONG_MS)
    assert search.is_busy
    with qtbot.waitSignal(search._work.ended, timeout=LONG_MS):
        search.window.stop.click()
    assert curved.shape.search is None
    assert not curved.session.can_undo


# Scans


@pytest.fixture
def stl(tmp_path):
    path = tmp_path / "lid.stl"
    trimesh.Trimesh(*cap(40.0, rings=10), process=False).export(path)
    return path


def test_a_scan_becomes_a_panel_in_one_step(qtbot, blank_window, stl):
    window = blank_window
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(stl))])
    assert SCANS.dropped(data) == stl
    window.scans.open(stl)
    qtbot.waitUntil(lambda: window.scans.dialog is not None, timeout=LONG_MS)
    dialog = window.scans.dialog
    dialog.form.name.setText("Lid")
    dialog.form.make.click()
    qtbot.waitUntil(lambda: bool(window.session.job.panels), timeout=LONG_MS)
    (panel,) = window.session.job.panels
    assert (panel.name, panel.surface.title) == ("Lid", "lid.stl")
    assert window.session.selection.ids == (panel.id,)
    assert panel.surface.file in window.session.file.scans
    settle(qtbot, window)
    assert np.isclose(window.shapes.report.pieces[0].range_pct, 8.6, rtol=0.1)  # Milnor 1969
    window.session.undo()
    assert window.session.job.panels == ()


def test_what_is_no_scan_is_refused(qtbot, blank_window, tmp_path, monkeypatch):
    told = []
    monkeypatch.setattr("app.opening.show_error", lambda error, _: told.append(error))
    path = tmp_path / "notes.obj"
    path.write_text("nothing of the kind")
    blank_window.scans.open(path)
    qtbot.waitUntil(lambda: bool(told), timeout=LONG_MS)
    assert told[0].where == "notes.obj"
    qtbot.waitUntil(lambda: not blank_window.scans.reading.is_busy)
    assert blank_window.scans.dialog is None


def test_who_hands_out_is_told_that_pieces_will_bunch(qtbot, curved):
    curved.actions_by_id["hand_out"].trigger()
    foot = curved.hand_out.dialog.foot
    qtbot.waitUntil(lambda: curved.shapes.is_current, timeout=LONG_MS)
    assert foot.lays.text() == "2 pieces will bunch: see Review"
    assert not foot.lays.isHidden()
    qtbot.waitUntil(lambda: not curved.hand_out.dialog.is_busy, timeout=LONG_MS)
    curved.hand_out.dialog.reject()

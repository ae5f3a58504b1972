import ezdxf
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QFileDialog

from app.dialogs import import_lists
from app.dialogs.import_preview import _round_length
from core.units import Units

WAIT_MS = 30_000
LEFT = Qt.MouseButton.LeftButton
NO_KEY = Qt.KeyboardModifier.NoModifier


def draw(path, units=4):
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = units
    document.layers.add("OLD").off()
    space = document.modelspace()
    shell = {"layer": "SHELL"}
    space.add_lwpolyline([(0, 0), (400, 0), (400, 300), (0, 300)], close=True, dxfattribs=shell)
    space.add_circle((200, 150), 60, dxfattribs=shell)
    space.add_line((600, 0), (800, 0), dxfattribs=shell)
    space.add_line((800.05, 0), (800, 200), dxfattribs=shell)
    space.add_line((800, 200), (600, 0.4), dxfattribs=shell)
    space.add_circle((200, 600), 90, dxfattribs={"layer": "OLD"})
    space.add_text("LID")
    document.saveas(path)
    return path


@pytest.fixture
def drawing(tmp_path):
    return draw(tmp_path / "trike.dxf")


@pytest.fixture
def opened(qtbot, window):
    """Opens the import dialog on a file and waits until it shows what was found."""

    def opened(path):
        window.imports.open(path)
        dialog = window.imports.dialog
        qtbot.waitUntil(
            lambda: dialog.outlines is not None and is_idle(dialog), timeout=WAIT_MS
        )
        return dialog

    yield opened
    if window.imports.dialog is not None:
        window.imports.dialog.reject()


def is_idle(dialog):
    return dialog._work is None and not dialog._pause.isActive()


def ok(dialog):
    return dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)


def names(panel_list):
    return [text for _, text, _ in panel_list.rows()]


def click_box(tree, row):
    """Click the box of a row."""
    item = tree.topLevelItem(row)
    rect = tree.visualItemRect(item)
    spot = QPoint(rect.left() + 12, rect.center().y())
    QTest.mouseClick(tree.viewport(), LEFT, NO_KEY, spot)


def test_panels_are_imported_in_one_step_that_can_be_undone(window, opened, drawing):
    before = window.session.job
    dialog = opened(drawing)
    assert ok(dialog).text() == "Import 1 panel"
    QTest.mouseClick(ok(dialog), LEFT)
    job = window.session.job
    assert [p.name for p in job.panels[len(before.panels) :]] == ["SHELL"]
    assert window.session.undo_text == "Import 1 panel"
    assert window.session.selection.ids == (job.panels[-1].id,)
    assert window.imports.dialog is None
    window.actions_by_id["undo"].trigger()
    assert window.session.job == before


def test_a_dialog_that_is_cancelled_leaves_no_trace(window, opened, drawing):
    before = window.session.job
    dialog = opened(drawing)
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert window.session.job is before
    assert window.imports.dialog is None


def test_a_wider_tolerance_closes_more_and_says_what_it_mended(qtbot, opened, drawing):
    dialog = opened(drawing)
    assert len(dialog.outlines.panels) == 1
    assert "its ends are 0.4 mm apart" in dialog.report.toPlainText()
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        dialog.tolerance.selectAll()
        QTest.keyClicks(dialog.tolerance, "0.5 mm")
    qtbot.waitUntil(lambda: is_idle(dialog) and len(dialog.outlines.panels) == 2)
    assert "A gap of 0.4 mm was closed" in dialog.report.toPlainText()
    assert ok(dialog).text() == "Import 2 panels"


def test_a_tolerance_that_is_none_is_refused_in_words(qtbot, opened, drawing):
    dialog = opened(drawing)
    dialog.tolerance.selectAll()
    QTest.keyClicks(dialog.tolerance, "wide")
    qtbot.waitUntil(dialog.problem.isVisible, timeout=WAIT_MS)
    assert "Join ends within" in dialog.problem.text()
    assert not ok(dialog).isEnabled()


def test_layers_are_taken_in_and_out_by_their_boxes(qtbot, opened, drawing):
    dialog = opened(drawing)
    assert [(key, is_on) for key, _, is_on in dialog.layers.rows()] == [
        ("SHELL", True),
        ("OLD", False),
    ]
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        click_box(dialog.layers, 1)
    assert names(dialog.panels) == ["SHELL", "OLD"]
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        click_box(dialog.layers, 0)
    assert names(dialog.panels) == ["OLD"]
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        click_box(dialog.layers, 1)
    assert "No closed outline" in dialog.state.text()
    assert not ok(dialog).isEnabled()


def test_units_are_asked_for_when_the_file_does_not_say(qtbot, window, opened, tmp_path):
    dialog = opened(draw(tmp_path / "plain.dxf", units=0))
    assert "does not say its unit" in dialog.state.text()
    assert not ok(dialog).isEnabled()
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        dialog.units.pick(Units.CM)
    assert ok(dialog).isEnabled()
    ok(dialog).click()
    assert max(n.at[0] for n in window.session.job.panels[-1].outline) == pytest.approx(4000)


def test_units_that_the_file_says_can_be_overruled(qtbot, opened, drawing):
    dialog = opened(drawing)
    assert dialog.units.currentText() == "millimetres, as the file says"
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        dialog.units.pick(Units.IN)
    assert dialog.outlines.mm_per_unit == pytest.approx(25.4)


def test_panels_are_left_out_by_a_click_on_the_picture_or_their_box(opened, drawing):
    dialog = opened(drawing)
    spot = dialog.preview.px_of("p1") + QPointF(4, -4)
    QTest.mouseMove(dialog.preview, spot.toPoint())
    QTest.mouseClick(dialog.preview, LEFT, NO_KEY, spot.toPoint())
    assert [is_on for _, _, is_on in dialog.panels.rows()] == [False]
    assert not ok(dialog).isEnabled()
    assert "Tick the panels" in dialog.state.text()
    click_box(dialog.panels, 0)
    assert ok(dialog).isEnabled()


def test_names_and_film_are_taken_over(window, opened, drawing):
    dialog = opened(drawing)
    dialog.panels.topLevelItem(0).setText(0, "Cargo lid")
    dialog.film.setCurrentIndex(1)
    chosen = sorted(window.session.job.films, key=lambda f: f.rank)[1]
    ok(dialog).click()
    panel = window.session.job.panels[-1]
    assert panel.name == "Cargo lid"
    assert panel.base_film == chosen.id


def test_panel_choices_stay_while_the_drawing_is_sorted_anew(qtbot, opened, drawing):
    dialog = opened(drawing)
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        click_box(dialog.layers, 1)
    click_box(dialog.panels, 1)
    dialog.panels.topLevelItem(0).setText(0, "Cargo lid")
    with qtbot.waitSignal(dialog.read, timeout=WAIT_MS):
        dialog.units.pick(Units.CM)
    assert [(text, is_on) for _, text, is_on in dialog.panels.rows()] == [
        ("Cargo lid", True),
        ("OLD", False),
    ]


def test_a_file_that_cannot_be_read_is_told_of_in_one_sentence(
    qtbot, window, tmp_path, monkeypatch
):
    told = []
    monkeypatch.setattr("app.import_commands.show_error", lambda error, _w: told.append(error))
    path = tmp_path / "odd.svg"
    path.write_text("<svg")
    window.imports.open(path)
    qtbot.waitUntil(lambda: bool(told), timeout=WAIT_MS)
    assert "not whole XML" in told[0].sentence()
    assert window.imports.dialog is None


def test_reading_can_be_cancelled(qtbot, window, drawing):
    window.imports.open(drawing)
    dialog = window.imports.dialog
    work = dialog._work
    dialog.reject()
    assert work.control.is_cancelled()
    assert window.imports.dialog is None


def test_the_menu_asks_for_a_file(qtbot, window, drawing, monkeypatch):
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(drawing), ""))
    window.actions_by_id["import_outlines"].trigger()
    dialog = window.imports.dialog
    qtbot.waitUntil(lambda: dialog.outlines is not None, timeout=WAIT_MS)
    dialog.reject()


@pytest.mark.parametrize("name", ["side.dxf", "SIDE.SVG", "side.svgz", "side.pdf"])
def test_a_drawing_that_is_dropped_opens_the_dialog(window, tmp_path, monkeypatch, name):
    heard = []
    monkeypatch.setattr(window.imports, "open", heard.append)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / name))])
    copy, left, none = (
        Qt.DropAction.CopyAction,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    enter = QDragEnterEvent(QPoint(9, 9), copy, data, left, none)
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(9, 9), copy, data, left, none))
    assert heard == [tmp_path / name]


def test_a_long_report_is_cut(monkeypatch):
    monkeypatch.setattr(import_lists, "MOST_LINES", 2)
    html = import_lists._part("Mended", ["a < b", "c", "d", "e"])
    assert "a &lt; b" in html
    assert "and 2 more" in html
    assert "(4)" in html


@pytest.mark.parametrize(
    ("longest", "units", "expected"),
    [(160, Units.MM, 100), (499, Units.CM, 200), (0.7, Units.MM, 0.5), (160, Units.IN, 127.0)],
)
def test_the_scale_line_is_of_a_round_length(longest, units, expected):
    assert _round_length(longest, units) == pytest.approx(expected)

"""What somebody runs into who opens the program for the first time."""

from pathlib import Path

import ezdxf
import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest

from app.dialogs.film import FilmDialog
from app.dialogs.find_action import FindActionDialog
from app.dialogs.new_panel import NewPanelDialog
from app.film_use import FilmUse
from app.panes.films import row_text, use_text
from core.document.edits.nests import keep_nest
from core.document.edits.panels import add_panel
from core.document.measures import ring_size
from core.roll.rolls import kept_nests
from core.roll.wording import length_to_buy
from core.units import Units
from helpers.gui import click_row
from helpers.jobs import rect_panel
from helpers.mouse import Hand


def seen(window) -> QRectF:
    return window.canvas.mapToScene(window.canvas.viewport().rect()).boundingRect()


def test_the_first_panel_and_one_out_of_view_are_shown(blank_window):
    session = blank_window.session
    film = session.job.films[0].id
    big = rect_panel("p1", 4000, 3000, base_film=film)
    session.do("Add", add_panel(session.job, big))
    assert seen(blank_window).contains(QRectF(0, 0, 4000, 3000))
    blank_window.canvas.zoom_by(1.01)
    before = seen(blank_window)
    inside = rect_panel("p2", 10, 10, base_film=film, at=(100.0, 100.0))
    session.do("Add", add_panel(session.job, inside))
    assert seen(blank_window) == before
    far = rect_panel("p3", 1000, 1000, base_film=film, at=(9000.0, 0.0))
    session.do("Add", add_panel(session.job, far))
    assert seen(blank_window).contains(QRectF(9000, 0, 1000, 1000))


def pixels(window) -> bytes:
    return window.canvas.grab().toImage().constBits().tobytes()


@pytest.mark.parametrize("name", ["show_hatch", "show_numbers"])
def test_hatch_and_numbers_can_be_left_out_and_stay_so(window, name):
    action = window.actions_by_id[name]
    assert action.isChecked()
    before = pixels(window)
    action.trigger()
    without = pixels(window)
    assert without != before
    assert window.settings.flag(name.removeprefix("show_"), default=True) is False
    small = rect_panel("p9", 10, 10, at=(650.0, 0.0))
    window.session.do("Add", add_panel(window.session.job, small))
    window.session.undo()
    assert pixels(window) == without
    action.trigger()
    assert pixels(window) == before


def test_a_kept_layout_can_be_let_go(qtbot, window):
    session, actions = window.session, window.actions_by_id
    assert not actions["let_go"].isEnabled()
    job = session.job
    for nest in kept_nests(session.plan, session.rolls.rolls):
        job = keep_nest(job, nest)
    session.do("Keep", job)
    qtbot.waitUntil(lambda: session.are_rolls_current)
    qtbot.waitUntil(window.rolls.let_go.isVisible)
    qtbot.waitUntil(lambda: not window.rolls.keep.isVisible())
    window.rolls.let_go.click()
    assert session.job.nests == ()
    assert session.undo_text == "Let go of the kept layout"
    qtbot.waitUntil(window.rolls.keep.isVisible)
    assert not window.rolls.let_go.isVisible()
    session.undo()
    assert session.job.nests


def settle(qtbot, dialog):
    qtbot.waitUntil(lambda: not dialog.is_busy and not dialog.is_waiting, timeout=30_000)


@pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
def test_from_an_empty_window_to_plotter_files_in_ten_acts(
    qtbot, blank_window, tmp_path, monkeypatch
):
    """A panel of two films, cut files read back by ezdxf: both pieces are on them, whole."""
    window, session, acts = blank_window, blank_window.session, []
    hand, home = Hand(window.canvas), tmp_path / "out"

    def enter(dialog):
        acts.append("Enter takes the panel as it is offered")
        dialog.show()
        qtbot.waitExposed(dialog)
        QTest.keyClick(dialog, Qt.Key.Key_Return)
        return dialog.result()

    def act(words, do):
        acts.append(words)
        do()

    monkeypatch.setattr(NewPanelDialog, "exec", enter)
    act("New panel by measures", window.start.add.click)
    x, y = session.job.panels[0].at
    (right, top) = ring_size(session.job.panels[0].outline)
    act("Seam", lambda: hand.key(Qt.Key.Key_S))
    act("from the lower rim", lambda: hand.click((x + right / 2, y)))
    act("to the upper rim", lambda: hand.click((x + right / 2, y + top)))
    act("Accent film", lambda: click_row(window.films.list, 0))
    act("Paint", window.actions_by_id["tool_paint"].trigger)
    act("one half", lambda: hand.click((x + right / 4, y + top / 2)))
    assert len(session.plan.pieces) == 2
    window.settings.set_text("export_folder", str(home))
    act("Hand out", window.actions_by_id["hand_out"].trigger)
    dialog = window.hand_out.dialog
    settle(qtbot, dialog)
    with qtbot.waitSignal(window.hand_out.finished, timeout=30_000):
        act("Write", dialog.foot.write_button.click)
    settle(qtbot, dialog)
    dialog.reject()
    assert len(acts) <= 10
    sheets = [ezdxf.readfile(path) for path in home.rglob("*.dxf")]
    cut = [e for d in sheets for e in d.modelspace() if e.dxftype() == "LWPOLYLINE"]
    rings = [e for e in cut if e.closed]
    assert len(rings) >= 2
    tall = [max(y for _, y, *_ in e) - min(y for _, y, *_ in e) for e in rings]
    wide = [max(x for x, *_ in e) - min(x for x, *_ in e) for e in rings]
    longest = sorted(max(size) for size in zip(tall, wide, strict=True))[-2:]
    assert all(size >= top for size in longest), "each piece is as long as the panel is high"


def test_after_an_export_its_folder_can_be_shown(qtbot, window, tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr(QDesktopServices, "openUrl", shown.append)
    action = window.actions_by_id["open_folder"]
    assert not action.isEnabled()
    window.settings.set_text("export_folder", str(tmp_path / "out"))
    window.actions_by_id["hand_out"].trigger()
    dialog = window.hand_out.dialog
    settle(qtbot, dialog)
    with qtbot.waitSignal(window.hand_out.finished, timeout=30_000):
        dialog.write()
    settle(qtbot, dialog)
    dialog.reject()
    assert action.isEnabled()
    action.trigger()
    assert [Path(url.toLocalFile()) for url in shown] == [tmp_path / "out"]


def test_the_start_card_offers_every_way_to_a_panel(blank_window, monkeypatch):
    asked = []
    card = blank_window.start
    for button, name in (
        (card.add, "add_panel"),
        (card.outlines, "import_outlines"),
        (card.photo, "from_photo"),
        (card.open, "open"),
    ):
        action = blank_window.actions_by_id[name]
        action.triggered.disconnect()
        action.triggered.connect(lambda _, name=name: asked.append(name))
        button.click()
    assert asked == ["add_panel", "import_outlines", "from_photo", "open"]


def test_opening_says_so_and_nothing_closes_the_window_meanwhile(blank_window, job_path):
    told, closed, words = [], [], []
    blank_window.files.busy_changed.connect(told.append)
    blank_window.session.opened.connect(lambda: words.append(blank_window.status.text))
    blank_window.session.opened.connect(lambda: closed.append(blank_window.close()))
    assert blank_window.files.open(job_path)
    assert told == ["Opening small.lapline…", ""]
    assert words == ["Opening small.lapline…"]
    assert closed == [False]
    assert "Opening" not in blank_window.status.text


def test_commands_are_found_by_what_they_are_for(blank_window):
    dialog = FindActionDialog(blank_window.actions_by_id, blank_window)
    dialog.field.setText("stock")
    shown = [dialog.list.item(i) for i in range(dialog.list.count())]
    names = [item.data(Qt.ItemDataRole.AccessibleTextRole) for item in shown]
    assert any(name.startswith("Edit chosen film") for name in names)
    dialog.field.setText("fit nothing of the sort")
    assert dialog.list.count() == 0


def test_the_film_s_form_goes_on_a_low_screen(window):
    film = window.session.job.films[0]
    dialog = FilmDialog(film, window.session.job, "Film", window)
    assert dialog.sizeHint().height() <= 660
    assert dialog.margin.accessibleName() == "Unused edge"


@pytest.mark.parametrize("height", [700, 1000])
def test_the_start_card_is_whole_in_a_low_window(qtbot, blank_window, height):
    blank_window.resize(1100, height)
    card, ground = blank_window.start, blank_window.start.parentWidget()
    qtbot.waitUntil(lambda: blank_window.height() == height)
    qtbot.waitUntil(lambda: ground.rect().contains(card.geometry()))
    assert card.open.visibleRegion().boundingRect() == card.open.rect()


def test_from_the_start_a_hint_says_what_can_be_done(blank_window):
    assert "select" in blank_window.status.text


@pytest.mark.parametrize(
    ("length_mm", "words"), [(284.0, "0.29 m"), (280.0, "0.28 m"), (0.0, "0.00 m")]
)
def test_no_less_film_is_named_than_is_needed(length_mm, words):
    assert length_to_buy(length_mm, Units.MM) == words


def test_a_film_with_retakes_is_told_in_the_width_of_its_row(window):
    use = FilmUse(1550.0, 790.0, 2000.0, 0.0, is_on_offcuts=False, is_stuck=False, cost=1.0)
    assert row_text(use, Units.MM) == "1.55 of 2.00 m with retakes"
    assert use_text(use, Units.MM) == "0.79 m + 0.76 m retakes of 2.00 m"
    room = window.films.list.viewport().width() - 68
    assert (
        window.films.list.fontMetrics().horizontalAdvance(row_text(use, Units.MM)) * 12 / 14
        < room
    )


def test_a_pane_that_grows_leaves_the_zoom_as_it_is(blank_window):
    session, canvas = blank_window.session, blank_window.canvas
    film = session.job.films[0].id
    session.do("Add", add_panel(session.job, rect_panel("p1", 900, 600, base_film=film)))
    canvas.zoom_by(3.0)
    before = canvas.transform().m11()
    large = blank_window.actions_by_id["large_rolls"]
    for _ in range(2):
        large.trigger()
        assert canvas.transform().m11() == before


@pytest.mark.parametrize("height", [720, 1000])
def test_the_start_offers_every_way_to_a_panel(blank_window, qapp, height):
    blank_window.resize(1280, height)
    qapp.processEvents()
    card = blank_window.start
    for button in (card.add, card.outlines, card.photo, card.scan, card.sample, card.open):
        assert card.rect().contains(button.geometry())
    assert card.parentWidget().rect().contains(card.geometry())

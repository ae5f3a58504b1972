import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog

from app.dialogs.find_action import FindActionDialog
from app.film_use import film_uses
from app.selection import Selection
from core.document.edits.lines import find_line
from core.document.file import load_job
from core.document.lines import SeamCut, Side, Under
from core.plan.model import Severity
from core.roll.costs import costs
from core.roll.wording import length_to_buy
from core.units import Units
from helpers.gui import SAMPLES, click_item, click_row, close_window, open_window, type_into
from helpers.mouse import Hand

CTRL = Qt.KeyboardModifier.ControlModifier


def test_a_new_window_says_how_to_begin_and_offers_nothing_dead(blank_window):
    assert blank_window.start.isVisible()
    off = [name for name, action in blank_window.actions_by_id if not action.isEnabled()]
    assert {"undo", "hand_out", "tighten", "tool_seam", "delete"} <= set(off)
    for name in off:
        assert "\n" in blank_window.actions_by_id[name].toolTip(), name


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.lapline")), ids=lambda p: p.stem)
def test_each_sample_opens_with_films_pieces_and_rolls(qtbot, blank_window, path):
    session = blank_window.session
    with qtbot.waitSignal(session.rolls_changed, check_params_cb=None):
        blank_window.files.open_sample(path)
    qtbot.waitUntil(lambda: session.rolls is not None, timeout=20_000)
    qtbot.waitUntil(lambda: blank_window.films.list.count() == len(session.job.films))
    qtbot.waitUntil(lambda: blank_window.lay_order.tree.topLevelItemCount() > 0)
    assert not blank_window.start.isVisible()
    assert session.path is None
    assert not [f for f in blank_window.review.findings if f.severity is Severity.STOP]
    assert blank_window.actions_by_id["hand_out"].isEnabled()


def test_open_edit_save_and_reopen(qtbot, window, job_path):
    assert window.windowTitle().endswith("Lapline")
    window.session.select(Selection("line", ("s1",), "p1"))
    type_into(window.selected.editor.lap, "1,5 cm")
    assert find_line(window.session.job, "v1", "s1")[1].rule.lap_mm == 15.0
    assert window.isWindowModified()
    window.actions_by_id["save"].trigger()
    assert not window.isWindowModified()
    saved = load_job(job_path).job
    assert find_line(saved, "v1", "s1")[1].rule.lap_mm == 15.0
    window.actions_by_id["undo"].trigger()
    assert window.isWindowModified()
    assert find_line(window.session.job, "v1", "s1")[1].rule.lap_mm is None


def test_undo_and_redo_by_key_name_the_step(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    type_into(window.selected.editor.lap, "12")
    assert window.actions_by_id["undo"].text() == "Undo change lap of Seam 1"
    QTest.keyClick(window.canvas, Qt.Key.Key_Z, CTRL)
    assert find_line(window.session.job, "v1", "s1")[1].rule.lap_mm is None
    QTest.keyClick(window.canvas, Qt.Key.Key_Y, CTRL)
    assert find_line(window.session.job, "v1", "s1")[1].rule.lap_mm == 12.0


def test_a_length_that_is_none_is_told_of_and_changes_nothing(window, small_job):
    before = window.session.job
    window.session.select(Selection("line", ("s1",), "p1"))
    field = window.selected.editor.lap
    type_into(field, "wide")
    assert window.session.job is before
    assert field.property("look") == "wrong"
    assert "wide" in window.status.text
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert field.text() == ""


def test_a_negative_lap_is_refused(window):
    before = window.session.job
    window.session.select(Selection("line", ("s1",), "p1"))
    type_into(window.selected.editor.lap, "-3")
    assert window.session.job is before
    assert window.status.text


def test_what_is_on_top_can_be_chosen_and_says_why(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    editor = window.selected.editor
    window.selected.refresh()
    now = next(s for s in window.session.plan.panels[0].stretches if s.line == "s1")
    assert str(now.reason) in editor.reason.text()
    other = Side.LEFT if now.top_side is Side.RIGHT else Side.RIGHT
    editor.top.pick(other)
    fresh = next(s for s in window.session.plan.panels[0].stretches if s.line == "s1")
    assert fresh.top_side is other
    window.selected.refresh()
    assert "as you set it" in editor.reason.text()
    window.session.undo()
    assert find_line(window.session.job, "v1", "s1")[1].rule.on_top is None


def test_cut_and_under_film_of_a_line(window):
    window.session.select(Selection("line", ("t1",), "p1"))
    editor = window.selected.editor
    editor.cut.pick(SeamCut.CUTTING_TAPE)
    editor.under.pick(Under.FULL)
    rule = find_line(window.session.job, "v1", "t1")[1].rule
    assert (rule.cut, rule.under) == (SeamCut.CUTTING_TAPE, Under.FULL)
    window.selected.refresh()
    assert not editor.lap.isEnabled()
    window.session.undo()
    window.session.undo()
    assert find_line(window.session.job, "v1", "t1")[1].rule.cut is None


def test_widths_and_film_of_a_stripe(window):
    window.session.select(Selection("line", ("t1",), "p1"))
    editor = window.selected.editor
    type_into(editor.start, "2.5 cm")
    type_into(editor.end, "60")
    editor.film.pick("f1")
    line = find_line(window.session.job, "v1", "t1")[1]
    assert (line.start_width_mm, line.end_width_mm, line.film) == (25.0, 60.0, "f1")
    for _ in range(3):
        window.session.undo()
    line = find_line(window.session.job, "v1", "t1")[1]
    assert (line.start_width_mm, line.end_width_mm) == (40.0, 40.0)


def test_properties_of_a_panel(window):
    window.session.select(Selection("panel", ("p1",), "p1"))
    editor = window.selected.editor
    type_into(editor.turn, "12")
    editor.flow.pick(90.0)
    editor.count.setValue(2)
    editor.pair.setChecked(True)
    panel = window.session.job.panel("p1")
    assert (panel.edge_turn_mm, panel.flow_deg, panel.count, panel.is_pair) == (
        12.0,
        90.0,
        2,
        True,
    )
    for _ in range(4):
        window.session.undo()
    assert window.session.job.panel("p1").edge_turn_mm == 0.0


def test_a_region_gets_another_film_and_keeps_one_spot(window):
    region = next(r for r in window.session.plan.panels[0].regions if r.film == "f3")
    window.session.select(Selection("region", (region.id,), "p1"))
    window.selected.editor.film.pick("f2")
    spots = window.session.job.scheme("v1", "p1").spots
    assert [s.film for s in spots] == ["f2"]
    assert "f3" not in {r.film for r in window.session.plan.panels[0].regions}
    window.session.undo()
    assert "f3" in {r.film for r in window.session.plan.panels[0].regions}


def test_clicking_a_film_hands_it_to_the_tools(qtbot, window):
    films = window.films
    row = next(r for r in range(films.list.count()) if r != films.list.currentRow())
    with qtbot.waitSignal(films.picked) as heard:
        click_row(films.list, row)
    assert window.canvas.desk.film == heard.args[0] == films.film


def test_painting_with_the_chosen_film_by_mouse(window):
    window.films.pick("f2")
    QTest.keyClick(window.canvas, Qt.Key.Key_P)
    assert window.canvas.tool == "paint"
    window.canvas.zoom_to_fit()
    Hand(window.canvas).click((800, 150))
    assert {r.film for p in window.session.plan.panels if p.of == "p2" for r in p.regions} == {
        "f2"
    }
    window.session.undo()
    assert window.session.job.panel("p2").base_film == "f1"


def test_films_show_metres_against_stock(qtbot, window):
    qtbot.waitUntil(lambda: window.session.are_rolls_current)
    window.films.refresh()
    told = [
        window.films.list.item(row).data(Qt.ItemDataRole.AccessibleTextRole)
        for row in range(window.films.list.count())
    ]
    used = {str(f.film): f.used_length_mm for f in window.session.rolls.rolls.films}
    for film in window.session.job.films:
        if used.get(film.id):
            line = next(t for t in told if t.startswith(film.name))
            assert length_to_buy(used[film.id], Units.MM) in line


def test_one_sum_and_one_length_for_the_film_in_list_head_and_costs(qtbot, window):
    session = window.session
    priced = tuple(replace(f, price_per_m=20.0) for f in session.job.films)
    session.do("Price", replace(session.job, films=priced))
    qtbot.waitUntil(lambda: session.are_rolls_current)
    window.rolls.refresh()
    laid = session.rolls.rolls
    used = costs(session.plan, laid).total.film_used
    uses = film_uses(session.job, session.rolls).values()
    assert used > 0
    assert sum(use.cost for use in uses) == pytest.approx(used)
    whole = length_to_buy(sum(use.used_mm for use in uses), Units.MM)
    shown = window.rolls._chip.text()
    assert shown.startswith(whole)
    assert f"film used {used:,.2f}" in shown


def test_clicking_a_piece_in_the_lay_order_selects_it(qtbot, window):
    tree = window.lay_order.tree
    qtbot.waitUntil(lambda: tree.topLevelItemCount() == 3)  # one panel and both of a pair
    piece = window.session.plan.panels[0].pieces[-1]
    item = tree.topLevelItem(0).child(len(window.session.plan.panels[0].pieces) - 1)
    click_item(tree, item)
    assert window.session.selection == Selection("piece", (piece.id,), "p1")


def test_clicking_a_finding_goes_to_its_seam(qtbot, window, butt_job):
    window.session.do("Make it butt", butt_job)
    review = window.review
    qtbot.waitUntil(lambda: review.list.count() > 0)
    row = next(i for i, f in enumerate(review.findings) if "s1" in f.lines)
    click_row(review.list, row)
    assert window.session.selection.ids == ("s1",)
    window.session.undo()
    qtbot.waitUntil(lambda: all("s1" not in f.lines for f in review.findings))


def test_clicking_a_piece_on_its_roll_selects_it(qtbot, window):
    window.rolls.refresh()
    piece = window.session.plan.panels[0].pieces[0]
    at = window.rolls.view.place_of(piece.id)
    found = window.rolls.view.piece_at(at)
    assert found is not None
    QTest.mouseClick(
        window.rolls.view.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier(0), at
    )
    assert window.session.selection.ids == (found[0],)


def test_keeping_the_layout_is_a_step_that_can_be_undone(qtbot, window):
    window.actions_by_id["keep_layout"].trigger()
    assert window.session.job.nests
    qtbot.waitUntil(lambda: window.session.are_rolls_current)
    sheets = [s for f in window.session.rolls.rolls.films for s in f.sheets if s.placements]
    assert {s.engine for s in sheets} == {"kept"}
    assert "kept already" in window.actions_by_id["keep_layout"].toolTip()
    window.session.undo()
    assert not window.session.job.nests


def test_packing_can_be_stopped_and_never_gets_longer(qtbot, window):
    def length():
        return sum(f.used_length_mm for f in window.session.rolls.rolls.films)

    before = length()
    window.actions_by_id["tighten"].trigger()
    assert window.tightening.is_running
    assert window.actions_by_id["stop_tighten"].isEnabled()
    window.actions_by_id["stop_tighten"].trigger()
    qtbot.waitUntil(lambda: not window.tightening.is_running, timeout=15_000)
    assert length() <= before + 1e-6
    assert window.tightening.words


@pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)  # the offscreen screen
def test_an_action_is_found_by_a_few_letters(qtbot, window):
    dialog = FindActionDialog(window.actions_by_id, window)
    qtbot.addWidget(dialog)
    dialog.show()
    QTest.keyClicks(dialog.field, "select all")
    QTest.keyClick(dialog.field, Qt.Key.Key_Return)
    assert dialog.result() == QDialog.DialogCode.Accepted
    dialog.chosen.trigger()
    assert window.session.selection.ids == ("p1", "p2")


def test_the_look_changes_and_is_remembered(window, qapp):
    window.actions_by_id["theme_dark"].trigger()
    assert window.palette().window().color().lightness() < 80
    assert window.settings.text("look") == "dark"
    window.actions_by_id["theme_light"].trigger()
    assert window.palette().window().color().lightness() > 180


def test_sizes_of_the_panes_are_remembered(qtbot, qapp, tmp_path):
    first = open_window(qapp, tmp_path)
    qtbot.waitExposed(first)
    first._splitters["whole"].setSizes([400, 380])
    sizes = first._splitters["whole"].sizes()
    close_window(first)
    second = open_window(qapp, tmp_path)
    qtbot.waitExposed(second)
    assert second._splitters["whole"].sizes() == pytest.approx(sizes, abs=3)
    close_window(second)


def test_every_action_can_be_reached_from_a_menu_and_no_two_share_a_key(window):
    keys = []
    for name, action in window.actions_by_id:
        assert name in window.actions_by_id.menu_of, name
        keys += [key.toString() for key in action.shortcuts()]
    assert len(keys) == len(set(keys))


def test_twenty_thousand_calls_that_return_none_do_not_abort(qapp):
    for _ in range(20_000):
        qapp.processEvents()
    assert qapp.processEvents() is None

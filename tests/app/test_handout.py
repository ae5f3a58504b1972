"""Handing out: files listed, looked at, written and printed from one window."""

import io
import itertools
import threading

import pypdfium2
import pytest
from msgspec.structs import replace
from openpyxl import load_workbook
from PySide6.QtCore import Qt
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QDialog

from app.handout.file_list import short_names
from app.handout.foot import EXISTING
from app.handout.printing import print_pages
from app.handout.window import HandOutWindow
from core.document.job import BlankCut
from core.plan.plan import plan_job
from core.progress import tell_or_stop
from core.roll.cut_sequence import cut_sequence
from core.write.atomic import Existing
from core.write.drawing import Drawing, Layer, Look, Purpose, Shape, closed_run
from core.write.outputs import OutputOptions
from core.write.papers import Paper
from core.write.planned_file import FileKind, PlannedFile
from core.write.plotter import PlotterFormat
from core.write.preview import Preview
from helpers.gui import type_into
from helpers.jobs import hole, job_with, rect_panel


@pytest.fixture
def hand_out(qtbot, qapp, small_job, tmp_path):
    """The window on a small job, its files listed."""
    window = HandOutWindow(
        plan_job(small_job), None, OutputOptions(has_pictures=False), tmp_path
    )
    qtbot.addWidget(window)
    window.show()
    settle(qtbot, window)
    return window


def settle(qtbot, window):
    qtbot.waitUntil(lambda: not window.is_busy and not window.is_waiting, timeout=30_000)


def names(window):
    return [file.name for file in window.files.ticked()]


def test_files_are_listed_and_the_first_is_looked_at(qtbot, hand_out):
    assert any(name.endswith(".dxf") for name in names(hand_out))
    qtbot.waitUntil(lambda: hand_out.sight.pages.is_sharp, timeout=30_000)
    width, height = hand_out.sight.pages.preview.sizes_mm[0]
    assert width > 100
    assert height > 100


def test_choices_change_the_list(qtbot, hand_out):
    fields = hand_out.choices.fields
    fields["Templates at true size"].click()
    fields["Format"].setCurrentIndex(3)
    fields["Format"].activated.emit(3)
    settle(qtbot, hand_out)
    assert hand_out.choices.options.plotter.format is PlotterFormat.HPGL
    assert hand_out.choices.options.templates.paper is Paper.A4
    endings = {name.rpartition(".")[2] for name in names(hand_out)}
    assert {"plt", "pdf"} <= endings
    assert "dxf" not in endings


def test_what_cannot_be_is_said_and_the_list_stays(qtbot, hand_out):
    before = names(hand_out)
    type_into(hand_out.choices.fields["Longest feed"], "5 mm")
    assert "longest feed" in hand_out.foot.problem.text()
    settle(qtbot, hand_out)
    assert names(hand_out) == before
    assert hand_out.choices.options.plotter.longest_feed_mm is None
    assert not hand_out.foot.write_button.isEnabled()
    type_into(hand_out.choices.fields["Longest feed"], "1 m")
    settle(qtbot, hand_out)
    assert hand_out.foot.write_button.isEnabled()


def test_ticked_files_are_written_and_what_is_there_stays(qtbot, hand_out, tmp_path):
    plotter = hand_out.files.topLevelItem(0)
    unticked = plotter.child(0).toolTip(0)
    plotter.child(0).setCheckState(0, Qt.CheckState.Unchecked)
    wanted = names(hand_out)
    for round_ in (1, 2):
        with qtbot.waitSignal(hand_out.written, timeout=30_000) as heard:
            hand_out.write()
        assert len(heard.args[0]) == len(wanted)
        settle(qtbot, hand_out)
        assert len(list(tmp_path.rglob("*.*"))) == round_ * len(wanted)
        number = round_ + 1
        qtbot.waitUntil(lambda: f"gets -{number} behind" in hand_out.foot.names.text())  # noqa: B023
    assert "each with -2 behind its name" in hand_out.foot.said.text()
    assert not (tmp_path / unticked).exists()
    assert str(tmp_path) in hand_out.foot.said.text()
    assert hand_out.foot.open_folder.isVisible()


def test_nothing_is_written_where_files_are_if_so_wished(qtbot, hand_out, tmp_path):
    (tmp_path / names(hand_out)[0]).write_text("old")
    hand_out.foot.existing.show_choice(EXISTING, Existing.REFUSE)
    hand_out.foot.existing.activated.emit(2)
    qtbot.waitUntil(lambda: "nothing will be written" in hand_out.foot.names.text())
    hand_out.write()
    settle(qtbot, hand_out)
    assert "there already" in hand_out.foot.problem.text()
    assert [p.read_text() for p in tmp_path.iterdir()] == ["old"]


def test_a_blocked_folder_is_told_of(qtbot, hand_out, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    hand_out.foot.folder_field.setText(str(blocked / "below"))
    hand_out.write()
    settle(qtbot, hand_out)
    assert "cannot be written" in hand_out.foot.problem.text()
    assert hand_out.foot.write_button.isEnabled()


def test_a_long_preview_tells_how_far_it_is_and_is_stopped(qtbot, hand_out):
    """A file that draws until it is told to stop, then one that ends."""
    qtbot.waitUntil(lambda: not hand_out.sight.is_busy, timeout=30_000)
    sight, may_end, stopped = hand_out.sight, threading.Event(), threading.Event()
    page = Drawing("page", (0, 0, 210, 297), (), (), ())

    def draw(progress):
        try:
            for number in itertools.count():
                if may_end.wait(0.02):
                    return (page,)
                tell_or_stop(progress, "panel", number % 9, 9)
        finally:
            stopped.set()

    slow = PlannedFile("slow.pdf", FileKind.BENCH, lambda _, __: b"", draw)
    sight.look_at(slow)
    qtbot.waitUntil(lambda: sight.waiting.isVisible() and "of 9" in sight.waiting.words.text())
    assert not hand_out.foot.print_button.isEnabled()
    sight.waiting.button.click()
    qtbot.waitUntil(stopped.is_set)
    assert sight.waiting.words.text().startswith("Stopped")
    may_end.set()
    sight.waiting.button.click()
    qtbot.waitUntil(lambda: sight.has_pages)
    assert sight.pages.page_count == 1


def test_tables_are_shown_in_cells(qtbot, hand_out):
    item = hand_out.files.findItems(
        "pieces.csv", Qt.MatchFlag.MatchEndsWith | Qt.MatchFlag.MatchRecursive
    )[0]
    hand_out.files.setCurrentItem(item)
    qtbot.waitUntil(lambda: hand_out.sight.is_text, timeout=30_000)
    assert hand_out.sight.text.table.rowCount() == len(hand_out.plan.pieces)
    assert not hand_out.foot.print_button.isEnabled()


def test_workbook_of_the_list_opens(hand_out):
    file = next(f for f in hand_out.files.ticked() if f.name.endswith(".xlsx"))
    assert load_workbook(io.BytesIO(file.data())).sheetnames


def test_a_print_is_true_to_size(qapp, tmp_path):
    """Printed into a PDF and read by PDFium: a square of 100 mm, to a dot of the printer."""
    square = closed_run([(55, 98.5), (155, 98.5), (155, 198.5), (55, 198.5)])
    layers = (Layer("AREA", Purpose.PICTURE),)
    shape = Shape("AREA", (square,), look=Look(fill="#000000"))
    page = Drawing("square", (0, 0, 210, 297), layers, (shape,), ())
    printer = QPrinter()
    printer.setResolution(600)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "square.pdf"))
    print_pages(printer, Preview((page, page)), [0, 1])
    document = pypdfium2.PdfDocument(tmp_path / "square.pdf")
    assert len(document) == 2
    assert document[0].get_size() == pytest.approx((595.28, 841.89), abs=1)  # ISO 216, A4
    dots_mm = 300 / 25.4
    image = document[1].render(scale=300 / 72, grayscale=True).to_numpy()
    dark = image < 128
    rows, columns = dark.any(axis=1).nonzero()[0], dark.any(axis=0).nonzero()[0]
    for cells, start in ((columns, 55), (rows, 98.5)):
        assert len(cells) / dots_mm == pytest.approx(100, abs=0.2)
        assert cells[0] / dots_mm == pytest.approx(start, abs=0.5)


def test_choices_and_folder_are_remembered(qtbot, window, tmp_path):
    window.actions_by_id["hand_out"].trigger()
    dialog = window.hand_out.dialog
    settle(qtbot, dialog)
    dialog.choices.fields["Panels and rolls, SVG and PNG"].click()
    dialog.choices.fields["Weed box round the pieces"].click()
    dialog.foot.folder_field.setText(str(tmp_path / "out"))
    settle(qtbot, dialog)
    with qtbot.waitSignal(window.hand_out.finished, timeout=30_000):
        dialog.write()
    dialog.reject()
    assert window.hand_out.dialog is None
    assert window.actions_by_id["open_folder"].isEnabled()
    window.actions_by_id["hand_out"].trigger()
    again = window.hand_out.dialog
    assert again.choices.options.plotter.has_weed_box
    assert not again.choices.options.has_pictures
    assert again.folder == tmp_path / "out"
    settle(qtbot, again)
    again.reject()


def test_the_printer_is_asked_and_gets_the_pages(qtbot, hand_out, tmp_path, monkeypatch):
    def accept(dialog):
        dialog.printer().setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        dialog.printer().setOutputFileName(str(tmp_path / "print.pdf"))
        return QDialog.DialogCode.Accepted

    monkeypatch.setattr("app.handout.printing.QPrintDialog.exec", accept)
    item = hand_out.files.findItems(
        ".pdf", Qt.MatchFlag.MatchEndsWith | Qt.MatchFlag.MatchRecursive
    )[0]
    hand_out.files.setCurrentItem(item)
    qtbot.waitUntil(lambda: hand_out.sight.pages.page_count > 1, timeout=30_000)
    hand_out.ask_printer()
    document = pypdfium2.PdfDocument(tmp_path / "print.pdf")
    assert len(document) == hand_out.sight.pages.page_count
    assert "sent to the printer" in hand_out.foot.said.text()


def test_rolls_are_laid_for_cutting_by_hand_by_a_click_and_back_by_undo(qtbot, blank_window):
    """A piece that lies in another's opening cannot be cut free from edge to edge."""
    session = blank_window.session
    outer = replace(rect_panel("p1", 600, 400), openings=(hole("o1", 300, 200, 150),))
    session.do("Draw", job_with([outer, rect_panel("p2", 120, 120, at=(700.0, 0.0))]))
    qtbot.waitUntil(lambda: session.are_rolls_current, timeout=30_000)
    blank_window.actions_by_id["hand_out"].trigger()
    dialog = blank_window.hand_out.dialog
    settle(qtbot, dialog)
    assert dialog.way_out.isHidden()
    dialog.choices.fields["Cutting by hand, cut after cut"].click()
    settle(qtbot, dialog)
    assert dialog.way_out.isVisible()
    dialog.way_out.button.click()
    settle(qtbot, dialog)
    assert dialog.way_out.isHidden()
    assert "Laid anew" in dialog.foot.said.text()
    qtbot.waitUntil(lambda: session.are_rolls_current, timeout=30_000)
    sheets = [s for film in session.rolls.rolls.films for s in film.sheets if s.placements]
    assert [cut_sequence(sheet).stuck for sheet in sheets] == [()]
    assert len(sheets[0].placements) == 2
    dialog.reject()
    assert session.undo_text == "Lay the rolls for cutting by hand"
    session.undo()
    assert session.job.settings.blank_cut is BlankCut.STRAIGHT


def test_what_the_plotter_will_not_cut_well_is_warned_of(qtbot, hand_out):
    assert hand_out.warning_list.isHidden()
    type_into(hand_out.choices.fields["Smallest detail"], "45 mm")
    settle(qtbot, hand_out)
    assert "too small for the plotter" in hand_out.warnings.text()
    type_into(hand_out.choices.fields["Smallest detail"], "1 mm")
    settle(qtbot, hand_out)
    assert hand_out.warning_list.isHidden()


def test_names_that_differ_only_in_their_middle_are_told_apart(qtbot, hand_out):
    type_into(hand_out.choices.fields["Longest feed"], "1200 mm")
    settle(qtbot, hand_out)
    for k in range(hand_out.files.topLevelItemCount()):
        group = hand_out.files.topLevelItem(k)
        shown = [group.child(i).text(0) for i in range(group.childCount())]
        assert len(set(shown)) == len(shown)
    plotter = hand_out.files.topLevelItem(0)
    tree = hand_out.files
    for i in range(plotter.childCount()):
        wide = tree.fontMetrics().horizontalAdvance(plotter.child(i).text(0))
        assert wide < tree.viewport().width() - 70, "no name is cut"


def test_a_single_file_keeps_its_name():
    assert short_names(["job-r1-may.dxf"]) == ["job-r1-may.dxf"]
    assert short_names(["a-b.x", "a-c-b.x", "d/a-b-b.x"]) == ["b.x", "c-b.x", "b-b.x"]
    assert short_names([]) == []

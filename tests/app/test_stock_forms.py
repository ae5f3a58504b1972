"""Stock, widths on offer, grip by experience, and the user's word for single pieces."""

import math

import pytest
from msgspec.structs import replace
from shapely import box

from app.dialogs.film import GRAIN_WORDS, FilmDialog
from app.dialogs.job_settings import JobSettingsDialog
from app.dialogs.stock_table import DAMAGE, KIND, LENGTH, WIDTH
from app.selection import Selection
from core.document.choices import Difficulty, Pin, Place
from core.document.edits.pieces import pin_piece
from core.document.film import DamagedStretch, Film, Grain, Offcut, Offer, Roll, Turning
from core.plan.cutting import CutSpec, blank_around
from helpers.jobs import job_with, rect_panel

JOB = job_with([rect_panel("p1", 600, 300), rect_panel("p2", 200, 100)])
FULL = Film(
    id="f1",
    name="Fjord",
    colour="#24507a",
    turning=Turning.QUARTERS,
    buy_step_mm=250.0,
    offers=(Offer(width_mm=1220.0, price_per_m=16.5), Offer(width_mm=760.0, price_per_m=9.0)),
    stock=(
        Roll(
            id="r50",
            length_mm=4200.0,
            width_mm=1370.0,
            is_opened=True,
            damaged=(
                DamagedStretch(start_mm=100.0, end_mm=150.0),
                DamagedStretch(start_mm=900.0, end_mm=1000.0, low_mm=200.0, high_mm=300.0),
                DamagedStretch(start_mm=2000.0, end_mm=2001.0, low_mm=700.0),
            ),
        ),
        Offcut(
            id="k50",
            length_mm=400.0,
            width_mm=300.0,
            outline=((0.0, 0.0), (400.0, 0.0), (200.0, 300.0)),
            note="from the van",
        ),
    ),
)


def film_dialog(qtbot, film: Film) -> FilmDialog:
    dialog = FilmDialog(film, JOB, "Film", None)
    qtbot.addWidget(dialog)
    return dialog


def test_all_of_a_film_is_read_back_as_it_was(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.accept()
    assert dialog.problem.text() == ""
    assert dialog.film == FULL


def test_a_grain_leaves_no_turning_of_its_own(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.grain.setCurrentIndex(list(GRAIN_WORDS).index((Grain.ONE_WAY, Turning.ANY)))
    dialog.accept()
    assert (dialog.film.grain, dialog.film.turning) == (Grain.ONE_WAY, Turning.ANY)


@pytest.mark.parametrize(
    ("text", "offers"),
    [
        ("", ()),
        ("1220", (Offer(width_mm=1220.0),)),
        ("48 in at 12,5", (Offer(width_mm=1219.2, price_per_m=12.5),)),
        ("1220 @ 3; ; 610 at 2", (Offer(width_mm=1220.0, price_per_m=3.0),
                                  Offer(width_mm=610.0, price_per_m=2.0))),
    ],
)  # fmt: skip
def test_widths_on_offer_are_written_in_words(qtbot, qapp, text, offers):
    dialog = film_dialog(qtbot, FULL)
    dialog.offers.setText(text)
    dialog.accept()
    assert dialog.film.offers == offers


@pytest.mark.parametrize(
    "text", ["wide", "1220 at dear", "1 at 2 at 3", "0 at 5", "900 at -2", "760 at 5; 760 at 6"]
)
def test_widths_that_are_not_understood_are_named(qtbot, qapp, text):
    dialog = film_dialog(qtbot, FULL)
    dialog.offers.setText(text)
    dialog.accept()
    assert dialog.problem.text().startswith("Other widths")


def test_the_films_own_width_has_its_price_above(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.offers.setText("1520 at 99; 760 at 6")
    dialog.accept()
    assert dialog.problem.text().startswith("Other widths: 1520 mm is the roll width")


def test_a_price_that_is_no_number_is_told_in_plain_words(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.price.setText("2000000")
    dialog.accept()
    said = dialog.problem.text()
    assert said.startswith("Price per metre: A number from 0 to 1,000,000 is needed. Write")


def test_an_unused_edge_that_leaves_nothing_of_the_roll_is_refused(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.margin.setText("800")
    dialog.accept()
    assert dialog.problem.text().startswith("Unused edge: It leaves nothing")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("12", "is no stretch"),
        ("300-200", "ends where it starts"),
        ("1-2 x 3-4 x 5-6", "not understood"),
        ("1-2 across 5-edge; 7", "is no stretch"),
        ("9000-9100", "lies beyond the film: it is 4200 mm long. Measure"),
        ("4000-4300", "4200 mm at most"),
        ("1-2 across 0-9999", "it is 1370 mm wide"),
    ],
)
def test_damage_that_is_not_understood_is_named_by_its_row(qtbot, qapp, text, told):
    dialog = film_dialog(qtbot, FULL)
    dialog.stock.table.item(0, DAMAGE).setText(text)
    dialog.accept()
    assert dialog.problem.text().startswith("Stock, row 1")
    assert told in dialog.problem.text()


def test_an_offcut_takes_the_outline_of_a_panel_and_gives_it_back(qtbot, qapp):
    dialog = film_dialog(qtbot, replace(FULL, stock=()))
    table = dialog.stock
    table.add_offcut()
    table.give_shape("p2")
    assert table.table.item(0, KIND).text() == "Shaped offcut"
    (offcut,) = table.read()
    assert isinstance(offcut, Offcut)
    assert (offcut.length_mm, offcut.width_mm) == (200.0, 100.0)
    assert offcut.outline is not None
    assert sorted(offcut.outline) == [(0, 0), (0, 100), (200, 0), (200, 100)]
    table.give_shape(None)
    assert table.read()[0].outline is None


def test_the_menu_of_shapes_names_the_panels(qtbot, qapp):
    dialog = film_dialog(qtbot, FULL)
    dialog.stock.table.setCurrentCell(1, LENGTH)
    dialog.stock.shapes.aboutToShow.emit()
    texts = [a.text() for a in dialog.stock.shapes.actions() if a.text()]
    names = [f"Like the panel {p.name}" for p in JOB.panels]
    assert texts == ["Plain rectangle", *names]
    dialog.stock.shapes.actions()[-1].trigger()
    assert dialog.stock.read()[1].length_mm == 200.0


def test_a_roll_is_opened_by_its_button_and_widened_in_its_field(qtbot, qapp):
    dialog = film_dialog(qtbot, replace(FULL, stock=(Roll(id="r50", length_mm=900.0),)))
    table = dialog.stock
    assert not table.opened.isChecked()
    table.opened.click()
    assert table.table.item(0, KIND).text() == "Opened roll"
    table.table.item(0, WIDTH).setText("1 m")
    assert table.read() == (Roll(id="r50", length_mm=900.0, width_mm=1000.0, is_opened=True),)
    table.table.item(0, WIDTH).setText("")
    assert table.read()[0].width_mm is None


# The job's settings


def settings_dialog(qtbot, job=JOB) -> JobSettingsDialog:
    dialog = JobSettingsDialog(job, None)
    qtbot.addWidget(dialog)
    return dialog


@pytest.mark.parametrize(("row", "grip"), [(0, 100.0), (1, 50.0), (2, 25.0)])
def test_experience_sets_the_grip(qtbot, qapp, row, grip):
    dialog = settings_dialog(qtbot)
    dialog.experience.setCurrentIndex(row)
    dialog.experience.activated.emit(row)
    dialog.accept()
    assert dialog.job.settings.grip_mm == grip


def test_a_grip_of_ones_own_is_told_as_such(qtbot, qapp):
    dialog = settings_dialog(qtbot)
    assert dialog.experience.currentIndex() == 0
    dialog.grip.setText("70")
    dialog.grip.textEdited.emit("70")
    assert dialog.experience.currentText() == "With a grip of your own"
    dialog.accept()
    assert dialog.job.settings.grip_mm == 70.0


def test_the_rule_of_thumb_for_a_first_timer():
    # 750 x 800 mm with 100 mm a side is cut 950 x 1000 mm (common practice, no source).
    spec = CutSpec(
        is_blank=True,
        inside_radius_mm=0.0,
        grip_mm=100.0,
        blank_step_mm=5.0,
        grain_deg=0.0,
        tick_spacing_mm=250.0,
    )
    x0, y0, x1, y1 = blank_around(box(0, 0, 750, 800), spec).bounds
    assert (x1 - x0, y1 - y0) == (950.0, 1000.0)


def test_the_machines_waste_and_feed_are_set(qtbot, qapp):
    dialog = settings_dialog(qtbot)
    dialog.lead.setText("60")
    dialog.trail.setText("9 cm")
    dialog.feed.setText("5 m")
    dialog.tape.setText("1,20")
    dialog.keep.setText("200")
    dialog.hard_tries.setValue(3)
    dialog.accept()
    own = dialog.job.settings
    assert (own.lead_mm, own.trail_mm, own.longest_feed_mm) == (60.0, 90.0, 5000.0)
    assert (own.tape_price_per_m, own.keep_from_mm, own.hard_tries) == (1.2, 200.0, 3)


def test_an_empty_feed_is_any_length(qtbot, qapp):
    job = replace(JOB, settings=replace(JOB.settings, longest_feed_mm=3000.0))
    dialog = settings_dialog(qtbot, job)
    dialog.feed.setText("")
    dialog.accept()
    assert dialog.job.settings.longest_feed_mm is None


# Single pieces


@pytest.fixture
def stocked(window, qtbot):
    """The window with a roll and an offcut in its base film, and a piece of it selected."""
    session = window.session
    job = session.job
    piece = session.plan.pieces[0]
    film = job.film(piece.film)
    stock = (
        Roll(id="r50", length_mm=4000.0),
        Offcut(id="k50", length_mm=900.0, width_mm=900.0),
    )
    films = tuple(replace(f, stock=stock) if f is film else f for f in job.films)
    session.do("Stock", replace(job, films=films))
    session.select(Selection("piece", (piece.id,), None))
    qtbot.waitUntil(lambda: session.are_rolls_current)
    return window, str(piece.id)


def choice(window, piece):
    session = window.session
    return session.job.variant(session.variant).choice(piece)


def test_tries_of_a_piece_are_set_and_undone(stocked):
    window, piece = stocked
    rows = window.selected.editor.cut_from
    rows.tries.setValue(3)
    assert choice(window, piece).tries == 3
    assert [p.tries for p in window.session.plan.pieces if p.id == piece] == [3]
    window.session.undo()
    assert choice(window, piece).tries is None


def test_a_piece_is_pinned_to_a_roll_and_let_go(stocked, qtbot):
    window, piece = stocked
    window.selected.editor.cut_from.sheet.pick("r50")
    assert choice(window, piece).pins == (Pin(stock="r50"),)
    assert window.session.undo_text.startswith("Pin ")
    qtbot.waitUntil(lambda: window.session.are_rolls_current)
    laid = {
        p.item.piece: s.sheet.id
        for f in window.session.rolls.rolls.films
        for s in f.sheets
        for p in s.placements
    }
    assert laid[piece] == "r50"
    window.selected.refresh()
    window.selected.editor.cut_from.sheet.pick(None)
    assert choice(window, piece).pins == ()


def test_a_piece_is_kept_off_an_offcut_and_allowed_again(stocked):
    window, piece = stocked
    for expected in (("k50",), ()):
        menu = window.selected.editor.cut_from.barred.menu()
        next(a for a in menu.actions() if a.text().startswith("k50")).trigger()
        window.selected.refresh()
        assert choice(window, piece).forbidden == expected


def test_a_pin_at_a_place_is_told(stocked):
    window, piece = stocked
    session = window.session
    pin = Pin(stock="r50", place=Place(angle_deg=0.0, dx_mm=50.0, dy_mm=50.0))
    session.do("Pin", pin_piece(session.job, session.variant, piece, pin))
    window.selected.refresh()
    sheet = window.selected.editor.cut_from.sheet
    assert sheet.currentText().startswith("r50")
    assert "Pinned to its place" in sheet.toolTip()


def test_a_panels_difficulty_gives_its_tries(window):
    window.session.select(Selection("panel", ("p1",), "p1"))
    editor = window.selected.editor
    editor.difficulty.pick(Difficulty.HARD)
    assert window.session.job.panel("p1").difficulty is Difficulty.HARD
    assert {p.tries for p in window.session.plan.panels[0].pieces} == {2}
    window.selected.refresh()
    assert editor.tries.specialValueText() == "2, as the job"
    window.session.undo()
    assert math.isclose(window.session.plan.panels[0].pieces[0].tries, 1)

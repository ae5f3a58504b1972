"""The buying window, the shelf and film that is cut, in a real window."""

from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton

from app.buying.words import choice_text, film_text, sum_text, total_text
from app.dialogs.finish import FinishDialog
from app.dialogs.shelf import ShelfDialog
from app.money_text import money_text
from core.document.edits.films import choose_width, replace_film
from core.document.film import Offcut, Offer, Roll
from core.document.shelf import change_on_shelf, put_on_shelf
from core.document.shelf_file import ShelfFile, new_key
from core.errors import EditRefused
from core.roll.buying import BuyingList, FilmBuying, WidthChoice
from core.units import Units
from helpers.jobs import job_with, rect_panel


@pytest.fixture
def priced(window, qtbot):
    """The window with a price, and a narrower width that is cheaper, for the base film."""
    session = window.session
    film = session.job.film(session.plan.pieces[0].film)
    film = replace(
        film, price_per_m=20.0, offers=(Offer(width_mm=760.0, price_per_m=2.0),), stock=()
    )
    session.do("Prices", replace(replace_film(session.job, film), currency="€"))
    qtbot.waitUntil(lambda: session.are_rolls_current)
    return window, film


@pytest.fixture
def buying(priced, qtbot):
    window, film = priced
    view = window.stock.show_buying()
    qtbot.waitUntil(lambda: view.keeper.money is not None)
    return window, view, film


def test_it_shows_what_is_to_be_bought(buying):
    _, view, film = buying
    money = view.keeper.money
    own = next(f for f in money.buying.films if f.film == film.id)
    assert view.total.text() == f"{money.buying.price:.2f} € to buy"
    assert own.cheapest.width_mm == 760.0
    assert "less at the cheapest widths" in view.saving.text()
    assert len(view.cards) == len(money.buying.films)
    assert view.table.item(view.table.rowCount() - 1, 0).text() == "Whole job"


def test_a_width_is_laid_out_by_its_button_and_undone(buying, qtbot):
    window, view, film = buying
    buttons = [b for card in view.cards for b in card.findChildren(QPushButton)]
    (lay_out,) = buttons
    lay_out.click()
    assert window.session.job.film(film.id).roll_width_mm == 760.0
    qtbot.waitUntil(lambda: view.keeper.money.plan is window.session.plan, timeout=15000)
    window.session.undo()
    assert window.session.job.film(film.id).roll_width_mm == film.roll_width_mm


def test_every_width_is_packed_and_taken_as_packed(buying, qtbot, monkeypatch):
    window, view, film = buying
    monkeypatch.setattr(
        "core.roll.width_search.tightened",
        lambda _, start, __, tell: (tell(start), (start, ()))[1],
    )
    view.pack_row.pack.click()
    assert not view.pack_row.stop.isHidden()
    qtbot.waitUntil(lambda: not view.packing.is_running and not view.keeper.is_busy)
    own = next(f for f in view.keeper.money.buying.films if f.film == film.id)
    assert own.is_packed
    labels = [label.text() for card in view.cards for label in card.findChildren(QLabel)]
    assert "Compared as each width was packed" in labels
    (lay_out,) = (b for card in view.cards for b in card.findChildren(QPushButton))
    lay_out.click()
    assert [nest.film for nest in window.session.job.nests] == [film.id]
    window.session.undo()
    assert window.session.job.nests == ()


def test_a_search_over_the_widths_ends_when_the_plan_changes(buying, qtbot, monkeypatch):
    window, view, film = buying

    def endless(_problem, start, clock, tell):
        tell(start)
        while not clock.is_cancelled():
            pass
        return start, ()

    monkeypatch.setattr("core.roll.width_search.tightened", endless)
    view.pack_row.pack.click()
    qtbot.waitUntil(lambda: view.packing.share >= 0.0 and "to buy so far" in view.packing.words)
    window.session.do(
        "Thin", replace_film(window.session.job, replace(film, buy_step_mm=100.0))
    )
    qtbot.waitUntil(lambda: not view.packing.is_running)
    assert view.keeper.packed == {}


def test_a_click_on_a_film_shows_its_curve(buying, qtbot):
    _, view, _ = buying
    last = view.cards[-1]
    qtbot.mouseClick(last, Qt.MouseButton.LeftButton)
    name = view.keeper.money.buying.films[-1].name
    assert view._curve_title.text() == f"Film against retakes: {name}"
    assert "retakes" in view.curve.accessibleDescription()
    assert not view.grab().isNull()


def test_it_leaves_off_when_it_is_closed(buying):
    window, view, _ = buying
    view.close()
    before = view.keeper.money
    window.session.show_rolls(window.session.rolls)
    assert not view.keeper.is_busy
    assert view.keeper.money is before


def test_an_empty_job_says_so(blank_window, qtbot):
    view = blank_window.stock.show_buying()
    assert view.total.text() == "Nothing to buy"
    assert view.saving.text() == "There is no panel yet"
    assert not view.curve.grab().isNull()


def test_actions_say_why_they_cannot_be_done(blank_window):
    actions = blank_window.actions_by_id
    assert not actions["film_to_buy"].isEnabled()
    assert "no panel" in actions["film_to_buy"].toolTip()
    assert not actions["film_cut"].isEnabled()


def choice(**kw: object) -> WidthChoice:
    fields = {"width_mm": 1520.0, "price_per_m": 20.0, "needed_mm": 4210.0, "price": 90.0}
    fields |= {"bought_mm": 4500.0, "left_mm": 290.0, "is_current": True, "at_once_price": 90.0}
    return WidthChoice(**{**fields, **kw})


def test_words():
    assert choice_text(choice(), Units.MM) == "buy 4.50 m, leaves 0.29 m"
    assert choice_text(choice(needed_mm=None), Units.MM) == "too narrow for a piece"
    assert choice_text(choice(needed_mm=0.0, bought_mm=0.0), Units.MM) == "nothing to buy"
    film = FilmBuying(
        "f1", "Fjord", (4200.0,), (5600.0,), 3000.0, 2, (choice(),), (), is_stuck=False
    )
    assert film_text(film, Units.MM) == (
        "Job 4.20 m; with retakes 5.60 m · 3.00 m on rolls in stock, 2 offcuts used"
    )
    bare = FilmBuying("f1", "Fjord", (), (), 0.0, 1, (choice(),), (), is_stuck=False)
    assert film_text(bare, Units.MM) == "From offcuts alone"
    assert money_text(1234.5, "€") == "1,234.50 €"
    assert total_text(BuyingList((), "€"), Units.MM) == "No piece lies on a film yet"
    assert (
        total_text(BuyingList((film,), "€"), Units.MM) == "No other width on offer is cheaper"
    )


def test_the_sum_leaves_out_what_cannot_be_made_and_says_the_way_out():
    narrow = choice(width_mm=610.0, needed_mm=None)
    wide = choice(width_mm=1220.0, is_current=False)
    film = FilmBuying("f1", "Fjord", (), (), 0.0, 0, (narrow, wide), (), is_stuck=True)
    buying = BuyingList((film,), "EUR")
    assert sum_text(buying) == "0.00 EUR to buy, without Fjord"
    assert total_text(buying, Units.MM) == "Fjord: 1220 mm takes every piece for 90.00 EUR."


# The edit


def test_rolls_in_stock_keep_their_width_when_another_is_bought():
    job = job_with([rect_panel("p1", 600, 300)])
    film = replace(
        job.films[0],
        price_per_m=20.0,
        offers=(Offer(width_mm=1000.0, price_per_m=12.0),),
        stock=(Roll(id="r50", length_mm=900.0),),
    )
    old = film.roll_width_mm
    wide = choose_width(replace_film(job, film), film.id, 1000.0).film(film.id)
    assert (wide.roll_width_mm, wide.price_per_m) == (1000.0, 12.0)
    assert wide.offers == (Offer(width_mm=old, price_per_m=20.0),)
    assert wide.stock[0].width_mm == old
    with pytest.raises(EditRefused, match="not on offer"):
        choose_width(job, film.id, 333.0)


# The shelf


@pytest.fixture
def shelf(priced, tmp_path):
    window, film = priced
    file = ShelfFile(tmp_path / "shelf.json")
    for stock in (
        Roll(id="r1", length_mm=6000.0, is_opened=True),
        Offcut(id="k1", length_mm=500.0, width_mm=400.0),
    ):
        file.change(lambda s, stock=stock: put_on_shelf(s, film, stock, new_key()))
    return window, film, file


def dialog_of(qtbot, window, film, file: ShelfFile) -> ShelfDialog:
    dialog = ShelfDialog(window.session, file, None)
    qtbot.addWidget(dialog)
    dialog.film.setCurrentIndex(dialog.film.findData(film.id))
    return dialog


def test_film_is_taken_from_the_shelf_and_put_back(qtbot, shelf):
    window, film, file = shelf
    dialog = dialog_of(qtbot, window, film, file)
    assert not dialog.take.isEnabled()
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.take.click()
    (roll,) = window.session.job.film(film.id).stock
    assert (roll.length_mm, roll.shelf is not None) == (6000.0, True)
    assert [bool(e.taken_by) for e in file.read().entries] == [True, False]
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    assert not dialog.take.isEnabled()
    dialog.in_job.topLevelItem(0).setSelected(True)
    dialog.back.click()
    assert window.session.job.film(film.id).stock == ()
    assert [bool(e.taken_by) for e in file.read().entries] == [False, False]


def test_the_jobs_own_film_is_put_on_the_shelf_as_taken(qtbot, shelf):
    window, film, file = shelf
    own = replace(film, stock=(Roll(id="r50", length_mm=777.0),))
    window.session.do("Stock", replace_film(window.session.job, own))
    dialog = dialog_of(qtbot, window, film, file)
    dialog.in_job.topLevelItem(0).setSelected(True)
    dialog.put.click()
    assert window.session.job.film(film.id).stock[0].shelf is not None
    last = file.read().entries[-1]
    assert (last.stock.length_mm, last.taken_by) == (777.0, window.session.job.name)
    assert dialog.conflicts.text() == ""


def test_a_conflict_is_shown_and_the_shelf_followed(qtbot, shelf):
    window, film, file = shelf
    dialog = dialog_of(qtbot, window, film, file)
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.take.click()
    entry = file.read().entries[0]
    shorter = Roll(id="r1", length_mm=1500.0, width_mm=1000.0)
    file.change(lambda s: change_on_shelf(s, entry.key, entry.revision, shorter))
    dialog = dialog_of(qtbot, window, film, file)
    assert "on the shelf it is 1.50 m long now, in this job 6.00 m" in dialog.conflicts.text()
    dialog.in_job.topLevelItem(0).setSelected(True)
    assert not dialog.back.isEnabled()
    dialog.follow.click()
    assert window.session.job.film(film.id).stock[0].length_mm == 1500.0
    assert dialog.conflicts.text() == ""


def test_an_opened_job_is_told_that_the_shelf_has_changed(qtbot, shelf, monkeypatch, tmp_path):
    window, film, file = shelf
    session = window.session
    dialog = dialog_of(qtbot, window, film, file)
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.take.click()
    session.save(tmp_path / "taken.lapline")
    entry = file.read().entries[0]
    shorter = Roll(id="r1", length_mm=1500.0, width_mm=1000.0)
    file.change(lambda s: change_on_shelf(s, entry.key, entry.revision, shorter))
    monkeypatch.setenv("LAPLINE_SHELF", str(file.path))
    with qtbot.waitSignal(session.said, check_params_cb=lambda text: "1.50 m" in text):
        session.open(tmp_path / "taken.lapline")


def test_film_is_freed_and_taken_off_the_shelf(qtbot, shelf, monkeypatch):
    window, film, file = shelf
    dialog = dialog_of(qtbot, window, film, file)
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.take.click()
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.free.click()
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    answers = iter((False, True))
    monkeypatch.setattr("app.dialogs.shelf.ask_removal", lambda *_: next(answers))
    dialog.remove.click()
    assert len(file.read().entries) == 2
    dialog.remove.click()
    assert [e.stock.length_mm for e in file.read().entries] == [500.0]


def test_the_shelf_is_looked_at_again_when_the_window_is_come_back_to(qtbot, shelf):
    window, film, file = shelf
    dialog = dialog_of(qtbot, window, film, file)
    other = replace(film, name="Sea foam")
    file.change(lambda s: put_on_shelf(s, other, Roll(id="r1", length_mm=900.0), new_key()))
    dialog.look_again()
    assert dialog.others.text().startswith("Also on the shelf: Sea foam.")
    file.path.write_text("no shelf")
    dialog.look_again()
    assert dialog.on_shelf.topLevelItemCount() == 2


def test_a_change_by_another_window_is_told_and_shown(qtbot, shelf, monkeypatch):
    window, film, file = shelf
    dialog = dialog_of(qtbot, window, film, file)
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    file.change(lambda s: replace(s, entries=s.entries[1:]))
    told = []
    monkeypatch.setattr("app.dialogs.shelf.show_error", lambda e, _: told.append(e.what))
    dialog.take.click()
    assert told == ["It is no longer on the shelf."]
    assert window.session.job.film(film.id).stock == ()
    assert dialog.on_shelf.topLevelItemCount() == 1


# Film is cut


def finish_dialog(qtbot, window, film, file: ShelfFile) -> FinishDialog:
    dialog = FinishDialog(window.session, window.session.rolls, file, None)
    qtbot.addWidget(dialog)
    dialog.film.setCurrentIndex(dialog.film.findData(film.id))
    return dialog


def test_a_cut_film_shortens_its_roll_on_the_shelf(qtbot, shelf):
    window, film, file = shelf
    session = window.session
    first = dialog_of(qtbot, window, film, file)
    first.on_shelf.topLevelItem(0).setSelected(True)
    first.take.click()
    qtbot.waitUntil(lambda: session.are_rolls_current)
    dialog = finish_dialog(qtbot, window, film, file)
    dialog.accept()
    assert dialog.problem.text() == ""
    entry = file.read().entries[0]
    used = next(f for f in session.rolls.rolls.films if f.film == film.id).used_length_mm
    assert entry.stock.length_mm == pytest.approx(6000.0 - used)
    assert entry.taken_by == ""
    session.do(dialog.sentence, dialog.job)
    assert [c.film for c in session.job.cuts] == [film.id]
    again = finish_dialog(qtbot, window, film, file)
    assert "already" in again.was_cut.text()
    again.accept()
    assert "changed on the shelf meanwhile" in again.problem.text()


def test_what_is_not_ticked_is_not_done(qtbot, shelf):
    window, film, file = shelf
    dialog = finish_dialog(qtbot, window, film, file)
    before = file.read()
    for i in range(dialog.list.count()):
        dialog.list.item(i).setCheckState(Qt.CheckState.Unchecked)
    dialog.accept()
    assert file.read() == before
    assert dialog.job is not None


def test_a_broken_shelf_is_told(window, monkeypatch, tmp_path):
    path = Path(tmp_path / "broken.json")
    path.write_text("no shelf")
    monkeypatch.setenv("LAPLINE_SHELF", str(path))
    told = []
    monkeypatch.setattr("app.stock_commands.show_error", lambda e, _: told.append(e.what))
    window.stock.ask_shelf()
    window.stock.ask_cut()
    assert len(told) == 2
    assert path.read_text() == "no shelf"

"""The rolls as a place to work: pieces dragged, turned, pinned, tied; the search's curve."""

from itertools import pairwise

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMenu, QWidget
from shapely.affinity import affine_transform

from app.rolls.menu import fill_menu
from app.rolls.side import RollSide
from core.document.edits.films import replace_film
from core.document.film import Grain, Roll
from core.ids import FilmId
from core.roll.model import FilmRolls, Missing
from core.units import Units


@pytest.fixture
def rolls(qtbot, window):
    """The view of the rolls, large."""
    window.actions_by_id["large_rolls"].trigger()
    qtbot.waitUntil(lambda: bool(window.rolls.view.strips.strips))
    return window.rolls.view


def laid(view, label=None):
    """Return strip and placement of a piece."""
    return next(
        (strip, placement)
        for strip in view.strips.strips
        for placement in strip.sheet.placements
        if label is None or placement.item.label == label
    )


def spot(view, strip, placement):
    inside = placement.item.polygon.representative_point()
    at = affine_transform(inside, placement.matrix)
    return (strip.to_content(at.x, at.y) - view._offset()).toPoint()


def drag(view, start, way, *, is_released=True):
    port, left, none = view.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier(0)
    QTest.mousePress(port, left, none, start)
    QTest.mouseMove(port, start + QPoint(way.x() // 2, way.y() // 2))
    QTest.mouseMove(port, start + way)
    if is_released:
        QTest.mouseRelease(port, left, none, start + way)


def pins(window):
    variant = window.session.job.variant(window.session.variant)
    return {(c.piece, p.attempt): p for c in variant.pieces for p in c.pins}


def settled(qtbot, window):
    qtbot.waitUntil(lambda: window.session.are_rolls_current, timeout=30_000)
    window.rolls.refresh()


def test_a_dragged_piece_is_pinned_and_the_rest_is_laid_around_it(qtbot, window, rolls):
    strip, placement = laid(rolls)
    before = window.session.job
    way = QPoint(round(300 * strip.scale), 0)
    drag(rolls, spot(rolls, strip, placement), way)
    ((key, pin),) = pins(window).items()
    assert key == placement.item.key
    moved_mm = pin.place.dx_mm - placement.dx_mm
    assert moved_mm == pytest.approx(way.x() / strip.scale, abs=8 / strip.scale)
    assert rolls.hand.held is not None  # shown there until the rest is laid
    qtbot.waitUntil(lambda: rolls.hand.held is None, timeout=30_000)
    _, now = next(
        (s, p) for s in rolls.strips.strips for p in s.sheet.placements if p.item.key == key
    )
    assert (now.dx_mm, now.dy_mm) == pytest.approx((pin.place.dx_mm, pin.place.dy_mm))
    assert key in rolls.hand.pinned
    window.session.undo()
    assert window.session.job == before


def test_esc_puts_a_piece_back(window, rolls):
    strip, placement = laid(rolls)
    before = window.session.job
    drag(rolls, spot(rolls, strip, placement), QPoint(60, 0), is_released=False)
    assert rolls.hand.is_dragging
    QTest.keyClick(rolls, Qt.Key.Key_Escape)
    assert rolls.hand.held is None
    QTest.mouseRelease(rolls.viewport(), Qt.MouseButton.LeftButton)
    assert window.session.job is before


def test_off_the_film_it_is_marked_and_goes_back(qtbot, window, rolls):
    strip, placement = laid(rolls)
    drag(rolls, spot(rolls, strip, placement), QPoint(0, -2000), is_released=False)
    assert rolls.hand.held.touch.is_off_film
    with qtbot.waitSignal(window.session.said) as heard:
        QTest.mouseRelease(rolls.viewport(), Qt.MouseButton.LeftButton)
    assert "usable film" in heard.args[0]
    assert not pins(window)


def test_the_roll_of_another_film_says_why_it_does_not_take_a_piece(qtbot, window, rolls):
    strip, placement = laid(rolls)
    other = next(s for s in rolls.strips.strips if s.film.id != strip.film.id)
    start = spot(rolls, strip, placement)
    end = (other.rect.center() - rolls._offset()).toPoint()
    drag(rolls, start, end - start, is_released=False)
    with qtbot.waitSignal(window.session.said) as heard:
        QTest.mouseRelease(
            rolls.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier(0), end
        )
    assert strip.film.name in heard.args[0]
    assert other.film.name in heard.args[0]
    assert not pins(window)
    assert rolls.hand.held is None


def test_a_pinned_piece_gives_no_room(qtbot, window, rolls):
    strip, first = laid(rolls)
    drag(rolls, spot(rolls, strip, first), QPoint(2, 0), is_released=False)
    rolls._drop()
    rolls.hand.choose(first.item.key)
    rolls.hand.pin_or_let_go()
    settled(qtbot, window)
    strip, first = next(
        (s, p) for s in rolls.strips.strips for p in s.sheet.placements
        if p.item.key == first.item.key
    )  # fmt: skip
    other = next(p for p in strip.sheet.placements if p.item.key != first.item.key)
    start, end = spot(rolls, strip, other), spot(rolls, strip, first)
    drag(rolls, start, end - start, is_released=False)
    assert rolls.hand.held.touch.pinned == (first.item.key,)
    QTest.mouseRelease(rolls.viewport(), Qt.MouseButton.LeftButton)
    assert set(pins(window)) == {first.item.key}


def test_keys_move_turn_pin_and_let_go(qtbot, window, rolls):
    strip, placement = laid(rolls)
    QTest.mouseClick(
        rolls.viewport(), Qt.MouseButton.LeftButton, pos=spot(rolls, strip, placement)
    )
    rolls.setFocus()
    QTest.keyClick(rolls, Qt.Key.Key_K)
    key = placement.item.key
    assert pins(window)[key].place.dx_mm == pytest.approx(placement.dx_mm)
    for _ in range(3):
        QTest.keyClick(rolls, Qt.Key.Key_Right)
    assert pins(window)[key].place.dx_mm == pytest.approx(placement.dx_mm + 3)
    settled(qtbot, window)
    window.session.undo()  # the three are one step
    assert pins(window)[key].place.dx_mm == pytest.approx(placement.dx_mm)
    window.session.redo()
    QTest.keyClick(rolls, Qt.Key.Key_Comma)
    turn = pins(window)[key].place.angle_deg - placement.angle_deg
    assert turn % 360 == pytest.approx(1.0)
    QTest.keyClick(rolls, Qt.Key.Key_K)
    assert not pins(window)


def test_grain_keeps_a_piece_from_other_turns(qtbot, window, rolls):
    strip, placement = laid(rolls)
    film = window.session.job.film(strip.film.id)
    one_way = replace(film, grain=Grain.ONE_WAY)
    window.session.do("Grain", replace_film(window.session.job, one_way))
    settled(qtbot, window)
    rolls.refresh()
    rolls.hand.choose(placement.item.key)
    with qtbot.waitSignal(window.session.said) as heard:
        rolls.hand.turn(90)
    assert "grain" in heard.args[0]
    assert not pins(window)


def test_the_menu_ties_forbids_and_allows(qtbot, window, rolls):
    strip, placement = laid(rolls)
    menu = QMenu()
    qtbot.addWidget(menu)
    fill_menu(menu, window.session, rolls.hand, strip, placement)
    words = {a.text(): a for a in menu.actions()}
    sheet = str(strip.sheet.sheet.id)
    name = "film to buy" if sheet == "buy" else sheet
    ties, bars = (words[w].menu().actions() for w in ("Cut it from", "Keep it off"))
    told = [a.text() for a in ties]
    assert [a.text() for a in bars] == told
    assert len(told) == len(strip.film.stock) + 1
    assert all(" × " in t or t == "film to buy, 1520 mm wide" for t in told)
    next(a for a in ties if a.text().startswith(name)).trigger()
    assert pins(window)[placement.item.key].place is None
    assert placement.item.key in rolls.hand.tied
    window.session.undo()
    next(a for a in bars if a.text().startswith(name)).trigger()
    choice = window.session.job.variant(window.session.variant).choice(placement.item.piece)
    assert choice.forbidden == (sheet,)
    menu.clear()
    fill_menu(menu, window.session, rolls.hand, strip, placement)
    next(a for a in menu.actions() if a.text() == f"Allow it on {name} again").trigger()
    assert (
        not window.session.job.variant(window.session.variant)
        .choice(placement.item.piece)
        .forbidden
    )


def test_the_search_draws_its_curve(qtbot, window, rolls):
    side = window.rolls.side
    assert side.isHidden()
    window.tightening.start(0.5)
    qtbot.waitUntil(lambda: not window.tightening.is_running, timeout=30_000)
    window.rolls.refresh()
    assert not side.isHidden()
    lengths = [length for _, length in window.tightening.found]
    assert lengths == sorted(lengths, reverse=True)
    points = side.curve._points(side.curve.rect().toRectF())
    assert len(points) == 2 * len(lengths) + 1
    assert all(a.x() <= b.x() for a, b in pairwise(points))


def test_what_found_no_room_is_listed_with_its_reason(qtbot, qapp):
    host = QWidget()
    qtbot.addWidget(host)
    side = RollSide()
    side.setParent(host)
    side.show_search((), 0, Units.MM)
    side.show_missing([FilmRolls(FilmId("f1"), (), (Missing("Lid is 570 mm wide."),))])
    assert side.missing.text() == "Lid is 570 mm wide."
    assert not side.isHidden()
    side.show_missing([])
    assert side.isHidden()


def test_rolls_large_and_back(window, rolls):
    whole = window._splitters["whole"]
    large = whole.sizes()[1]
    window.actions_by_id["large_rolls"].trigger()
    assert whole.sizes()[1] < large


def test_a_piece_can_be_dragged_to_another_sheet_of_its_film(qtbot, window, rolls):
    strip, placement = laid(rolls)
    others = [
        s for s in rolls.strips.strips
        if s.film.id == strip.film.id and s.sheet is not strip.sheet
    ]  # fmt: skip
    if not others:
        film = window.session.job.film(strip.film.id)
        more = replace(film, stock=(*film.stock, Roll(id="r77", length_mm=3000.0)))
        window.session.do("More stock", replace_film(window.session.job, more))
        settled(qtbot, window)
        rolls.refresh()
        strip, placement = laid(rolls, placement.item.label)
        others = [s for s in rolls.strips.strips if not s.sheet.placements]
    other = others[0]
    x0, y0, x1, y1 = placement.polygon.bounds
    middle = other.to_content(15 + (x1 - x0) / 2, 15 + (y1 - y0) / 2) - rolls._offset()
    start = QPointF(spot(rolls, strip, placement))
    grip = strip.to_sheet(start + rolls._offset()) - QPointF((x0 + x1) / 2, (y0 + y1) / 2)
    end = middle + QPointF(grip.x(), -grip.y()) * other.scale
    drag(rolls, start.toPoint(), (end - start).toPoint(), is_released=False)
    assert rolls.hand.held.sheet == other.sheet.sheet.id


def test_large_rolls_take_the_room_there_is_and_zooming_in_never_shrinks_them(window, rolls):
    window.resize(1920, 1080)
    rolls.refresh()
    port = rolls.viewport()
    assert rolls.strips.size.x() <= port.width()
    assert rolls.strips.size.y() <= port.height()
    heights = [rolls.strips.strips[0].rect.height()]
    assert heights[0] > 240, "higher than in a small pane"
    for _ in range(6):
        rolls._zoom *= 1.2
        rolls.refresh()
        heights.append(rolls.strips.strips[0].rect.height())
    assert all(b > a for a, b in pairwise(heights))


def test_the_status_line_tells_of_the_rolls_while_they_have_the_keyboard(qtbot, window, rolls):
    rolls.setFocus()
    qtbot.waitUntil(lambda: "K pins" in window.status._hint)
    window.canvas.setFocus()
    qtbot.waitUntil(lambda: window.status._hint == window.canvas.hint)


def test_undo_names_what_was_done(window, rolls):
    _, placement = laid(rolls)
    rolls.hand.choose(placement.item.key)
    for deed, word in (
        (rolls.hand.pin_or_let_go, "Pin"),
        (lambda: rolls.hand.nudge(1, 0), "Move"),
        (lambda: rolls.hand.turn(90), "Turn"),
        (rolls.hand.pin_or_let_go, "Let go of"),
    ):
        deed()
        assert window.session.undo_text == f"{word} {placement.item.label}"

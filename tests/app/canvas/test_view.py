"""Moving and zooming, what is rebuilt, and menus."""

import numpy as np
import pytest
from msgspec import structs
from PySide6.QtCore import QPointF, Qt

from app.canvas.gestures.base import Pointer
from app.canvas.items.films import FilmsItem
from app.canvas.menus import build_menu
from app.selection import Selection
from app.theme import DARK
from core.document.edits.lines import find_line
from core.document.lines import Side
from helpers.mouse import ALT, MIDDLE


def test_wheel_zooms_about_the_point_under_the_pointer(view, hand):
    px = view.px_of((500.0, 120.0))
    at = view.mm_of(QPointF(px))
    scale = view.transform().m11()
    for notches in (1, 1, 3, -2, 4):
        hand.wheel(view.mm_of(QPointF(px)), notches)
        now = view.px_of(at)
        assert abs(now.x() - px.x()) <= 1
        assert abs(now.y() - px.y()) <= 1
    assert view.transform().m11() == pytest.approx(scale * 1.2**7)


def test_middle_drag_moves_the_canvas_with_the_pointer(view, hand):
    start = view.px_of((300, 150))
    hand.drag((300, 150), (340, 170), button=MIDDLE, steps=1)
    target = view.px_of((300, 150)) - start
    moved = QPointF(target).manhattanLength()
    assert moved == pytest.approx(60 * view.transform().m11(), abs=2)


def test_space_drag_moves_the_canvas_and_no_panel(session, view, hand, qtbot):
    before = session.job
    start = view.px_of((300, 150))
    qtbot.keyPress(view, Qt.Key.Key_Space)
    hand.drag((300, 150), (340, 150), steps=1)
    qtbot.keyRelease(view, Qt.Key.Key_Space)
    assert view.px_of((300, 150)).x() > start.x()
    assert session.job is before


def test_fit_brings_all_panels_into_sight(view, hand):
    view.show_place("p2", 100, 100)
    view.zoom_by(20)
    hand.key(Qt.Key.Key_F)
    for at in ((0, 0), (600, 300), (900, 300)):
        assert view.viewport().rect().contains(view.px_of(at))


def test_show_place_centres_a_place_of_a_panel(view):
    view.show_place("p2", 50, 50)
    centre = view.viewport().rect().center()
    off = view.px_of((750, 50)) - centre
    assert abs(off.x()) <= 1
    assert abs(off.y()) <= 1


def test_y_runs_up(view):
    assert view.px_of((0, 300)).y() < view.px_of((0, 0)).y()


def test_only_the_changed_panel_is_rebuilt(session, view, hand):
    scene = view.canvas_scene
    builds = scene.builds_of("p1"), scene.builds_of("p2")
    session.select(Selection("line", ("s1",), "p1"))
    hand.drag((200, 300), (260, 300))
    assert scene.builds_of("p1") > builds[0]
    assert scene.builds_of("p2") == builds[1]


def test_moving_a_panel_leaves_the_others_alone(session, view, hand):
    scene = view.canvas_scene
    builds = scene.builds_of("p1")
    hand.drag((800, 150), (830, 170))
    assert scene.builds_of("p1") == builds


def test_a_panel_that_cannot_be_planned_is_still_shown_and_can_be_mended(session, view, hand):
    session.select(Selection("panel", ("p2",), "p2"))
    hand.drag((900, 300), (800, -40), ALT)
    assert session.plan.is_stopped
    view.zoom_to_fit()
    x, y = next(n.at for n in session.job.panel("p2").outline if n.id == "n3")
    hand.drag((700 + x, y), (900, 300), ALT)
    assert not session.plan.is_stopped


def test_a_recoloured_film_is_shown(session, view):
    films = tuple(structs.replace(f, colour="#ff00ff") for f in session.job.films)
    session.do("Recolour", structs.replace(session.job, films=films))
    px = view.px_of((100, 100))
    assert view.grab().toImage().pixelColor(px).name() == "#ff00ff"


def test_dark_ground(view):
    view.set_theme(DARK)
    assert view.grab().toImage().pixelColor(view.px_of((650, 150))).name() == DARK.canvas


def test_hidden_film_shows_as_hatch_on_the_side_that_lies_on_top(session, view):
    view.show_place("p1", 200, 100)
    view.zoom_by(8)
    image = view.grab().toImage()
    stretch = next(s for s in session.plan.panels[0].stretches if s.line == "s1")
    sign = -1 if stretch.top_side is Side.LEFT else 1

    def colours(x):
        return {image.pixelColor(view.px_of((x, 80 + i))).name() for i in range(20)}

    assert len(colours(200 + sign * stretch.lap_mm / 2)) > 1
    assert len(colours(200 + sign * (stretch.lap_mm + 8))) == 1


def _menu(view, at):
    pointer = Pointer(at, QPointF(view.px_of(at)))
    return build_menu(view, view.desk, view._select, pointer, ask=lambda *_: "1,2 cm")


def _choose(menu, words):
    action = next(a for a in menu.actions() if a.text().startswith(words))
    action.trigger()


def test_menu_of_a_line_flips_sets_the_lap_and_reverses(session, view):
    menu = _menu(view, (200, 100))
    _choose(menu, "Flip")
    _choose(menu, "Lap width")
    line = find_line(session.job, "v1", "s1")[1]
    assert line.rule.on_top is Side.LEFT
    assert line.rule.lap_mm == 12
    _choose(menu, "Reverse")
    turned = find_line(session.job, "v1", "s1")[1]
    assert turned.nodes[0].at == (200, 300)
    assert turned.rule.on_top is Side.RIGHT


def test_menu_of_a_region_colours_it(session, view):
    menu = _menu(view, (100, 100))
    films = next(a.menu() for a in menu.actions() if a.text() == "Colour with film")
    _choose(films, "Film f2")
    assert {s.film for s in session.job.scheme("v1", "p1").spots} == {"f2", "f3"}


def test_menu_of_a_node_makes_it_smooth(session, view):
    session.select(Selection("panel", ("p2",), "p2"))
    _choose(_menu(view, (700, 0)), "Make it smooth")
    assert session.job.panel("p2").outline[0].smooth


def test_menu_of_a_rim_inserts_a_node_into_the_ring_that_is_there(session, view):
    _choose(_menu(view, (479, 121)), "Insert a node here")
    assert len(session.job.panel("p1").openings[0].nodes) == 5
    assert len(session.job.panel("p1").outline) == 4


def test_the_menu_over_the_empty_canvas_has_nothing_of_its_own(view):
    assert _menu(view, (650, 150)).isEmpty()


def test_pin_of_a_finding_selects_its_line(session, view, hand):
    view.set_tool("seam")
    hand.click((740, 100))
    hand.click((800, 100))
    hand.key(Qt.Key.Key_Return)
    view.set_tool("select")
    session.select(Selection())
    finding = next(f for f in session.plan.findings if f.lines)
    x, y = finding.where
    hand.click((700 + x, y + 16 * view.desk.px_mm))
    assert session.selection.ids == tuple(finding.lines)


def test_a_click_on_a_name_selects_its_panel(session, view, hand):
    view.grab()
    hand.click((700 + 20 * view.desk.px_mm, -14 * view.desk.px_mm))
    assert session.selection == Selection("panel", ("p2",), "p2")


def test_a_panel_in_work_keeps_its_pixels_until_the_zoom_changes(view, session, hand):
    def painted_alike(within: int) -> bool:
        kept = view.viewport().grab().toImage()
        view.canvas_scene.set_scale(1 / view.transform().m11())
        fresh = view.viewport().grab().toImage()
        a, b = (np.frombuffer(i.constBits(), np.uint8).astype(int) for i in (kept, fresh))
        return bool(abs(a - b).max() <= within)

    session.select(Selection("line", ("s1",), "p1"))
    hand.drag_on((200, 150), (260, 150))
    films = [i for i in view.canvas_scene.items() if isinstance(i, FilmsItem)]
    kept = [i for i in films if i.cacheMode() is FilmsItem.CacheMode.DeviceCoordinateCache]
    assert len(kept) == 1
    # Blending a kept picture rounds once more.
    assert painted_alike(within=3)
    assert kept[0].cacheMode() is FilmsItem.CacheMode.NoCache
    hand.release((260, 150))
    session.undo()
    assert painted_alike(within=3)

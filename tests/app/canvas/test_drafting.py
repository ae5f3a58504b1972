"""Guides, grid, rulers, gaps, measuring: real mouse and key events, each with its undo."""

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QMouseEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.canvas.names import names_with_room
from app.canvas.rulers import RULER_PX, Ruler, tick_steps
from app.theme import LIGHT
from core.document.drafting import Dimension, DimensionEnd, GuideLine
from core.document.edits.drafting import add_dimension, add_guide, ends_of
from core.document.edits.panels import add_panel
from core.units import Units
from helpers.jobs import disc_panel
from helpers.mouse import ALT, LEFT, NONE


def guide_job(job):
    job = add_guide(job, GuideLine(id="h1", way="upright", at_mm=650.0))
    return add_guide(job, GuideLine(id="h2", way="level", at_mm=90.0))


def send(ruler, kind, px, held=LEFT):
    button = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseMove else LEFT
    at = QPointF(px)
    event = QMouseEvent(kind, at, ruler.mapToGlobal(at), button, held, NONE)
    QApplication.sendEvent(ruler, event)


def pull(view, ruler, to):
    """Drag from a ruler to a place of the canvas, as Qt tells the widget that was pressed."""
    send(ruler, QEvent.Type.MouseButtonPress, QPoint(8, 8))
    end = ruler.mapFromGlobal(view.viewport().mapToGlobal(view.px_of(to)))
    for share in (0.5, 1.0):
        send(ruler, QEvent.Type.MouseMove, QPoint(int(end.x() * share), int(end.y() * share)))
    send(ruler, QEvent.Type.MouseButtonRelease, end, Qt.MouseButton.NoButton)


@pytest.fixture
def rulers(view):
    view.set_rulers(shown=True)
    return view.rulers


def test_a_guide_is_pulled_out_of_each_ruler(session, view, rulers):
    before = session.job
    level, upright = rulers
    pull(view, upright, (650, -40))
    pull(view, level, (650, -42))
    assert [(g.way, g.at_mm) for g in session.job.guides] == [("upright", 650), ("level", -42)]
    assert session.undo_text == "Add a guide"
    session.undo()
    session.undo()
    assert session.job is before


def test_a_guide_let_go_on_the_ruler_is_dropped(session, view, rulers):
    before = session.job
    level, _ = rulers
    send(level, QEvent.Type.MouseButtonPress, QPoint(200, 8))
    send(level, QEvent.Type.MouseMove, QPoint(220, 200))
    assert len(session.job.guides) == 1
    send(level, QEvent.Type.MouseMove, QPoint(220, 9))
    send(level, QEvent.Type.MouseButtonRelease, QPoint(220, 9), Qt.MouseButton.NoButton)
    assert session.job is before


def test_a_guide_catches_the_node_it_passes_and_is_moved_and_deleted(session, view, hand):
    session.do("Guides", guide_job(session.job))
    hand.drag((650, -30), (698, -4))
    assert session.job.guide("h1").at_mm == 700
    assert session.undo_text == "Move a guide"
    hand.click((700, -30))
    assert session.selection.kind == "guide"
    hand.key(Qt.Key.Key_Right)
    assert session.job.guide("h1").at_mm == 701
    hand.key(Qt.Key.Key_Delete)
    assert [g.id for g in session.job.guides] == ["h2"]
    session.undo()
    assert len(session.job.guides) == 2


def test_guides_are_caught_and_named_and_alt_suspends(session, view, hand):
    session.do("Guides", guide_job(session.job))
    view.set_tool("seam")
    hand.move((800, 93))
    assert view.canvas_scene.catch.words == "guide"
    hand.move((702, 93))
    assert view.canvas_scene.catch.words == "guide, rim"
    hand.move((800, 93), ALT)
    assert "guide" not in view.canvas_scene.catch.words
    hand.click((702, 93))
    hand.click((898, 94))
    (line,) = session.job.scheme("v1", "p2").seams
    assert [n.at for n in line.nodes] == [pytest.approx((0, 90)), pytest.approx((200, 90))]


def test_the_grid_is_off_until_it_is_wanted(session, view, hand):
    view.set_tool("inlay")
    hand.move((811, 119))
    assert view.canvas_scene.catch.words == ""
    view.set_grid(shown=True)
    hand.move((812, 119))
    assert view.canvas_scene.catch.words == "grid"
    for at in ((751, 51), (849, 51), (801, 149)):
        hand.click(at)
    hand.key(Qt.Key.Key_Return)
    (line,) = session.job.scheme("v1", "p2").inlays
    assert [n.at for n in line.nodes] == [(50, 50), (150, 50), (100, 150)]
    assert not view.grab().isNull()


def test_a_tangent_is_caught_and_named(session, view, hand):
    session.do("Disc", add_panel(session.job, disc_panel("p3", 120, at=(1100.0, 150.0))))
    view.zoom_to_fit()
    view.set_tool("seam")
    hand.click((1100 - 60, 150))
    # From (-240, 0) a tangent would touch at 60 degrees; from inside there is none.
    hand.move((1100 - 100, 150 + 64))
    assert "tangent" not in view.canvas_scene.catch.words
    hand.key(Qt.Key.Key_Escape)


def test_a_tangent_to_an_opening(session, view, hand):
    view.set_tool("seam")
    hand.click((440, 100), ALT)
    # The opening has radius 30 about (500, 100): cos of the angle is 30 / 60.
    hand.move((486, 127))
    assert view.canvas_scene.catch.words.startswith("tangent, opening")
    hand.click((486, 127))
    hand.key(Qt.Key.Key_Return)
    line = session.job.scheme("v1", "p1").seams[-1]
    assert line.nodes[1].at == pytest.approx((485, 125.98), abs=0.5)


def test_gaps_to_neighbours_are_shown_while_a_panel_is_dragged(session, view, hand):
    hand.drag_on((800, 150), (830, 150))
    gaps = view.canvas_scene.gaps.gaps
    assert [g.length_mm for g in gaps] == pytest.approx([130], abs=3)
    hand.release((830, 150))
    assert view.canvas_scene.gaps.gaps == ()


def test_gaps_are_shown_while_a_node_is_dragged(session, view, hand):
    hand.click((200, 100))
    hand.drag_on((200, 300), (150, 280))
    assert len(view.canvas_scene.gaps.gaps) == 4
    hand.key(Qt.Key.Key_Escape)
    assert view.canvas_scene.gaps.gaps == ()


def test_a_panel_comes_in_line_with_another_and_says_so(session, view, hand):
    hand.drag_on((800, 150), (860, 297))
    assert view.canvas_scene.catch.words == "in line with Panel p1"
    hand.release((860, 297))
    # Its middle has come up to the upper edge of the other, which is 300 high.
    assert session.job.panel("p2").at[1] == 150


def test_measuring_between_two_nodes_says_all_and_is_kept(session, view, hand):
    before = session.job
    view.set_tool("measure")
    hand.click((602, 2))
    hand.move((703, 298))
    words = view.canvas_scene.catch.words.splitlines()
    # 100 across and 300 up: the root of 100 000, by Pythagoras.
    assert words == ["node, rim", "316.2 mm  71.6°", "dx 100 mm  dy 300 mm"]
    hand.click((703, 298))
    assert session.job is before
    hand.key(Qt.Key.Key_Return)
    (kept,) = session.job.dimensions
    assert (kept.start.owner, kept.start.node, kept.end.owner, kept.end.node) == (
        "p1",
        "n2",
        "p2",
        "n4",
    )
    assert [d.words for d in view.canvas_scene.dimensions.shown] == ["316.2 mm"]
    assert session.undo_text == "Keep a dimension"
    session.undo()
    assert session.job is before
    assert view.canvas_scene.dimensions.shown == ()


def test_escape_drops_what_was_measured_and_a_third_click_starts_anew(session, view, hand):
    before = session.job
    view.set_tool("measure")
    hand.click((602, 2))
    hand.key(Qt.Key.Key_Return)
    hand.click((703, 298))
    hand.click((2, 298))
    hand.move((2, 2))
    assert view.canvas_scene.measure.shown[0].words == "300 mm"
    hand.key(Qt.Key.Key_Escape)
    assert session.job is before
    assert view.canvas_scene.measure.shown == ()


def kept_dimension(job):
    ends = [
        DimensionEnd(at=(0, 0), panel=p, owner=p, node=n)
        for p, n in (("p1", "n2"), ("p2", "n1"))
    ]
    return add_dimension(job, Dimension(id="d1", start=ends[0], end=ends[1], offset_mm=-40.0))


def test_a_kept_dimension_follows_its_panel_live(session, view, hand):
    session.do("Keep", kept_dimension(session.job))
    hand.drag_on((800, 150), (860, 150))
    assert view.canvas_scene.dimensions.shown[0].words != "100 mm"
    hand.key(Qt.Key.Key_Escape)
    assert view.canvas_scene.dimensions.shown[0].words == "100 mm"


def test_a_dimension_is_selected_moved_off_and_deleted(session, view, hand):
    session.do("Keep", kept_dimension(session.job))
    hand.drag((650, -40), (650, -70))
    assert session.job.dimension("d1").offset_mm == pytest.approx(-70, abs=3)
    assert session.undo_text == "Move a dimension"
    hand.click((650, -70))
    assert session.selection.ids == ("d1",)
    hand.key(Qt.Key.Key_Delete)
    assert session.job.dimensions == ()
    session.undo()
    assert ends_of(session.job, "v1", session.job.dimension("d1")) == ((600, 0), (700, 0))


def test_rulers_follow_pan_and_zoom_and_mark_the_cursor(session, view, hand, rulers):
    level, upright = rulers
    assert level.geometry().height() == RULER_PX
    assert level.geometry().left() == view.viewport().geometry().left()
    before = level.grab().toImage()
    hand.wheel((300, 150), 3)
    assert level.px_mm == pytest.approx(view.desk.px_mm)
    assert level.grab().toImage() != before
    hand.move((300, 150))
    with_mark = upright.grab().toImage()
    hand.move((300, 100))
    assert upright.grab().toImage() != with_mark
    view.set_rulers(shown=False)
    assert not view.has_rulers
    assert view.viewport().geometry().top() == 0


@pytest.mark.parametrize("px_mm", [0.02, 0.1, 0.5, 1, 3, 10, 60])
@pytest.mark.parametrize("units", list(Units))
def test_ruler_labels_have_room_and_ticks_divide_them(px_mm, units):
    label, tick = tick_steps(px_mm, units)
    assert label / px_mm > 30
    assert label / px_mm < 330
    assert label / tick == pytest.approx(round(label / tick))


def test_typed_sizes_are_shown_before_enter(session, view, hand):
    view.set_tool("seam")
    hand.click((704, 153))
    hand.move((780, 170))
    hand.type("8")
    hand.type("0")
    assert "80 mm" in view.canvas_scene.catch.words
    hand.key(Qt.Key.Key_Tab)
    hand.type("9")
    hand.type("0")
    assert view.canvas_scene.catch.words.endswith("80 mm  90°")
    hand.key(Qt.Key.Key_Return)
    hand.key(Qt.Key.Key_Return)
    (line,) = session.job.scheme("v1", "p2").seams
    assert line.nodes[1].at == pytest.approx((0, 230))


def test_a_step_across_and_up_is_typed(session, view, hand):
    view.set_tool("seam")
    hand.click((704, 153))
    hand.move((780, 170))
    hand.type("x")
    hand.type("3 cm")
    hand.key(Qt.Key.Key_Tab)
    hand.type("-40")
    assert "50 mm" in view.canvas_scene.catch.words
    hand.key(Qt.Key.Key_Return)
    hand.key(Qt.Key.Key_Return)
    (line,) = session.job.scheme("v1", "p2").seams
    assert line.nodes[1].at == pytest.approx((30, 110))


def test_typed_widths_of_a_stripe_are_planned_before_enter(session, view, hand):
    view.set_tool("stripe")
    hand.click((704, 153))
    hand.click((896, 148))
    hand.type("6")
    hand.type("6")
    assert session.job.scheme("v1", "p2").stripes[0].start_width_mm == 66
    hand.key(Qt.Key.Key_Escape)
    hand.key(Qt.Key.Key_Escape)
    assert session.job.scheme("v1", "p2").stripes == ()


def test_names_that_would_lie_on_a_neighbour_are_left_out():
    panels = np.array([[0, 0, 100, 50], [0, 60, 100, 110], [120, 0, 200, 50.0]])
    plates = np.array([[0, 52, 90, 70], [0, 112, 150, 130], [120, 55, 200, 72.0]])
    assert names_with_room(panels, plates, [False] * 3) == [False, True, True]
    assert names_with_room(panels, plates, [True, False, False]) == [True, True, True]
    plates[2] = [80, 113, 160, 131]
    assert names_with_room(panels, plates, [False] * 3) == [False, True, False]


def test_names_come_back_when_there_is_room(session, view):
    scene = view.canvas_scene
    names = [g.name for g in scene._groups.values()]
    assert all(n.isVisible() for n in names)
    view.zoom_by(0.05)
    assert not all(n.isVisible() for n in names)
    view.zoom_by(20)
    assert all(n.isVisible() for n in names)


@pytest.mark.parametrize("way", ["level", "upright"])
def test_a_label_that_is_not_seen_whole_is_left_out(qtbot, qapp, way):
    parent = QWidget()
    qtbot.addWidget(parent)

    def ink(tick_px):
        """Count what is drawn where labels are, for one at that place along the ruler."""
        ruler = Ruler(parent, way, lambda p: (p.x() - tick_px, tick_px - p.y()), LIGHT)
        ruler.px_mm = 1.0
        ruler.resize(*((60, RULER_PX) if way == "level" else (RULER_PX, 60)))
        image = ruler.grab().toImage()
        ground = QColor(LIGHT.surface)
        return sum(
            image.pixelColor(*((k, row) if way == "level" else (row, k))) != ground
            for k in range(60)
            for row in range(9)
        )

    whole, cut = (20, 60 - 4) if way == "level" else (40, 6)
    assert ink(whole) > 0
    assert ink(cut) == 0

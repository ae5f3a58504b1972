"""Choosing what of a scan becomes a panel."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest

from app.solid.scan_size import size_doubt
from app.solid.scan_window import CHOSEN, ScanWindow
from app.theme import DARK, LIGHT, current_theme
from core.read.scan import ScanMesh
from helpers.jobs import job_with, rect_panel
from helpers.surfaces import cap, grid

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CONTROL = Qt.KeyboardModifier.ControlModifier

# The offscreen screen has no size hints.
pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)


def lid_with_rim():
    """A flat lid of 200 by 100, square to it a skirt along its front, and a plate apart."""
    flat, net = grid(10, 10)
    lid = np.column_stack([flat[:, 0] * 200, flat[:, 1] * 100, np.full(len(flat), 50.0)])
    skirt = np.column_stack([flat[:, 0] * 200, np.zeros(len(flat)), flat[:, 1] * 50.0])
    apart = lid + np.array([0, 150, 0])
    points = np.vstack([lid, skirt, apart])
    triangles = np.vstack([net, net + len(flat), net + 2 * len(flat)])
    unique, number = np.unique(np.round(points, 6), axis=0, return_inverse=True)
    return unique, number.reshape(-1)[triangles]


@pytest.fixture
def window(qtbot, qapp) -> ScanWindow:
    points, triangles = lid_with_rim()
    job = job_with([rect_panel("p1", 600, 300)])
    window = ScanWindow(ScanMesh(points, triangles), job, "shell.stl", ["2 holes were closed."])
    qtbot.addWidget(window)
    window.resize(1180, 760)
    window.show()
    qtbot.waitExposed(window)
    return window


def px(window, *point):
    at = window.view.camera.project(np.array([point], dtype=float))[0][0]
    return QPoint(round(at[0]), round(at[1]))


def click(window, *point, keys=NONE):
    QTest.mouseClick(window.view, LEFT, keys, px(window, *point))


def test_it_starts_with_all_and_says_what_there_is(window):
    assert window.choice.mask.all()
    assert "600 triangles" in window.form.facts.text()
    assert "250 × 200 × 50 mm" in window.form.facts.text()


def test_up_to_an_edge_takes_the_lid_alone_and_more_can_be_added(window):
    click(window, 100, 50, 50)
    assert window.choice.mask.sum() == 200
    assert "one rim" in window.form.chosen_words.text()
    click(window, 100, 200, 50)
    assert window.choice.mask.sum() == 400
    window.form.way_buttons["shell"].click()
    window.form.takes_away.setChecked(True)
    click(window, 100, 200, 50)
    assert window.choice.mask.sum() == 200
    window.form.back.click()
    assert window.choice.mask.sum() == 400
    QTest.keyClick(window, Qt.Key.Key_Z, CONTROL)
    assert window.choice.mask.sum() == 200


def test_a_lasso_takes_away_with_control(qtbot, window):
    window.form.all.click()
    window.form.way_buttons["lasso"].click()
    a, b, c = px(window, -20, 130, 50), px(window, 220, 130, 50), px(window, 220, 270, 50)
    d = px(window, -20, 270, 50)
    window.form.takes_away.setChecked(True)
    QTest.mousePress(window.view, LEFT, NONE, a)
    for place in (b, c, d):
        QTest.mouseMove(window.view, place)
    QTest.mouseRelease(window.view, LEFT, NONE, d)
    assert window.choice.mask.sum() == 400


def test_other_angles_choose_the_last_click_anew(window):
    click(window, 100, 200, 50)
    click(window, 100, 50, 50)
    assert "added" in window.form.way_words.text()
    window.form.angle.setValue(95)  # over the edge between lid and skirt
    assert window.choice.mask.sum() == 600
    window.form.lean.setValue(80)
    assert window.choice.mask.sum() == 400
    window.form.back.click()
    assert window.choice.mask.sum() == 200
    window.form.angle.setValue(30)
    assert window.choice.mask.sum() == 200


def test_a_unit_that_cannot_be_is_refused_at_once(window):
    window.form.unit.pick(1000.0)
    assert window.form.problem.text() == "250 m wide in metres: is the file in centimetres?"
    window.form.make.click()
    assert window.part is None
    assert not window.form.problem.isHidden()
    window.form.unit.pick(10.0)
    assert window.form.problem.text() == ""


@pytest.mark.parametrize(
    ("size", "factor", "doubt"),
    [
        (670.0, 1000.0, "670 m wide in metres: is the file in millimetres?"),
        (1.4, 1.0, "1.4 mm wide in millimetres: is the file in metres?"),
        (18_000.0, 1.0, ""),
        (40.0, 25.4, ""),
    ],
)
def test_a_size_is_doubted_with_the_likely_unit(size, factor, doubt):
    assert size_doubt(size, factor) == doubt


def test_a_torn_scan_is_warned_of_and_closed_up(qtbot, qapp):
    flat, net = grid(20, 20)
    sheet = np.column_stack([flat * 500, np.zeros(len(flat))])
    middles = sheet[net].mean(axis=1)
    cell = np.floor(middles[:, :2] / 25).astype(int)
    torn = (cell % 2 == 1).all(axis=1)  # holes of 25 by 25, the last ones at the rim
    wide = (np.abs(middles[:, :2] - 250) < 80).all(axis=1)
    job = job_with([])
    window = ScanWindow(ScanMesh(sheet, net[~(torn | wide)]), job, "torn.stl", [])
    qtbot.addWidget(window)
    form, before = window.form, window.choice.mask.sum()
    assert "torn" in form.chosen_words.text()
    form.across.setText("40")
    form.close_up.click()
    qtbot.waitUntil(form.isEnabled)
    assert "one rim, 1 opening" in form.chosen_words.text()
    assert "torn" not in form.chosen_words.text()
    assert window.choice.mask.all()
    assert len(window.choice.mask) > before


def test_lines_over_the_part_are_told_from_it_in_both_looks(window):
    """WCAG 2.2, 1.4.11: at least 3 to 1, for the line or for the one round it."""
    for theme in (LIGHT, DARK):
        best = max(contrast(CHOSEN[theme.is_dark], c) for c in (theme.ink, theme.canvas))
        assert best >= 3.0
    window.form.way_buttons["length"].click()
    click(window, 20, 50, 50)
    click(window, 180, 50, 50)
    theme = current_theme()
    colours = [trace.colour for trace in window.view._traces]
    assert colours[-2:] == [theme.canvas, theme.ink]
    # Between two points of a dome the straight line runs below the film; it is seen anyhow.
    assert all(trace.is_on_top for trace in window.view._traces[-2:])
    assert theme.stop not in colours


def contrast(rgb, name):
    def light(channels):
        parts = [c / 255 for c in channels]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((light(rgb), light(QColor(name).getRgb()[:3])))
    return (high + 0.05) / (low + 0.05)


def test_nothing_chosen_makes_no_panel(window):
    window.form.none.click()
    assert not window.form.make.isEnabled()
    assert "Nothing" in window.form.chosen_words.text()


def test_a_click_on_a_rim_takes_all_that_it_bounds(window):
    window.form.way_buttons["loop"].click()
    click(window, 100, 25, 50)  # far from any rim
    assert window.choice.mask.all()
    click(window, 200, 200, 50)
    assert window.choice.mask.sum() == 200
    assert len(window.choice.loops) == 1


def test_the_other_side_turns_every_triangle_over(window):
    before = window._solid.face_normals
    window.form.other_side.click()
    assert window._solid.face_normals == pytest.approx(-before)
    click(window, 100, 50, 50)
    assert window.choice.mask.sum() == 200


def test_two_points_and_their_true_distance_set_the_scale(window):
    window.form.way_buttons["length"].click()
    click(window, 20, 50, 50)
    click(window, 180, 50, 50)
    window.form.length.setText("32 cm")
    window.form.set_length.click()
    assert "500 × 400 × 100 mm" in window.form.facts.text()
    window.accept()
    assert np.ptp(window.part.mesh.vertices, axis=0) == pytest.approx([400, 500, 100], rel=0.02)


def test_a_scale_without_points_is_refused(window):
    window.form.way_buttons["length"].click()
    window.form.length.setText("100")
    window.form.set_length.click()
    assert "two points" in window.form.problem.text()


def test_the_unit_of_the_file_counts(window):
    window.form.unit.pick(10.0)
    window.form.name.setText("Lid")
    click(window, 100, 50, 50)
    window.form.make.click()
    part = window.part
    assert (part.name, part.film) == ("Lid", "f1")
    assert part.mesh.vertices.max() == pytest.approx(2500)
    assert part.chosen.sum() == 200


def test_a_panel_needs_a_name(window):
    window.form.name.setText(" ")
    window.form.make.click()
    assert window.part is None
    assert "name" in window.form.problem.text()


def test_a_closed_shell_says_that_one_side_is_to_be_chosen(qtbot, qapp):
    points, net = cap(60.0, rings=4)
    both = np.vstack([net, net[:, ::-1]])
    window = ScanWindow(ScanMesh(points, both), job_with([]), "ball.stl", [])
    qtbot.addWidget(window)
    assert "closed" in window.form.chosen_words.text()
    assert not window.form.make.isEnabled()

"""Renders the pictures of docs/editing.md from the program itself, by mouse and keys.

Run from the top of the clone: ``.venv/bin/python docs/render_editing_pictures.py``
"""

import sys
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP), str(TOP / "docs")]

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt  # noqa: E402
from PySide6.QtGui import QMouseEvent  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402
from render_pictures import NO_KEY, PICTURES, click, move, opened, save, settle  # noqa: E402

from app.selection import NOTHING, Selection  # noqa: E402
from app.start import set_up  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.drafting import GuideLine  # noqa: E402
from core.document.edits.drafting import add_guide  # noqa: E402
from core.document.panel import MarkKind  # noqa: E402
from core.ids import PanelId  # noqa: E402

LEFT = Qt.MouseButton.LeftButton
NONE = Qt.MouseButton.NoButton
Place = tuple[float, float]
SIDES = QRectF(-100, -90, 2250, 720)
"""The three panels over which the stripe runs."""


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    for look in ("light", "dark"):
        with opened("library_trike", look) as window:
            render_run(window, folder, look)
        with opened("library_trike", look) as window:
            render_measure(window, folder, look)
        with opened("library_trike", look) as window:
            render_guides(window, folder, look)
        with opened("library_trike", look) as window:
            render_marks(window, folder, look)
        with opened("first_steps", look) as window:
            render_typed(window, folder, look)


def render_run(window: MainWindow, folder: Path, look: str) -> None:
    """A stripe over three panels, selected: one line with its two ends."""
    window.canvas.show_rect(SIDES)
    window.session.select(Selection("line", ("t2",), PanelId("p1")))
    settle(window)
    save(window.canvas.grab(), folder / f"editing-run-{look}.png")


def render_measure(window: MainWindow, folder: Path, look: str) -> None:
    """A kept dimension, and another being measured."""
    window.canvas.show_rect(SIDES)
    window.actions_by_id["tool_measure"].trigger()
    side = window.session.job.panel("p1")
    ends = [(x + side.at[0], y + side.at[1]) for x, y in (n.at for n in side.outline)]
    lower_left = min(ends, key=lambda e: e[0] + e[1])
    lower_right = max(ends, key=lambda e: e[0] - e[1])
    upper_right = max(ends, key=lambda e: e[0] + e[1])
    click(window, lower_left)
    click(window, lower_right)
    QTest.keyClick(window.canvas, Qt.Key.Key_Return)
    window.session.select(NOTHING)
    click(window, lower_left)
    move(window, upper_right)
    save(window.canvas.grab(), folder / f"editing-measure-{look}.png")


def render_guides(window: MainWindow, folder: Path, look: str) -> None:
    """A panel dragged between guides, in line with another, with its gaps."""
    job = window.session.job
    for name, way, at in (("h1", "upright", 1480.0), ("h2", "level", 640.0)):
        job = add_guide(job, GuideLine(id=name, way=way, at_mm=at))  # type: ignore[arg-type]
    window.session.do("Guides", job)
    window.actions_by_id["show_grid"].setChecked(True)
    settle(window)
    lid = window.session.job.panel("p4")
    start = (lid.at[0] + 480, lid.at[1] + 90)
    drag_on(window, start, (start[0] + 34, start[1] - 12))
    save(window.canvas.grab(), folder / f"editing-guides-{look}.png")
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)


def render_marks(window: MainWindow, folder: Path, look: str) -> None:
    """A rectangular opening that was drawn, and a badge that is given its radius."""
    window.canvas.show_rect(SIDES)
    desk = window.canvas.desk
    window.actions_by_id["tool_opening"].trigger()
    desk.choose_opening("rectangle")
    settle(window)
    side = window.session.job.panel("p1").at
    click(window, (side[0] + 330, side[1] + 100))
    move(window, (side[0] + 560, side[1] + 170))
    click(window, (side[0] + 560, side[1] + 170))
    window.actions_by_id["tool_mark"].trigger()
    desk.choose_mark(MarkKind.BADGE, 30.0)
    settle(window)
    at = (side[0] + 760, side[1] + 140)
    drag_on(window, at, (at[0] + 45, at[1] + 4))
    save(window.tools.parentWidget().grab(), folder / f"editing-marks-{look}.png")
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)


def render_typed(window: MainWindow, folder: Path, look: str) -> None:
    """A seam whose next stretch is typed, shown before Enter."""
    window.actions_by_id["tool_seam"].trigger()
    click(window, (-8.0, 150.0))
    move(window, (200.0, 200.0))
    QTest.keyClicks(window.canvas, "2")
    QTest.keyClicks(window.canvas.entry.fields[0], "4 cm")
    QTest.keyClick(window.canvas.entry.fields[0], Qt.Key.Key_Tab)
    QTest.keyClicks(window.canvas.entry.fields[1], "15")
    settle(window)
    save(window.canvas.grab(), folder / f"editing-typed-{look}.png")
    QTest.keyClick(window.canvas.entry.fields[1], Qt.Key.Key_Escape)
    QTest.keyClick(window.canvas, Qt.Key.Key_Escape)


def drag_on(window: MainWindow, start: Place, end: Place) -> None:
    """Press and drag without letting go."""
    port = window.canvas.viewport()
    kinds = ((QEvent.Type.MouseButtonPress, start, LEFT), (QEvent.Type.MouseMove, end, NONE))
    for kind, at, button in kinds:
        px = QPointF(window.canvas.px_of(at))
        event = QMouseEvent(kind, px, port.mapToGlobal(px), button, LEFT, NO_KEY)
        QApplication.sendEvent(port, event)
    settle(window)


if __name__ == "__main__":
    main()

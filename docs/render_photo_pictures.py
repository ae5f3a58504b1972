"""Renders the pictures of docs/from-a-photo.md: the photo too is made by the project.

Run from the top of the clone, with or without a screen:

    .venv/bin/python docs/render_photo_pictures.py
"""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP), str(TOP / "tests")]

from PySide6.QtCore import QEvent, QEventLoop, QPointF, QSettings, Qt, QTimer  # noqa: E402
from PySide6.QtGui import QMouseEvent  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication, QWidget  # noqa: E402

from app.photo.trace_page import MARKS  # noqa: E402
from app.photo.window import PhotoWindow  # noqa: E402
from app.settings import AppSettings  # noqa: E402
from app.start import make_window, set_up  # noqa: E402
from app.theme import LIGHT, Theme, apply_theme  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.panel import MarkKind  # noqa: E402
from core.read.photo import Picture  # noqa: E402
from core.read.photo_scale import Method  # noqa: E402
from core.read.photo_trace import ring_bounds  # noqa: E402
from helpers.synthetic_photo import FRAME, LENS, part_shot, ring_of, side_panel  # noqa: E402

PICTURES = Path(__file__).parent / "pictures"
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
WAIT_MS = 60_000


def main(folder: Path = PICTURES, themes: tuple[Theme, ...] = (LIGHT,)) -> None:
    """Render everything into a folder, in one look or both."""
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    shot = part_shot(shadow=0.6, height_mm=1050.0, **LENS)
    picture = Picture("side-panel.jpg", shot.pixels)
    for theme in themes:
        apply_theme(app, theme)
        steps(app, picture, shot, theme, folder)


def steps(
    app: QApplication, picture: Picture, shot: object, theme: Theme, folder: Path
) -> None:
    """Go from the photo to the panel, and save a picture of each stage."""
    with tempfile.TemporaryDirectory() as scratch:
        settings = AppSettings(
            QSettings(str(Path(scratch) / "settings.ini"), QSettings.Format.IniFormat)
        )
        settings.set_text("look", theme.name)
        window = make_window(settings, Path(scratch))
        window.resize(1440, 900)
        window.show()
        window.photos.show_picture(picture)
        dialog = window.photos.dialog
        assert dialog is not None
        save = _saver(folder, theme)
        wait(lambda: dialog.desk.draft.scale is not None and not dialog.desk.is_busy)
        save(dialog, "scale")
        corners(dialog, shot, save)
        outline(dialog, shot, save)
        panel(app, window, dialog, save)
        window.session.new()
        window.close()


def corners(dialog: PhotoWindow, shot: object, save: Callable[[QWidget, str], None]) -> None:
    """Drag a corner under the magnifier, then go back to the board."""
    dialog.scale_page.method.setCurrentIndex(1)
    dialog.scale_page.across.setText("920 mm")
    dialog.scale_page.upright.setText("540 mm")
    places = [(x, -y) for x, y in shot.px_of(FRAME)]  # type: ignore[attr-defined]
    for k in (1, 2, 3, 0):
        place = places[k]
        x, y = dialog.desk.draft.corners[k]
        mouse(dialog, QEvent.Type.MouseButtonPress, (x, -y), LEFT)
        mouse(dialog, QEvent.Type.MouseMove, place, LEFT)
        if k == 0:
            save(dialog, "corners")
        mouse(dialog, QEvent.Type.MouseButtonRelease, place, Qt.MouseButton.NoButton)
    dialog.desk.set_method(Method.BOARD)
    dialog.scale_page.take_tool()


def outline(dialog: PhotoWindow, shot: object, save: Callable[[QWidget, str], None]) -> None:
    """Drag a rectangle around the part, and take what is found."""
    dialog.go(1)
    part, _ = side_panel()
    assert dialog.desk.draft.scale is not None
    rim = dialog.desk.draft.scale.to_mm(shot.px_of(ring_of(part)))  # type: ignore[attr-defined]
    (x0, y0), (x1, y1) = rim.min(axis=0) - 30, rim.max(axis=0) + 30
    mouse(dialog, QEvent.Type.MouseButtonPress, (x0, y1), LEFT)
    mouse(dialog, QEvent.Type.MouseMove, (x1, y0), LEFT)
    save(dialog, "find")
    mouse(dialog, QEvent.Type.MouseButtonRelease, (x1, y0), Qt.MouseButton.NoButton)
    wait(lambda: bool(dialog.desk.tracing.outline) and not dialog.desk.is_busy)
    save(dialog, "outline")
    marks(dialog)
    save(dialog, "marks")


def marks(dialog: PhotoWindow) -> None:
    """Place a mark of each kind by the mouse, and choose the ridge."""
    found = ring_bounds(dialog.desk.tracing.outline)
    left, bottom, right, top = found

    def place(across: float, upright: float) -> tuple[float, float]:
        return left + across * (right - left), bottom + upright * (top - bottom)

    page = dialog.trace_page
    dialog.desk.set_tool("mark")
    ridge = place(0.12, 0.62), place(0.42, 0.7)
    for kind, radius, places in (
        (MarkKind.BOLT, "6 mm", [place(0.1, 0.3), place(0.9, 0.35)]),
        (MarkKind.RECESS, "18 mm", [place(0.3, 0.35)]),
        (MarkKind.DAMAGE, "14 mm", [place(0.62, 0.3)]),
        (MarkKind.BADGE, "22 mm", [place(0.5, 0.5)]),
        (MarkKind.RIDGE, "2 mm", [*ridge]),
    ):
        page.kind.setCurrentIndex([k for k, _ in MARKS].index(kind))
        page.radius.setText(radius)
        page.radius.editingFinished.emit()
        for at in places:
            mouse(dialog, QEvent.Type.MouseButtonPress, at, LEFT)
            mouse(dialog, QEvent.Type.MouseButtonRelease, at, Qt.MouseButton.NoButton)
    dialog.view.setFocus()
    QTest.keyClick(dialog.view, Qt.Key.Key_Return)
    dialog.desk.set_tool("edit")
    middle = (ridge[0][0] + ridge[1][0]) / 2, (ridge[0][1] + ridge[1][1]) / 2
    mouse(dialog, QEvent.Type.MouseButtonPress, middle, LEFT)
    mouse(dialog, QEvent.Type.MouseButtonRelease, middle, Qt.MouseButton.NoButton)


def panel(
    app: QApplication,
    window: MainWindow,
    dialog: PhotoWindow,
    save: Callable[[QWidget, str], None],
) -> None:
    """Name the panel, add it, and show it on the canvas with its photo."""
    dialog.go(2)
    dialog.panel_page.name.setText("Side panel")
    save(dialog, "panel")
    dialog.accept()
    window.canvas.zoom_to_fit()
    wait(lambda: window.session.are_rolls_current)
    app.processEvents()
    save(window, "canvas")


def mouse(
    dialog: PhotoWindow, kind: QEvent.Type, at: tuple[float, float], held: Qt.MouseButton
) -> None:
    """Send a mouse event to the photo, at a place of its scene."""
    port = dialog.view.viewport()
    px = dialog.view.viewportTransform().map(QPointF(*at))
    button = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseMove else LEFT
    event = QMouseEvent(kind, px, port.mapToGlobal(px), button, held, NONE)
    QApplication.sendEvent(port, event)


def wait(is_done: Callable[[], bool]) -> None:
    """Let the program run until something has come about."""
    loop, timer, limit = QEventLoop(), QTimer(), QTimer()
    timer.timeout.connect(lambda: loop.quit() if is_done() else None)
    limit.singleShot(WAIT_MS, loop.quit)
    timer.start(20)
    loop.exec()
    if not is_done():
        raise TimeoutError


def _saver(folder: Path, theme: Theme) -> Callable[[QWidget, str], None]:
    def save(widget: QWidget, name: str) -> None:
        QApplication.processEvents()
        path = folder / f"photo-{name}-{theme.name}.png"
        widget.grab().save(str(path))

    return save


if __name__ == "__main__":
    main()

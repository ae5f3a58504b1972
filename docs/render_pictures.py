"""Renders every picture of the docs from the program itself.

Run from the top of the clone, with or without a screen:

    .venv/bin/python docs/render_pictures.py

The window is the real one, opened on the samples in both looks; panels and rolls are the
pictures that ``lapline write`` makes.
"""

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
TOP = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TOP))

from PySide6.QtCore import QDeadlineTimer, QPoint, QSettings, Qt  # noqa: E402
from PySide6.QtGui import QPixmap  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from app.selection import NOTHING, Selection  # noqa: E402
from app.settings import AppSettings  # noqa: E402
from app.start import make_window, set_up  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.edits.lines import set_lap  # noqa: E402
from core.document.file import load_job  # noqa: E402
from core.ids import PanelId  # noqa: E402
from core.plan.plan import plan_job  # noqa: E402
from core.roll.rolls import roll_plan  # noqa: E402
from core.write.png import drawing_to_png  # noqa: E402
from core.write.roll_picture import roll_drawing  # noqa: E402
from core.write.scheme import scheme_drawing  # noqa: E402

SAMPLES = TOP / "sample_projects"
PICTURES = Path(__file__).parent / "pictures"
WINDOW_PX = (1600, 1000)
PAPER_PX = 1440
WAIT_MS = 20_000
PANES_MS = 300
"""The panes refresh themselves a moment after the session."""
NO_KEY = Qt.KeyboardModifier.NoModifier
LEFT = Qt.MouseButton.LeftButton
LID = PanelId("p1")
SHOWN_ROLLS = {"juniper", "deep_fjord", "brushed_pewter"}
Place = tuple[float, float]


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for sample in ("first_steps", "library_trike"):
        render_paper(sample, folder)
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    for sample in ("first_steps", "library_trike"):
        for look in ("light", "dark"):
            with opened(sample, look) as window:
                save(window.grab(), folder / f"window_{sample}_{look}.png")
    render_steps(folder)


def render_paper(sample: str, folder: Path) -> None:
    """Render what ``lapline write`` draws of a sample: its panels and its rolls."""
    plan = plan_job(load_job(SAMPLES / f"{sample}.lapline").job)
    save_bytes(drawing_to_png(scheme_drawing(plan), PAPER_PX), folder / f"panels_{sample}.png")
    for film in roll_plan(plan).rolls.films:
        name = plan.job.film(film.film).name.lower().replace(" ", "_")
        if name not in SHOWN_ROLLS:
            continue
        picture = drawing_to_png(roll_drawing(film, plan.job), PAPER_PX)
        save_bytes(picture, folder / f"roll_{sample}_{name}.png")


def render_steps(folder: Path) -> None:
    """Render the steps of docs/first-job.md, made by mouse in the real window."""
    with opened("first_steps", "light") as window:
        canvas = window.canvas
        window.session.select(Selection("line", ("s1",), LID))
        settle(window)
        save(window.grab(), folder / "step_select_seam.png")
        window.session.select(NOTHING)
        window.actions_by_id["tool_stripe"].trigger()
        click(window, (-8.0, 112.0))
        click(window, (568.0, 112.0))
        move(window, (280.0, 126.0))
        save(canvas.grab(), folder / "step_draw_stripe.png")
        click(window, (280.0, 126.0))
        save(window.grab(), folder / "step_stripe_drawn.png")
    with opened("library_trike", "light") as window:
        stripe = "t1"
        job = set_lap(window.session.job, "v1", stripe, 60.0)
        window.session.do("Change lap", job)
        window.session.select(Selection("line", (stripe,), PanelId("p2")))
        settle(window)
        save(window.grab(), folder / "step_finding.png")


@contextmanager
def opened(sample: str, look: str) -> Iterator[MainWindow]:
    """Show the window on a sample, with its rolls laid out, in one look."""
    with tempfile.TemporaryDirectory() as scratch:
        store = QSettings(f"{scratch}/settings.ini", QSettings.Format.IniFormat)
        window = make_window(AppSettings(store), Path(scratch))
        window.resize(*WINDOW_PX)
        window.set_look(look)
        window.show()
        window.session.open(SAMPLES / f"{sample}.lapline")
        settle(window)
        window.canvas.zoom_to_fit()
        settle(window)
        yield window
        window.session.drop_preview()
        window.session.save(Path(scratch) / "done.lapline")  # else it asks about unsaved work
        window.close()
        window.deleteLater()


def settle(window: MainWindow) -> None:
    """Let the window paint, and the rolls catch up with the plan."""
    deadline = QDeadlineTimer(WAIT_MS)
    while not window.session.are_rolls_current:
        if deadline.hasExpired():
            raise TimeoutError("the rolls were not laid out in time")
        QTest.qWait(20)
    QTest.qWait(PANES_MS)


def move(window: MainWindow, at: Place) -> None:
    """Move the pointer to a place of the canvas, in millimetres."""
    QTest.mouseMove(window.canvas.viewport(), _px(window, at))
    settle(window)


def click(window: MainWindow, at: Place) -> None:
    """Click a place of the canvas."""
    move(window, at)
    QTest.mouseClick(window.canvas.viewport(), LEFT, NO_KEY, _px(window, at))
    settle(window)


def _px(window: MainWindow, at: Place) -> QPoint:
    return window.canvas.px_of(at)


def save(picture: QPixmap, path: Path) -> None:
    """Save a grabbed picture as a small PNG."""
    if not picture.toImage().save(str(path), "PNG", 0):  # type: ignore[call-overload]
        raise OSError(f"{path} cannot be written")
    print(path.name)  # noqa: T201 - a script for the terminal


def save_bytes(data: bytes, path: Path) -> None:
    """Save a rendered picture."""
    path.write_bytes(data)
    print(path.name)  # noqa: T201


if __name__ == "__main__":
    main()

"""Renders the pictures of docs/will-it-lay.md from the program itself.

Run from the top of the clone: ``.venv/bin/python docs/render_shape_pictures.py``
"""

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP), str(TOP / "docs")]

import trimesh  # noqa: E402
from PySide6.QtCore import QDeadlineTimer, QEventLoop, QPoint, Qt, QTimer  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402
from render_pictures import PANES_MS, PICTURES, opened, save  # noqa: E402

from app.selection import Selection  # noqa: E402
from app.start import set_up  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.edits.surfaces import set_surface, with_reading  # noqa: E402
from core.document.surface import MeasuredSurface, ReadingKind, ReadingPlace, places  # noqa: E402
from core.ids import PanelId  # noqa: E402
from sample_projects.domed_hood import hood_mesh  # noqa: E402

LONG_MS = 180_000
LEFT = Qt.MouseButton.LeftButton
DOME, HOOD = PanelId("p1"), PanelId("p2")
NOW = ReadingPlace(ReadingKind.LENGTH, 2, 3)
"""The reading that the measuring window is shown at; those after it are still to be taken."""


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    with opened("curved_parts", "light") as window:
        wait(lambda: is_settled(window))
        render_strain(window, folder, "light")
        render_part(window, folder, "light", {"v3": "films", "v1": "strain"})
        render_taped(window, folder)
        render_reliefs(window, folder, "light")
        render_proposals(window, folder)
        render_measuring(window, folder)
        render_scan(window, folder)
    with opened("curved_parts", "dark") as window:
        wait(lambda: is_settled(window))
        render_strain(window, folder, "dark")
        render_reliefs(window, folder, "dark")
        render_part(window, folder, "dark", {"v3": "films"})


def render_strain(window: MainWindow, folder: Path, look: str) -> None:
    """The whole window: verdicts, and strain on the panels, the value under the pointer."""
    choose(window, HOOD)
    window.actions_by_id["show_strain"].setChecked(True)
    rest()
    at = window.canvas.px_of((330.0, 215.0))
    QTest.mouseMove(window.canvas.viewport(), at)
    rest()
    save(window.grab(), folder / f"shape-window-{look}.png")
    window.actions_by_id["show_strain"].setChecked(False)


def render_part(window: MainWindow, folder: Path, look: str, views: dict[str, str]) -> None:
    """The hood in space, in one view for each variant: its films, or its strain."""
    session, shape = window.session, window.shape
    for variant, what in views.items():
        session.set_variant(variant)
        wait(lambda: is_settled(window))
        choose(window, HOOD)
        window.actions_by_id["show_part"].trigger()
        part = shape.part
        assert part is not None
        part.show_look(what)
        wait(lambda p=part: p.view.is_fine)  # type: ignore[misc]
        if what == "strain":
            QTest.mouseMove(part.view, QPoint(430, 420))
            rest()
        save(part.grab(), folder / f"shape-part-{what}-{look}.png")
        part.close()


def render_reliefs(window: MainWindow, folder: Path, look: str) -> None:
    """The hood in one piece with four relief cuts: its strain, and its film on the roll."""
    session = window.session
    session.set_variant("v4")
    session.select(Selection("line", ("e1",), HOOD))
    window.actions_by_id["show_strain"].setChecked(True)
    wait(lambda: is_settled(window))
    rest(3 * PANES_MS)
    save(window.grab(), folder / f"shape-relief-{look}.png")
    window.actions_by_id["show_strain"].setChecked(False)
    session.set_variant("v1")
    wait(lambda: is_settled(window))


def render_taped(window: MainWindow, folder: Path) -> None:
    """The measured dome in three strips, as its lengths let it stand."""
    window.session.set_variant("v2")
    wait(lambda: is_settled(window))
    choose(window, DOME)
    window.actions_by_id["show_part"].trigger()
    part = window.shape.part
    assert part is not None
    wait(lambda: part.view.is_fine)
    save(part.grab(), folder / "shape-part-taped-light.png")
    part.close()


def render_proposals(window: MainWindow, folder: Path) -> None:
    """Three proposals for the hood, as they are found."""
    choose(window, HOOD)
    window.actions_by_id["propose_seams"].trigger()
    search = window.shape.search
    assert search is not None
    wait(lambda: not search.is_busy)
    rest()
    save(search.window.grab(), folder / "shape-proposals-light.png")
    search.window.reject()


def render_measuring(window: MainWindow, folder: Path) -> None:
    """The dome half measured."""
    session = window.session
    surface = session.job.panel(DOME).surface
    assert isinstance(surface, MeasuredSurface)
    order = list(places(surface))
    for place in order[order.index(NOW) :]:
        surface = with_reading(surface, place, ())
    session.do("Half", set_surface(session.job, DOME, surface))
    choose(window, DOME)
    window.actions_by_id["measure_panel"].trigger()
    measuring = window.shape.measuring
    assert measuring is not None
    rest(3 * PANES_MS)
    measuring.table.go_to(NOW)
    rest()
    save(measuring.grab(), folder / "shape-measure-light.png")
    measuring.close()
    session.undo()


def render_scan(window: MainWindow, folder: Path) -> None:
    """A scan, and what of it is chosen: the hood down to where it leans too far."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "locker-hood.stl"
        trimesh.Trimesh(*hood_mesh(), process=False).export(path)
        window.scans.open(path)
        wait(lambda: window.scans.dialog is not None)
    dialog = window.scans.dialog
    assert dialog is not None
    rest()
    dialog.form.lean.setValue(62)
    dialog.view.turn_by(40, -120)
    QTest.mouseClick(dialog.view, LEFT, pos=dialog.view.rect().center())
    wait(lambda: dialog.view.is_fine)
    save(dialog.grab(), folder / "shape-scan-light.png")
    dialog.reject()


def choose(window: MainWindow, panel: PanelId) -> None:
    """Select a panel."""
    window.session.select(Selection("panel", (panel,), panel))


def is_settled(window: MainWindow) -> bool:
    """Whether rolls and shapes belong to what is drawn."""
    return (
        window.shapes.is_current
        and not window.shapes.is_busy
        and window.session.are_rolls_current
    )


def wait(is_done: Callable[[], bool]) -> None:
    """Let the program run until something is done."""
    deadline = QDeadlineTimer(LONG_MS)
    while not is_done():
        if deadline.hasExpired():
            raise TimeoutError("it was not done in time")
        rest(50)
    rest()


def rest(ms: int = PANES_MS) -> None:
    """Let the program run for a while; unlike QTest.qWait workers get their turn."""
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


if __name__ == "__main__":
    main()

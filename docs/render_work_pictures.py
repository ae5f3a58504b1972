"""Renders the pictures of laying by hand and of handing out, from the program itself.

Run from the top of the clone: ``.venv/bin/python docs/render_work_pictures.py``
"""

import sys
from collections.abc import Callable
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP), str(TOP / "docs")]

from msgspec.structs import replace  # noqa: E402
from PySide6.QtCore import QEventLoop, QTimer  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402
from render_pictures import PICTURES, WAIT_MS, opened, save, settle  # noqa: E402

from app.handout.window import HandOutWindow  # noqa: E402
from app.start import set_up  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.edits.settings import set_settings  # noqa: E402
from core.write.outputs import OutputOptions  # noqa: E402
from core.write.templates import TemplateOptions  # noqa: E402

POLL_MS = 50
SHOWN_MS = 400


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    for look in ("light", "dark"):
        with opened("library_trike", look) as window:
            render_rolls(window, folder / f"rolls-by-hand-{look}.png")
    with opened("library_trike", "light") as window:
        render_hand_out(window, folder / "hand-out-light.png")


def render_rolls(window: MainWindow, path: Path) -> None:
    """The rolls large, retakes behind the job, one piece pinned and one in hand."""
    session, view = window.session, window.rolls.view
    session.do("Retakes", set_settings(session.job, replace(session.job.settings, tries=2)))
    settle(window)
    window.actions_by_id["large_rolls"].trigger()
    wait(lambda: session.are_rolls_current)
    strip = view.strips.strips[0]
    pinned = strip.sheet.placements[0]
    view.hand.choose(pinned.item.key)
    view.hand.pin_or_let_go()
    wait(lambda: session.are_rolls_current)
    window.rolls.refresh()
    strip = view.strips.strips[0]
    held = next(p for p in strip.sheet.placements if p.item.key != pinned.item.key)
    view.hand.begin(strip.film.id, strip.sheet, held)
    view.hand.hold(strip.sheet, held, (260.0, 60.0), 0.0)
    rest(SHOWN_MS)
    save(window.grab(), path)
    view.hand.cancel()


def render_hand_out(window: MainWindow, path: Path) -> None:
    """The hand-out window on a page of the bench sheet."""
    options = OutputOptions(templates=TemplateOptions())
    dialog = HandOutWindow(window.session.plan, None, options, Path("lapline-output"), window)
    dialog.show()
    wait(lambda: dialog.files.count() > 0 and not dialog.is_busy)
    for i in range(dialog.files.topLevelItemCount()):
        group = dialog.files.topLevelItem(i)
        if group is not None and group.text(0).startswith("Bench sheet"):
            dialog.files.setCurrentItem(group.child(0))
    wait(lambda: dialog.sight.pages.page_count > 1)
    dialog.sight.pages.turn_to(1)
    wait(lambda: dialog.sight.pages.is_sharp)
    rest(SHOWN_MS)
    save(dialog.grab(), path)
    dialog.close()


def wait(is_done: Callable[[], bool]) -> None:
    """Let the program work until something is so."""
    for _ in range(WAIT_MS // POLL_MS):
        if is_done():
            return
        rest(POLL_MS)
    raise TimeoutError("the program did not come to it")


def rest(ms: int) -> None:
    """Let the program work for a while; workers run meanwhile."""
    loop = QEventLoop()
    QTimer.singleShot(ms, loop.quit)
    loop.exec()


if __name__ == "__main__":
    main()

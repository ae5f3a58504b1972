"""Renders the pictures of docs/film-and-buying.md from the program itself.

Run from the top of the clone: ``.venv/bin/python docs/render_film_pictures.py``
"""

import sys
import tempfile
from functools import partial
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TOP), str(TOP / "docs")]

from msgspec.structs import replace  # noqa: E402
from PySide6.QtCore import QEventLoop, QTimer  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QApplication, QDialog  # noqa: E402
from render_pictures import PANES_MS, PICTURES, WAIT_MS, opened, save, settle  # noqa: E402

from app.dialogs.film import FilmDialog  # noqa: E402
from app.dialogs.finish import FinishDialog  # noqa: E402
from app.dialogs.shelf import ShelfDialog  # noqa: E402
from app.start import set_up  # noqa: E402
from app.window import MainWindow  # noqa: E402
from core.document.edits.films import set_stock  # noqa: E402
from core.document.edits.settings import set_settings  # noqa: E402
from core.document.film import DamagedStretch, Offcut, Roll  # noqa: E402
from core.document.shelf import put_on_shelf  # noqa: E402
from core.document.shelf_file import ShelfFile, new_key  # noqa: E402

LOOK = "light"
TRIANGLE = ((0.0, 0.0), (640.0, 0.0), (500.0, 410.0))


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    set_up(app)
    with opened("library_trike", LOOK) as window:
        render_buying(window, folder)
    with opened("library_trike", LOOK) as window:
        render_film(window, folder)
    with opened("library_trike", LOOK) as window, tempfile.TemporaryDirectory() as place:
        render_shelf(window, folder, ShelfFile(Path(place) / "shelf.json"))


def render_buying(window: MainWindow, folder: Path) -> None:
    """The buying window: two tries a piece, and little of it in stock."""
    session = window.session
    job = session.job
    for film in job.films[:2]:
        job = set_stock(job, film.id, ())
    session.do("Buy", set_settings(job, replace(job.settings, tries=2)))
    settle(window)
    view = window.stock.show_buying()
    while view.keeper.money is None:  # a change may also tell that it is still reckoned
        loop = QEventLoop()
        view.keeper.changed.connect(loop.quit)
        QTimer.singleShot(WAIT_MS, partial(loop.exit, 1))
        # Unlike QTest.qWait the loop lets the worker run meanwhile.
        assert loop.exec() == 0, "the rolls were not reckoned in time"
    _shown(view, folder / f"film-to-buy-{LOOK}.png")


def render_film(window: MainWindow, folder: Path) -> None:
    """The form of a film with a damaged roll and an offcut that is no rectangle."""
    job = window.session.job
    film = job.films[0]
    damage = DamagedStretch(start_mm=1200.0, end_mm=1300.0, high_mm=300.0)
    stock = (
        Roll(id="r1", length_mm=5000.0, is_opened=True, damaged=(damage,)),
        Offcut(id="k1", length_mm=640.0, width_mm=410.0, outline=TRIANGLE, note="from the van"),
    )
    dialog = FilmDialog(replace(film, stock=stock), job, "Film", window)
    _shown(dialog, folder / f"film-form-{LOOK}.png")


def render_shelf(window: MainWindow, folder: Path, file: ShelfFile) -> None:
    """The shelf with some film, and a film that is cut."""
    session = window.session
    film = session.job.films[1]
    for stock in (
        Roll(id="r1", length_mm=6400.0, is_opened=True),
        Offcut(id="k1", length_mm=640.0, width_mm=410.0, outline=TRIANGLE, note="from the van"),
        Offcut(id="k1", length_mm=900.0, width_mm=300.0),
    ):
        fresh = stock
        file.change(lambda shelf, fresh=fresh: put_on_shelf(shelf, film, fresh, new_key()))
    dialog = ShelfDialog(session, file, window)
    dialog.place.hide()
    dialog.film.setCurrentIndex(1)
    dialog.on_shelf.topLevelItem(0).setSelected(True)
    dialog.take.click()
    settle(window)
    dialog.on_shelf.topLevelItem(1).setSelected(True)
    _shown(dialog, folder / f"film-shelf-{LOOK}.png")
    assert session.rolls is not None
    cut = FinishDialog(session, session.rolls, file, window)
    cut.film.setCurrentIndex(1)
    _shown(cut, folder / f"film-cut-{LOOK}.png")


def _shown(dialog: QDialog, path: Path) -> None:
    dialog.show()
    QTest.qWait(PANES_MS)
    save(dialog.grab(), path)
    dialog.close()


if __name__ == "__main__":
    main()

"""Starts the window: application, font, look, session, recovery of a crashed run."""

import logging
import signal
import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtGui import QFont, QFontDatabase, QIcon
from PySide6.QtWidgets import QApplication

import core.write
from app.dialogs.recovered import Answer, ask_recover
from app.garbage import collect_in_gui_thread
from app.icons import icon
from app.messages import install_hook
from app.recovery import Leftover, Recovery, find_leftovers, recovery_folder
from app.session import Session
from app.settings import AppSettings
from app.theme import apply_theme
from app.window import MainWindow, wanted_theme
from core.errors import LaplineError

FONTS = Path(core.write.__file__).parent / "fonts"


def run_window(path: Path | None) -> int:
    """Show the window and stay until it is closed; return the exit code."""
    logging.basicConfig(stream=sys.stderr, format="lapline: %(message)s")
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Qt's loop would not hear it
    app = QApplication(sys.argv[:1])
    set_up(app)
    window = make_window(AppSettings(), recovery_folder())
    install_hook(lambda: _rescue(window.recovery))
    window.show()
    QTimer.singleShot(0, window, lambda: _begin(window, path))
    code = app.exec()
    window.deleteLater()
    return code


def set_up(app: QApplication) -> None:
    """Give the application its names, font and icon."""
    collect_in_gui_thread(app)
    app.setApplicationName("Lapline")
    app.setDesktopFileName("lapline")
    app.setWindowIcon(_window_icon())
    families = []
    for file in sorted(FONTS.glob("*.ttf")):
        number = QFontDatabase.addApplicationFont(str(file))
        families += QFontDatabase.applicationFontFamilies(number)
    font = QFont(families[0] if families else app.font().family())
    font.setPixelSize(13)
    app.setFont(font)


def make_window(settings: AppSettings, folder: Path) -> MainWindow:
    """Return a window with a new job, dressed as the settings want it."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    apply_theme(app, wanted_theme(settings.text("look", "system")))
    session = Session()
    return MainWindow(session, settings, Recovery(session, folder))


def offer_recovery(window: MainWindow, leftovers: list[Leftover]) -> bool:
    """Offer what crashed runs have left; tell whether one is open now."""
    for leftover in leftovers:
        answer = ask_recover(window, leftover)
        if answer is not Answer.OPEN:
            if answer is Answer.DISCARD:
                leftover.discard()
            continue
        try:
            window.session.recover(leftover.load(), leftover.path)
        except LaplineError as error:
            window.session.message(f"The safety copy cannot be read: {error.sentence()}")
            continue
        window.recovery.write_now()
        leftover.discard()
        return True
    return False


def _begin(window: MainWindow, path: Path | None) -> None:
    if offer_recovery(window, find_leftovers(recovery_folder())):
        return
    if path is not None:
        window.files.open(path)


def _rescue(recovery: Recovery) -> bool:
    try:
        recovery.write_now()
    except (LaplineError, OSError):
        return False
    return True


def _window_icon() -> QIcon:
    mark = QIcon()
    for size in (16, 32, 64, 128):
        pixmap = icon("seam", "#0f6a70").pixmap(size, size)
        mark.addPixmap(pixmap)
    return mark

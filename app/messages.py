"""How the program says that something went wrong, and what it does when it is its own fault."""

import logging
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import TracebackType

from PySide6.QtCore import QMessageLogContext, QSize, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication, QMessageBox, QWidget

from app.icons import icon
from app.theme import current_theme
from core.errors import Cancelled, LaplineError

SIGN_PX = 36
log = logging.getLogger("lapline")


def show_error(error: LaplineError, parent: QWidget | None = None) -> None:
    """Show a refusal: what is wrong, where, and what mends it."""
    if isinstance(error, Cancelled):
        return
    place = f"{error.where}\n" if error.where else ""
    _box("warning", error.what, f"{place}{error.mend}".strip(), parent).exec()


def show_crash(trace: str, *, is_copied: bool, parent: QWidget | None = None) -> None:
    """Tell of a fault of the program itself, with what happens to the work."""
    kept = (
        "A safety copy of your job was written; it is offered at the next start."
        if is_copied
        else "Save your job under a new name before going on."
    )
    text = f"The last step may not have been done. {kept}"
    box = _box("stop", "Lapline made a mistake.", text, parent)
    box.setDetailedText(trace)
    box.exec()


def sign(box: QMessageBox, name: str) -> None:
    """Give a message one of the program's own icons: note, warning or stop."""
    theme = current_theme()
    colour = {"warning": theme.warn, "stop": theme.stop}.get(name, theme.accent)
    ratio = box.devicePixelRatioF()
    box.setIconPixmap(icon(name, colour).pixmap(QSize(SIGN_PX, SIGN_PX), ratio))


def _box(name: str, title: str, text: str, parent: QWidget | None) -> QMessageBox:
    box = QMessageBox(parent or QApplication.activeWindow())
    sign(box, name)
    box.setWindowTitle("Lapline")
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(title)
    box.setInformativeText(text)
    return box


@contextmanager
def waiting() -> Iterator[None]:
    """Show the waiting cursor while something is done in the window's thread."""
    QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
    try:
        yield
    finally:
        QApplication.restoreOverrideCursor()


def install_hook(rescue: Callable[[], bool]) -> None:
    """Let nothing fail unseen: refusals get a dialog, faults a crash note.

    Args:
        rescue: writes the safety copy; tells whether that worked.
    """
    is_showing = False

    def hook(
        kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        nonlocal is_showing
        if isinstance(error, KeyboardInterrupt):
            QApplication.quit()
            return
        text = "".join(traceback.format_exception(kind, error, trace))
        if not isinstance(error, LaplineError):
            log.error("%s", text)
        if is_showing:
            return
        is_showing = True
        try:
            if isinstance(error, LaplineError):
                show_error(error)
            else:
                show_crash(text, is_copied=rescue())
        finally:
            is_showing = False

    sys.excepthook = hook
    qInstallMessageHandler(_on_qt_message)


_LEVELS = {
    QtMsgType.QtDebugMsg: logging.DEBUG,
    QtMsgType.QtInfoMsg: logging.INFO,
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}


def _on_qt_message(kind: QtMsgType, _context: QMessageLogContext, text: str) -> None:
    log.log(_LEVELS.get(kind, logging.WARNING), "%s", text)

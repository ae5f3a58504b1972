"""A whole window for tests, with settings and recovery folder of its own, and clicks."""

from pathlib import Path

from PySide6.QtCore import QRect, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QListWidget, QTreeWidget, QTreeWidgetItem

from app.jobs import cancel_all
from app.session import Session
from app.settings import AppSettings
from app.start import make_window, set_up
from app.window import MainWindow

LEFT = Qt.MouseButton.LeftButton
SAMPLES = Path(__file__).parents[2] / "sample_projects"


def settings_in(folder: Path) -> AppSettings:
    """Settings in a file of that folder."""
    return AppSettings(QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat))


def open_window(app: QApplication, folder: Path) -> MainWindow:
    """Show a window as a start does, with everything it writes under the folder."""
    set_up(app)
    recovery = folder / "recovery"
    recovery.mkdir(exist_ok=True)
    window = make_window(settings_in(folder), recovery)
    window.resize(1440, 900)
    window.show()
    return window


def close_window(window: MainWindow) -> None:
    """Close a window without a question, whatever it holds."""
    forget_changes(window.session)
    window.close()
    cancel_all()
    window.deleteLater()


def forget_changes(session: Session) -> None:
    """Let the session count as saved."""
    session._saved = session.committed_job


def click_row(view: QListWidget, row: int) -> None:
    """Click a row of a list."""
    _click(view, view.visualItemRect(view.item(row)))


def click_item(view: QTreeWidget, item: QTreeWidgetItem) -> None:
    """Click an item of a tree, scrolled into sight first."""
    view.scrollToItem(item)
    _click(view, view.visualItemRect(item))


def _click(view: QListWidget | QTreeWidget, rect: QRect) -> None:
    assert rect.isValid()
    QTest.mouseClick(view.viewport(), LEFT, Qt.KeyboardModifier.NoModifier, rect.center())


def type_into(field: object, text: str) -> None:
    """Replace a field's text by typing, and finish with Enter."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)

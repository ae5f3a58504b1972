"""The stylesheet of the window, filled with a theme's colours.

Widgets choose their dress by the property ``look``: ``pane``, ``title``, ``quiet``,
``primary``, ``card``, ``chip`` and so on. Lengths are on a grid of 4 and 8 logical pixels.
"""

from collections.abc import Mapping
from string import Template

from PySide6.QtWidgets import QWidget


def stylesheet(colours: Mapping[str, object]) -> str:
    """Return the application's stylesheet in a theme's colours, given by their names."""
    return _SHEET.substitute(colours)


def dress(widget: QWidget, look: str) -> None:
    """Give a widget another look, also when it is shown already."""
    widget.setProperty("look", look)
    widget.style().unpolish(widget)
    widget.style().polish(widget)


_SHEET = Template("""
* { font-size: 13px; }
QMainWindow, QDialog { background: $surface; }
QDialogButtonBox { dialogbuttonbox-buttons-have-icons: 0; }
QToolTip { background: $surface_raised; color: $ink; border: 1px solid $line;
    padding: 4px 8px; }

QMenuBar { background: $surface; padding: 2px 6px; border-bottom: 1px solid $line; }
QMenuBar::item { padding: 5px 10px; border-radius: 5px; background: transparent; color: $ink; }
QMenuBar::item:selected { background: $hover; }
QMenu { background: $surface_raised; border: 1px solid $line; padding: 6px; }
QMenu::item { padding: 6px 28px 6px 12px; border-radius: 5px; color: $ink; }
QMenu::item:selected { background: $selected; }
QMenu::item:disabled { color: $ink_soft; }
QMenu::separator { height: 1px; background: $line; margin: 6px 8px; }
QMenu::indicator { width: 14px; height: 14px; margin-left: 8px; }
QMenu::icon { padding-left: 8px; }

QLabel[look="title"] { font-size: 14px; font-weight: 600; }
QLabel[look="job"] { font-size: 17px; font-weight: 600; }
QLabel[look="big"] { font-size: 22px; font-weight: 600; }
QLabel[look="quiet"] { color: $ink_soft; }
QLabel[look="warn"] { color: $warn; }
QLabel[look="stop"] { color: $stop; }
QLabel[look="field"] { color: $ink_soft; padding-top: 2px; }
QLabel[look="chip"] { background: $hover; color: $ink; border-radius: 9px; padding: 0 8px;
    font-size: 12px; min-height: 18px; max-height: 18px; }

QWidget[look="pane"], QWidget[look="bar"] { background: $surface; }
QFrame[look="bar"] { border-bottom: 1px solid $line; }
QFrame[look="card"] { background: $surface_raised; border: 1px solid $line;
    border-radius: 12px; }
QFrame[look="rule"] { background: $line; max-height: 1px; min-height: 1px; border: none; }
QFrame[look="upright rule"] { background: $line; max-width: 1px; min-width: 1px; border: none; }

QPushButton, QToolButton { background: $surface_raised; color: $ink; border: 1px solid $line;
    border-radius: 6px; padding: 5px 12px; min-height: 18px; }
QPushButton:hover, QToolButton:hover { background: $hover; }
QPushButton:pressed, QToolButton:pressed { background: $selected; }
QPushButton:focus, QToolButton:focus { border: 1px solid $accent; }
QPushButton:disabled, QToolButton:disabled { color: $ink_soft; background: $surface; }
QPushButton:checked, QToolButton:checked { background: $selected; border-color: $accent; }
QPushButton[look="primary"], QPushButton:default { background: $accent; color: $accent_ink;
    border-color: $accent; font-weight: 600; }
QPushButton[look="primary"]:disabled, QPushButton:default:disabled { background: $surface;
    color: $ink_soft; border-color: $line; }
QFileDialog QToolButton { padding: 3px; }
QToolButton[look="flat"] { background: transparent; border: 1px solid transparent; padding: 3px;
    min-height: 20px; min-width: 20px; }
QToolButton[look="flat"]:hover { background: $hover; }
QToolButton[look="flat"]:focus { border-color: $accent; }
QToolButton[look="tool"] { background: transparent; border: 1px solid transparent;
    border-radius: 7px; padding: 5px 4px 5px 6px; }
QToolButton[look="low tool"] { background: transparent; border: 1px solid transparent;
    border-radius: 7px; padding: 3px 4px; font-size: 11px; min-width: 44px;
    min-height: 34px; }
QToolButton[look="tool"]:hover, QToolButton[look="low tool"]:hover { background: $hover; }
QToolButton[look="tool"]:checked, QToolButton[look="low tool"]:checked { background: $accent;
    color: $accent_ink; }
QToolButton[look="search"] { color: $ink_soft; text-align: left; padding: 5px 10px;
    min-width: 168px; }
QToolButton[look="worded"] { padding: 4px 4px 4px 6px; }
QToolButton::menu-indicator, QPushButton::menu-indicator { image: none; width: 0; }

QLineEdit, QComboBox, QSpinBox, QDoubleSpinBox, QPlainTextEdit { background: $surface_raised;
    color: $ink; border: 1px solid $line; border-radius: 6px; padding: 4px 8px;
    min-height: 20px; selection-background-color: $accent; selection-color: $accent_ink; }
QLineEdit { placeholder-text-color: $ink_soft; }
QLineEdit:focus, QComboBox:focus, QSpinBox:focus { border-color: $accent; }
QLineEdit:disabled, QComboBox:disabled, QSpinBox:disabled { color: $ink_soft;
    background: $surface; }
QLineEdit[look="wrong"] { border: 1px solid $stop; }
QLineEdit[look="doubtful"] { border: 1px solid $warn; }
QComboBox { padding-right: 24px; }
QComboBox::drop-down { border: none; width: 0; }
QComboBox QAbstractItemView { background: $surface_raised; border: 1px solid $line;
    selection-background-color: $selected; selection-color: $ink; outline: none; padding: 4px; }
QSpinBox { padding: 4px 4px; }
QSpinBox QLineEdit { border: none; padding: 0 4px; background: transparent; min-height: 0; }
QSpinBox::up-button, QSpinBox::down-button { width: 22px; border: none;
    background: transparent; }
QSpinBox::up-arrow, QSpinBox::down-arrow { image: none; width: 0; height: 0; }
QCheckBox { spacing: 8px; color: $ink; padding: 3px 0; }
QCheckBox::indicator { width: 16px; height: 16px; border: 1px solid $ink_soft;
    border-radius: 4px; background: $surface_raised; }
QCheckBox::indicator:checked { background: $accent; border-color: $accent; }
QCheckBox:disabled { color: $ink_soft; }
QCheckBox::indicator:disabled { background: $surface; border-color: $line; }
QCheckBox::indicator:checked:disabled { background: $ink_soft; border-color: $ink_soft; }

QListView, QTreeView, QTableWidget { background: transparent; border: none; outline: none;
    color: $ink; }
QTreeView::item { padding: 4px 0; border: none; }
QTreeView::item:hover, QListView::item:hover { background: $hover; }
QTreeView::item:selected, QListView::item:selected { background: $selected; color: $ink; }
QTreeView::branch, QTreeView::branch:selected { background: transparent; }
QTreeView { show-decoration-selected: 0; }
QTableWidget { background: $surface_raised; border: 1px solid $line; border-radius: 6px;
    gridline-color: $line; selection-background-color: $selected; selection-color: $ink; }
QTableWidget::item { padding: 2px 6px; }
QHeaderView::section { background: $surface; color: $ink_soft; border: none;
    border-bottom: 1px solid $line; padding: 6px 8px; }

QSplitter::handle { background: $line; }
QSplitter::handle:hover { background: $accent; }
QScrollArea, QScrollArea > QWidget > QWidget { background: transparent; border: none; }
QScrollBar:vertical { background: transparent; width: 12px; margin: 0; }
QScrollBar:horizontal { background: transparent; height: 12px; margin: 0; }
QScrollBar::handle { background: $line; border-radius: 4px; margin: 2px; min-height: 28px;
    min-width: 28px; }
QScrollBar::handle:hover { background: $ink_soft; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }

QStatusBar { background: $surface; border-top: 1px solid $line; }
QStatusBar::item { border: none; }
QProgressBar { background: $hover; border: none; border-radius: 3px; max-height: 6px;
    min-height: 6px; }
QProgressBar::chunk { background: $accent; border-radius: 3px; }
QGraphicsView { border: none; }
QTextBrowser { background: $surface; border: none; color: $ink; }
""")

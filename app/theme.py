"""The two looks of the window: colours by their use, and how Qt is dressed in them.

A theme names what a colour is for, never what it looks like. All sizes are logical pixels on a
grid of 8.
"""

from dataclasses import asdict, dataclass

from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from app.style import stylesheet


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours as ``#rrggbb``.

    Attributes:
        canvas: the ground on which the panels stand.
        ink, ink_soft: text and lines; secondary ones.
        panel_edge: the rim of a panel on the canvas.
        accent, accent_ink: what is active or selected, and text on it.
        warn, stop: findings that warn, and that stop the job.
        surface, surface_raised: panes; fields, cards and buttons on them.
        line: separators and frames.
        hover, selected: the ground of a row or button under the pointer, and of a selected one.
    """

    name: str
    is_dark: bool
    canvas: str
    ink: str
    ink_soft: str
    panel_edge: str
    accent: str
    accent_ink: str
    warn: str
    stop: str
    surface: str
    surface_raised: str
    line: str
    hover: str
    selected: str


LIGHT = Theme(
    name="light",
    is_dark=False,
    canvas="#e6e4dd",
    ink="#20272a",
    ink_soft="#576166",
    panel_edge="#2b3336",
    accent="#0f6a70",
    accent_ink="#ffffff",
    warn="#8f5200",
    stop="#ab2318",
    surface="#f4f2ec",
    surface_raised="#fdfcf9",
    line="#d3cfc4",
    hover="#e9e6dd",
    selected="#d5e6e4",
)

DARK = Theme(
    name="dark",
    is_dark=True,
    canvas="#171b1e",
    ink="#e8ebe9",
    ink_soft="#a3adb1",
    panel_edge="#dfe4e2",
    accent="#5cc3c2",
    accent_ink="#0c2326",
    warn="#e6ae55",
    stop="#f38377",
    surface="#20262a",
    surface_raised="#2a3136",
    line="#3b444a",
    hover="#313a3f",
    selected="#26464a",
)


_PROPERTY = "theme"


def current_theme() -> Theme:
    """Return the theme that the application is dressed in."""
    app = QApplication.instance()
    return DARK if app and app.property(_PROPERTY) == DARK.name else LIGHT


def apply_theme(app: QApplication, theme: Theme) -> None:
    """Dress the whole application in a theme."""
    if app.property(_PROPERTY) == theme.name:
        return  # polishing every widget anew takes long
    if app.property(_PROPERTY) is None:
        app.setStyle("Fusion")
    app.setProperty(_PROPERTY, theme.name)
    app.setPalette(_palette(theme))
    app.setStyleSheet(stylesheet(asdict(theme)))


def _palette(theme: Theme) -> QPalette:
    role, group = QPalette.ColorRole, QPalette.ColorGroup
    palette = QPalette()
    for part, colour in {
        role.Window: theme.surface,
        role.WindowText: theme.ink,
        role.Base: theme.surface_raised,
        role.AlternateBase: theme.surface,
        role.Text: theme.ink,
        role.PlaceholderText: theme.ink_soft,
        role.Button: theme.surface_raised,
        role.ButtonText: theme.ink,
        role.ToolTipBase: theme.surface_raised,
        role.ToolTipText: theme.ink,
        role.Highlight: theme.accent,
        role.HighlightedText: theme.accent_ink,
        role.Link: theme.accent,
        role.BrightText: theme.stop,
        role.Light: theme.surface_raised,
        role.Midlight: theme.hover,
        role.Mid: theme.line,
        role.Dark: theme.line,
        role.Shadow: theme.line,
    }.items():
        palette.setColor(part, QColor(colour))
    for part in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(group.Disabled, part, QColor(theme.ink_soft))
    return palette

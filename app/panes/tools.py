"""The strip of tools over the canvas, with what the one in hand makes."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QActionGroup, QColor, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton, QWidget

from app.actions import Actions
from app.canvas.gestures.base import OpeningShape
from app.panes.pane import flat_button
from app.panes.rows import paint_swatch
from app.panes.tool_choices import MarkChoice, OpeningChoice
from app.session import Session
from app.style import dress
from app.theme import current_theme
from core.document.panel import MarkKind

TOOLS = (
    "select", "seam", "stripe", "inlay", "relief", "paint", "flip", "opening", "mark",
    "measure",
)  # fmt: skip
WORDS_PX, UNDER_PX = 1155, 860
"""From these widths on the tools have their words beside their icons, or below them; narrower,
the word of the one in hand stands behind the icons, and tips say those of the others."""
ZOOM_PX, ROOMY_PX = {False: 725, True: 1225}, {False: 765, True: 1285}
"""From these widths on, with words or without: all zoom buttons; words in the choices."""
UNDER_ROOMY_PX = 905
"""The same for words in the choices, where the tools have theirs below."""
TIGHT_PX = 655
"""Narrower than this a choice is its list alone."""


class ToolStrip(QFrame):
    """One button a tool, exactly one of them down."""

    def __init__(
        self, session: Session, actions: Actions, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._actions = session, actions
        dress(self, "bar")
        self.group = QActionGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 4, 8, 4)
        row.setSpacing(2)
        self.buttons: list[QToolButton] = []
        for tool in TOOLS:
            action = actions[f"tool_{tool}"]
            self.group.addAction(action)
            self.buttons.append(_tool_button(action))
            row.addWidget(self.buttons[-1])
        actions["tool_select"].setChecked(True)
        row.addSpacing(8)
        self.in_hand = QLabel()
        self.in_hand.setMinimumWidth(
            self.in_hand.fontMetrics().horizontalAdvance("Measure") + 6
        )
        row.addWidget(self.in_hand)
        self.film = _FilmChip()
        self.opening, self.mark = OpeningChoice(), MarkChoice(session)
        for choice in (self.film, self.opening, self.mark):
            row.addWidget(choice)
        row.addStretch()
        self._zoom = [flat_button(actions[f"zoom_{way}"]) for way in ("out", "fit", "in")]
        for button in self._zoom:
            row.addWidget(button)
        self.show_tool("select")

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Leave out what can be done without where it is narrow."""
        super().resizeEvent(event)
        with_words = self.width() >= WORDS_PX
        is_below = UNDER_PX <= self.width() < WORDS_PX
        styles = Qt.ToolButtonStyle
        style = styles.ToolButtonTextUnderIcon if is_below else styles.ToolButtonIconOnly
        for tool in self.buttons:
            tool.setToolButtonStyle(styles.ToolButtonTextBesideIcon if with_words else style)
            if tool.property("look") != (look := "low tool" if is_below else "tool"):
                dress(tool, look)
        for button in (self._zoom[0], self._zoom[2]):
            button.setVisible(self.width() >= ZOOM_PX[with_words])
        is_tight = self.width() < TIGHT_PX
        self.in_hand.setVisible(not (with_words or is_below or is_tight))
        self.opening.set_tight(is_tight=is_tight)
        self.mark.set_tight(is_tight=is_tight)
        self.film.set_short(is_short=self.width() < ROOMY_PX[False])
        roomy = UNDER_ROOMY_PX if is_below else ROOMY_PX[with_words]
        self.mark.set_short(is_short=self.width() < roomy)

    def show_tool(self, tool: str) -> None:
        """Press the button of a tool, and show what can be chosen for it."""
        action = self._actions[f"tool_{tool}"]
        action.setChecked(True)
        self.in_hand.setText(action.text())
        self.opening.setVisible(tool == "opening")
        self.mark.setVisible(tool == "mark")
        self.film.setVisible(tool not in ("opening", "mark"))

    def show_choices(self, shape: OpeningShape, kind: MarkKind, radius_mm: float) -> None:
        """Show how openings are drawn and what marks are."""
        self.opening.show_shape(shape)
        self.mark.show_mark(kind, radius_mm)

    def show_film(self, film: str) -> None:
        """Show the film that the tools use."""
        found = next((f for f in self._session.job.films if f.id == film), None)
        if found is not None:
            self.film.show_film(found.name, found.colour)


class _FilmChip(QWidget):
    """Swatch and name of the film that stripe, inlay and colour use."""

    def __init__(self) -> None:
        super().__init__()
        self.setToolTip(
            "Film for stripes, inlays and colouring: choose it in the list of films"
        )
        self._swatch = _Swatch()
        self._name = QLabel()
        dress(self._name, "quiet")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self._swatch)
        row.addWidget(self._name)

    def set_short(self, *, is_short: bool) -> None:
        """Show the swatch alone, or with the name."""
        self._name.setVisible(not is_short)

    def show_film(self, name: str, colour: str) -> None:
        """Show a film."""
        self._swatch.colour = colour
        self._swatch.update()
        shown = self._name.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, 120)
        self._name.setText(shown)


class _Swatch(QWidget):
    def __init__(self) -> None:
        super().__init__()
        self.colour = "#808080"
        self.setFixedSize(18, 18)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_swatch(
            painter, self.rect().toRectF(), QColor(self.colour).name(), current_theme()
        )


def _tool_button(action: QAction) -> QToolButton:
    button = QToolButton()
    button.setDefaultAction(action)
    button.setIconSize(QSize(18, 18))
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
    dress(button, "tool")
    return button

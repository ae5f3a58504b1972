"""Whether what is selected will lay: the verdict with its figures, above its properties."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.measured.verdict_card import VerdictCard
from app.session import Session
from app.shape_words import DATA_FIRST, RANGE_MEANS, gravest, told_within
from app.shapes import Shapes
from core.plan.shape_check import PieceShape


class ShapeCard(QWidget):
    """The verdict on the selected piece, or the gravest one on the selected panel."""

    def __init__(self, session: Session, shapes: Shapes) -> None:
        super().__init__()
        self._session, self._shapes = session, shapes
        self.card = VerdictCard()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 12)
        column.addWidget(self.card)
        self.refresh()

    def refresh(self) -> None:
        """Show the verdict as it is now; nothing where the panel is flat."""
        panel = self._panel()
        self.setVisible(panel is not None)
        if panel is None:
            return
        shape = self._shape(panel)
        if shape is None:
            self.card.show_verdict("note", "Being worked out…")
            return
        words = told_within(shape, self._shapes.report)
        more = words.more
        if not self._shapes.is_current:
            more = "Being worked out anew…"
        elif more:
            more = f"{more} {DATA_FIRST}"
        self.card.show_verdict(words.tone, words.head, words.text, more)
        self.card.setToolTip(f"{RANGE_MEANS}\n\n{self._shapes.report.caution}")

    def _panel(self) -> str | None:
        """Return the curved panel that the selection is, or lies on."""
        selection = self._session.selection
        if selection.kind == "panel" and len(selection.ids) > 1:
            return None
        name = selection.panel or (selection.ids[0] if selection.kind == "panel" else None)
        panels = {p.id: p for p in self._session.job.panels}
        panel = panels.get(name) if name else None
        return panel.id if panel is not None and panel.surface is not None else None

    def _shape(self, panel: str) -> PieceShape | None:
        ids = self._session.selection.ids
        copies = [p for p in self._session.plan.panels if p.of == panel]
        pieces = [piece for copy in copies for piece in copy.pieces]
        chosen = {p.id for p in pieces if p.id in ids or any(r in ids for r in p.regions)}
        wanted = chosen or {p.id for p in pieces}
        return gravest(s for s in self._shapes.report.pieces if s.piece in wanted)

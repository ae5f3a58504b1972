"""Properties of relief cuts: how far they run in, and the hole at their inner end."""

import math

from app.panes.editor import Editor
from app.session import Session
from core.document.edits.lines import find_line, rename_line, set_hole
from core.document.edits.reliefs import path_length_mm, set_relief_length
from core.document.job import Job
from core.document.lines import Relief, line_name
from core.plan.relief_words import find_relief, opening_words
from core.units import format_length

CAUTION = (
    "Cut it before the film is laid. On the part only over cutting tape, never with a blade"
    " over paint; the makers' instructions come first."
)


class ReliefEditor(Editor):
    """Edits one relief cut, or the hole that several have."""

    def __init__(self, session: Session, ids: tuple[str, ...]) -> None:
        super().__init__(session)
        self._ids = ids
        is_one = len(ids) == 1
        self.name = self.add_text("Name", self._on_name) if is_one else None
        self.length = self.add_length("Length", self._on_length) if is_one else None
        self.hole = self.add_length("Hole at the end", self._on_hole)
        self.hole.setToolTip("Round, across, so that the film does not tear on; 0 for none")
        self.words = self.add_words()
        self.add_words(CAUTION)

    def refresh(self) -> None:
        """Show the values as they are now."""
        line, units = self._line(), self.session.job.units
        is_one = len(self._ids) == 1
        self.title = line_name(line) if is_one else f"{len(self._ids)} relief cuts"
        if self.name:
            self.name.setPlaceholderText(f"Relief cut {line.id[1:]}")
            self.name.show_text(line.name)
        if self.length:
            self.length.show_mm(self._seen_mm(), units)
        self.hole.show_mm(line.hole_mm, units)
        self.words.setText(self._words() if is_one else "")

    def _words(self) -> str:
        units = self.session.job.units
        found = find_relief(self.session.plan, self._ids[0])
        if found is None:
            return "It cuts nothing as it is drawn: Review says why."
        piece, cut = found
        parts = (
            f"From {cut.start} it runs in {format_length(cut.seen_mm, units)}.",
            opening_words(piece, self._ids[0], units),
            "Its sides meet when the film is laid.",
        )
        return " ".join(part for part in parts if part)

    def _line(self) -> Relief:
        line = find_line(self.session.job, self.session.variant, self._ids[0])[1]
        assert isinstance(line, Relief)
        return line

    def _on_name(self, name: str) -> None:
        variant, line = self.session.variant, self._ids[0]
        self.edit(f"Rename {self.title}", lambda job: rename_line(job, variant, line, name))

    def _seen_mm(self) -> float:
        """Return how far it runs in from where it starts; as drawn while it cuts nothing."""
        found = find_relief(self.session.plan, self._ids[0])
        return path_length_mm(self._line().nodes) if found is None else found[1].seen_mm

    def _on_length(self, length: float | None) -> None:
        variant, line = self.session.variant, self._ids[0]
        keeps = self._starts_at_rim()
        beyond = path_length_mm(self._line().nodes) - self._seen_mm()
        self.edit(
            f"Change length of {self.title}",
            lambda job: set_relief_length(
                job, variant, line, length or 0.0, keeps_start=keeps, beyond_mm=beyond
            ),
            field=self.length,
        )

    def _starts_at_rim(self) -> bool:
        """Whether the cut was drawn from the rim inwards; in doubt it is taken to be."""
        found = find_relief(self.session.plan, self._ids[0])
        if found is None:
            return True
        nodes, inner = self._line().nodes, found[1].path.coords[-1]
        return math.dist(nodes[-1].at, inner) <= math.dist(nodes[0].at, inner)

    def _on_hole(self, hole: float | None) -> None:
        variant = self.session.variant

        def all_of_them(job: Job) -> Job:
            for line in self._ids:
                job = set_hole(job, variant, line, hole or 0.0)
            return job

        self.edit(f"Change the hole of {self.title}", all_of_them)

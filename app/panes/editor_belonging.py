"""Properties of what lies on a panel itself: its marks and openings."""

from collections.abc import Callable

from app.panes.editor import Editor
from app.panes.tool_choices import KINDS
from app.session import Session
from core.document.edits.belongings import (
    find_belonging,
    set_mark,
    set_opening,
    set_opening_size,
)
from core.document.job import Job
from core.document.measures import ring_size
from core.document.panel import Mark, MarkKind, Opening

Change = Callable[[Job, str], Job]


class MarkEditor(Editor):
    """Edits one mark, or what several have in common."""

    def __init__(self, session: Session, ids: tuple[str, ...]) -> None:
        super().__init__(session)
        self._ids = ids
        marks = self._marks()
        is_line = all(len(mark.path) > 1 for mark in marks)
        self.kind = self.add_choice("Kind", self._on_kind)
        self.radius = self.add_length("Half-width" if is_line else "Radius", self._on_radius)
        self.note = self.add_text("Note", self._on_note)
        self.note.setEnabled(len(ids) == 1)

    def refresh(self) -> None:
        """Show the values as they are now."""
        marks, first = self._marks(), self._marks()[0]
        kinds = {mark.kind for mark in marks}
        self.title = first.kind.value.capitalize()
        if len(marks) > 1:
            self.title = f"{len(marks)} marks"
        self.kind.show_choice(KINDS, first.kind if len(kinds) == 1 else None)
        self.radius.show_mm(first.radius_mm, self.session.job.units)
        self.note.show_text(first.note if len(marks) == 1 else "")

    def _marks(self) -> list[Mark]:
        found = [find_belonging(self.session.job, name)[1] for name in self._ids]
        return [one for one in found if isinstance(one, Mark)]

    def _on_kind(self, kind: MarkKind) -> None:
        self._set("kind", lambda job, mark: set_mark(job, mark, kind=kind))

    def _on_radius(self, radius_mm: float | None) -> None:
        self._set("radius", lambda job, mark: set_mark(job, mark, radius_mm=radius_mm))

    def _on_note(self, note: str) -> None:
        self._set("note", lambda job, mark: set_mark(job, mark, note=note))

    def _set(self, what: str, change: Change) -> None:
        def changed(job: Job) -> Job:
            for mark in self._ids:
                job = change(job, mark)
            return job

        self.edit(f"Change the {what} of {_inside(self.title)}", changed)


class OpeningEditor(Editor):
    """Edits one opening, or the edge turn of several."""

    def __init__(self, session: Session, ids: tuple[str, ...]) -> None:
        super().__init__(session)
        self._ids = ids
        self.name = self.add_text("Name", self._on_name)
        self.across = self.add_length("Width", lambda mm: self._scale(mm, None))
        self.upright = self.add_length("Height", lambda mm: self._scale(None, mm))
        for field in (self.name, self.across, self.upright):
            self._form.setRowVisible(field, len(ids) == 1)
        self.turn = self.add_length("Edge turn", self._on_turn)
        self.turn.setToolTip("Film turned into the opening; 0 cuts it flush")

    def refresh(self) -> None:
        """Show the values as they are now."""
        job = self.session.job
        panel, opening = find_belonging(job, self._ids[0])
        assert isinstance(opening, Opening)
        self.title = opening.name or f"Opening of {panel.name}"
        if len(self._ids) > 1:
            self.title = f"{len(self._ids)} openings"
        width, height = ring_size(opening.nodes)
        self.name.show_text(opening.name)
        self.across.show_mm(width, job.units)
        self.upright.show_mm(height, job.units)
        self.turn.show_mm(opening.turn_mm, job.units)

    def _on_name(self, name: str) -> None:
        self.edit("Rename an opening", lambda job: set_opening(job, self._ids[0], name=name))

    def _on_turn(self, turn_mm: float | None) -> None:
        def change(job: Job) -> Job:
            for opening in self._ids:
                job = set_opening(job, opening, turn_mm=turn_mm)
            return job

        self.edit(f"Change the edge turn of {_inside(self.title)}", change)

    def _scale(self, width_mm: float | None, height_mm: float | None) -> None:
        self.edit(
            f"Scale {_inside(self.title)}",
            lambda job: set_opening_size(job, self._ids[0], width_mm, height_mm),
        )


def _inside(title: str) -> str:
    """Return a title as it stands within a sentence: kinds of marks get an article."""
    kinds = {kind.value.capitalize() for kind in MarkKind}
    return f"the {title.lower()}" if title in kinds else title

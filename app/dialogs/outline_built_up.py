"""Dialogs that make two panels of one or one of two: cut in two, join, cut away."""

from PySide6.QtWidgets import QWidget

from app.dialogs.form import read_length
from app.dialogs.outline_form import OutlineDialog
from app.panes.controls import Combo, Tick
from app.session import Session
from core.document.edits.built_up import cut_away, overlapping_panels
from core.document.job import Job
from core.plan.keep_colours import join_in_colour, split_in_colour


class SplitDialog(OutlineDialog):
    """Cuts a panel in two between two nodes."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Cut the panel in two", parent, button="Cut")
        self.start = self.add_node("From")
        self.end = self.add_node("To", after=len(self.panel.outline) // 2)
        self.turn = self.add_typed(
            "Edge turn at the cut",
            self.panel.edge_turn_mm,
            "How far film is turned round the new edges",
        )
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Cut {self.panel.name} in two"

    def change(self, job: Job) -> Job:
        """Cut as the fields say."""
        self.note.setText(
            "Seams and stripes are cut where they cross; openings and marks go to their side."
        )
        turn: float | None = read_length(self.turn, job.units)
        if self.turn.text() == self.say(self.panel.edge_turn_mm):
            turn = None
        return split_in_colour(job, self.panel_id, (self.start.node, self.end.node), turn)


class _TwoPanelDialog(OutlineDialog):
    """A change of one panel by another that lies over it."""

    def add_other(self, label: str) -> Combo:
        """Let another panel be chosen."""
        others = [p for p in self.job.panels if p.id != self.panel_id]
        chosen = [i for i in self.session.selection.ids if i != self.panel_id]
        chosen = chosen or overlapping_panels(self.job, self.panel_id)
        combo = self.add_options(label, [(p.name, str(p.id)) for p in others])
        if chosen and combo.findData(chosen[0]) >= 0:
            combo.setCurrentIndex(combo.findData(chosen[0]))
        return combo

    def show_other(self, other: str) -> None:
        """Show the other panel as it is, dashed as well."""
        self.picture.show_before([self.panel, self.job.panel(other)])


class JoinDialog(_TwoPanelDialog):
    """Makes one panel of two that overlap."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Join with another panel", parent, button="Join")
        self.other = self.add_other("With")
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Join {self.panel.name} with {self.other.currentText()}"

    def change(self, job: Job) -> Job:
        """Join as the fields say."""
        other = str(self.other.currentData())
        if job.panel(other).base_film != self.panel.base_film:
            self.note.setText(
                f"The whole takes the base film of {self.panel.name}:"
                f" {job.film(self.panel.base_film).name}."
            )
        return join_in_colour(job, self.panel_id, other)

    def refresh(self) -> bool:
        """Try the change and show both panels as they are."""
        is_done = super().refresh()
        self.show_other(str(self.other.currentData()))
        return is_done


class CutAwayDialog(_TwoPanelDialog):
    """Cuts the shape of another panel out of one."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        title = "Cut away another panel's shape"
        super().__init__(session, title, parent, button="Cut away")
        self.other = self.add_other("Shape of")
        self.keep = Tick("Keep the other panel")
        self.keep.setChecked(True)
        self.keep.toggled.connect(self.refresh_soon)
        self.form.addRow("", self.keep)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Cut {self.other.currentText()} out of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Cut as the fields say."""
        other = str(self.other.currentData())
        return cut_away(job, self.panel_id, other, keeps_other=self.keep.isChecked())

    def refresh(self) -> bool:
        """Try the change and show both panels as they are."""
        is_done = super().refresh()
        self.show_other(str(self.other.currentData()))
        return is_done

"""What the dialogs of the Panel menu share: fields on the left, a live picture on the right.

Whatever is typed is tried at once on the job and shown, on the canvas as well; what cannot be
done is said in words. Accepting makes one undo step, anything else leaves no trace.
"""

from collections.abc import Sequence

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QDialog, QLineEdit, QWidget

from app.dialogs.form import FormDialog
from app.dialogs.outline_picture import OutlinePicture
from app.panes.controls import Combo
from app.panes.pane import quiet_label
from app.session import Session
from core.document.edits.outlines import find_ring, opening_name
from core.document.job import Job
from core.document.panel import Panel
from core.document.path import Path
from core.errors import LaplineError
from core.units import format_length

PAUSE_MS = 60
"""Typing pauses so long before a change is tried."""


def _keep_narrow(combo: Combo) -> None:
    """Let the label beside a choice have its room, however long the options are."""
    combo.setSizeAdjustPolicy(Combo.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    combo.setMinimumContentsLength(8)


class NodeChoice(Combo):
    """A choice among the nodes of a ring, by number."""

    def show_ring(self, ring: Path, wanted: str) -> None:
        """Offer a ring's nodes with one of them chosen."""
        self.blockSignals(True)  # noqa: FBT003 - Qt's own signature
        self.clear()
        for node in ring:
            self.addItem(f"Node {node.id[1:]}", str(node.id))
        self.setCurrentIndex(max(self.findData(wanted), 0))
        self.blockSignals(False)  # noqa: FBT003 - Qt's own signature

    @property
    def node(self) -> str:
        """Id of the chosen node."""
        return str(self.currentData())

    def pick(self, node: str) -> None:
        """Choose a node by its id."""
        self.setCurrentIndex(self.findData(node))


class OutlineDialog(FormDialog):
    """A change of one panel, tried while it is typed.

    Subclasses add their fields, call ``finish``, and override ``change`` and ``sentence``.
    """

    def __init__(
        self, session: Session, title: str, parent: QWidget | None, *, button: str
    ) -> None:
        super().__init__(title, parent, button=button)
        self.session = session
        self.job = session.committed_job
        selection = session.selection
        self.panel_id = str(selection.panel or selection.ids[0])
        self._wanted_node = str(selection.node or "")
        self._wanted_ring = selection.ids[0] if selection.kind == "node" else self.panel_id
        self.picture = OutlinePicture()
        self.note = quiet_label("")
        self.ring: Combo | None = None
        self._choices: list[NodeChoice] = []
        self._next_choice = 0
        self._is_closing = False
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self.refresh)
        self.picture.clicked.connect(self._on_node_clicked)

    # For subclasses

    @property
    def sentence(self) -> str:
        """What was done, as the undo menu says it."""
        raise NotImplementedError

    def change(self, job: Job) -> Job:
        """Return the job changed as the fields say. LaplineError when they are not usable."""
        raise NotImplementedError

    def ready(self) -> None:
        """Bring fields up to date before a change is tried."""

    @property
    def panel(self) -> Panel:
        """The panel as it is without the change."""
        return self.job.panel(self.panel_id)

    @property
    def ring_id(self) -> str:
        """The ring that is worked on: the panel's id or an opening's."""
        return self.panel_id if self.ring is None else str(self.ring.currentData())

    @property
    def path(self) -> Path:
        """The ring that is worked on."""
        return find_ring(self.panel, self.ring_id)

    def say(self, length_mm: float) -> str:
        """Return a length in the job's units, to a tenth of a millimetre or so."""
        return format_length(length_mm, self.job.units)

    def add_ring(self) -> None:
        """Let outline or opening be chosen, where there are openings."""
        if not self.panel.openings:
            return
        self.ring = Combo()
        self.ring.addItem("Outline", self.panel_id)
        for opening in self.panel.openings:
            self.ring.addItem(opening_name(opening), str(opening.id))
        self.ring.setCurrentIndex(max(self.ring.findData(self._wanted_ring), 0))
        self.ring.currentIndexChanged.connect(self._on_ring)
        self.add_field("Rim", self.ring)

    def add_node(self, label: str, *, after: int = 0) -> NodeChoice:
        """Add a choice of a node: the selected one, or one some places behind it."""
        choice = NodeChoice()
        choice.setProperty("after", after)
        choice.currentIndexChanged.connect(self._on_choice)
        self.add_field(label, choice)
        self._choices.append(choice)
        return choice

    def add_typed(self, label: str, value_mm: float, tip: str = "") -> QLineEdit:
        """Add a length that is tried while it is typed."""
        field = self.add_length(label, value_mm, self.job.units)
        field.setToolTip(tip)
        field.textEdited.connect(self.refresh_soon)
        return field

    def add_options(self, label: str, options: Sequence[tuple[str, object]]) -> Combo:
        """Add a choice that is tried at once."""
        combo = Combo()
        for text, value in options:
            combo.addItem(text, value)
        _keep_narrow(combo)
        combo.currentIndexChanged.connect(self.refresh_soon)
        self.add_field(label, combo)
        return combo

    def finish(self) -> None:
        """Lay the dialog out and try what the fields say."""
        left = self.set_beside(self.picture, 304)
        left.addWidget(self.note)
        left.addWidget(self.problem)
        left.addStretch()
        self.resize(840, 480)
        self._fill_choices()
        self.refresh()

    # What goes on

    def refresh_soon(self, *_: object) -> None:
        """Try the change after a pause in typing."""
        self._pause.start()

    def refresh(self) -> bool:
        """Try the change and show it; tell whether it can be done."""
        self._pause.stop()
        self.note.setText("")
        try:
            self.ready()
            self._show(self.change(self.job))
        except LaplineError as error:
            self._show(None)
            self._say_problem(error.sentence())
            return False
        self._say_problem("")
        return True

    def check(self) -> None:
        """Try the change a last time."""
        self.session.drop_preview()
        self._changed = self.change(self.job)

    def done(self, result: int) -> None:
        """Make the undo step, or leave no trace."""
        self._pause.stop()
        if result == QDialog.DialogCode.Accepted:
            self.session.do(self.sentence, self._changed)
        else:
            self.session.drop_preview()
        super().done(result)

    def _say_problem(self, text: str) -> None:
        self.problem.setText(text)
        self.problem.setVisible(bool(text))
        self.buttons.button(self.buttons.StandardButton.Ok).setEnabled(not text)
        self.note.setVisible(bool(self.note.text()) and not text)

    def _show(self, job: Job | None) -> None:
        """Show the job as it is and as it would be."""
        old = self.panel
        self.picture.show_before([old])
        shown = self._shown_choices()
        self.picture.show_nodes(self.path if shown else (), old.at)
        self.picture.show_chosen([c.node for c in shown])
        if job is None:
            self.session.drop_preview()
            self.picture.show_after([])
            return
        self.session.preview(job)
        known = {p.id: p for p in self.job.panels}
        changed = [p for p in job.panels if p is not known.get(p.id)]
        here = [p for p in job.panels if p.id == self.panel_id]
        panels = list({p.id: p for p in [*here, *changed]}.values())
        lines = []
        for panel in panels:
            scheme = job.scheme(self.session.variant, panel.id)
            lines += [(x.nodes, x in scheme.inlays, panel.at) for x in scheme.lines]
        self.picture.show_after(panels, lines)

    def _shown_choices(self) -> list[NodeChoice]:
        return [c for c in self._choices if self.form.isRowVisible(c)]

    def _fill_choices(self) -> None:
        ring = self.path
        ids = [str(n.id) for n in ring]
        start = ids.index(self._wanted_node) if self._wanted_node in ids else 0
        for choice in self._choices:
            choice.show_ring(ring, ids[(start + int(choice.property("after"))) % len(ids)])

    def _on_ring(self) -> None:
        self._fill_choices()
        self.refresh()

    def _on_choice(self) -> None:
        sender = self.sender()
        if sender in self._choices:
            self._next_choice = (self._choices.index(sender) + 1) % len(self._choices)
        self.refresh_soon()

    def _on_node_clicked(self, node: str) -> None:
        shown = self._shown_choices()
        if shown:
            choice = shown[self._next_choice % len(shown)]
            self._next_choice = (shown.index(choice) + 1) % len(shown)
            choice.blockSignals(True)  # noqa: FBT003 - Qt's own signature
            choice.pick(node)
            choice.blockSignals(False)  # noqa: FBT003 - Qt's own signature
            self.refresh()

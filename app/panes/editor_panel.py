"""Properties of panels: film, edge turn, how many, and how their pieces get their shape."""

from typing import Any

from msgspec.structs import replace
from PySide6.QtWidgets import QPushButton

from app.panes.controls import Tick
from app.panes.editor import Editor
from app.panes.fields import CountField, TasksField
from app.session import Session
from core.document.choices import Difficulty
from core.document.edits.outlines import scale_to_size
from core.document.edits.panels import replace_panel
from core.document.edits.preparation import set_preparation
from core.document.job import Job
from core.document.measures import ring_size
from core.document.panel import Panel, Trim
from core.plan.preparation import preparation_of
from core.plan.tries import planned_tries

TRIM_WORDS = {Trim.PRE_CUT: "Pre-cut", Trim.ON_PART: "Trimmed on part"}
FLOW_WORDS: tuple[tuple[str, float | None], ...] = (
    ("Does not matter", None),
    ("To the right", 0.0),
    ("Upwards", 90.0),
    ("To the left", 180.0),
    ("Downwards", 270.0),
)


class PanelEditor(Editor):
    """Edits one panel, or what several have in common."""

    def __init__(self, session: Session, ids: tuple[str, ...]) -> None:
        super().__init__(session)
        self._ids = ids
        is_one = len(ids) == 1
        self.name = self.add_text("Name", lambda t: self._set("Rename", name=t))
        self.name.setEnabled(is_one)
        self.film = self.add_choice(
            "Base film", lambda f: self._set("Change film", base_film=f)
        )
        self.across = self.add_length("Width", lambda mm: self._scale(mm, None))
        self.upright = self.add_length("Height", lambda mm: self._scale(None, mm))
        for field in (self.across, self.upright):
            self._form.setRowVisible(field, is_one)
        self.turn = self.add_length(
            "Edge turn", lambda mm: self._set("Change edge turn", edge_turn_mm=mm)
        )
        self.trim = self.add_choice("Cut", lambda t: self._set("Change cut", trim=t))
        self.flow = self.add_choice("Air flows", lambda f: self._set("Change flow", flow_deg=f))
        self.pair = Tick("Mirrored pair")
        self.pair.toggled.connect(self._on_pair)
        self.pair.setToolTip("A left one as drawn, and a right one mirrored")
        self.add_row("Sides", self.pair)
        self.count = CountField(1, 100)
        self.count.counted.connect(lambda n: self._set("Change count", count=n))
        self.add_row("How many", self.count)
        self.difficulty = self.add_choice(
            "To lay", lambda d: self._set("Change difficulty", difficulty=d)
        )
        self.tries = CountField(0, 20)
        self.tries.counted.connect(lambda n: self._set("Change tries", tries=n or None))
        self.add_row("Tries a piece", self.tries)
        self.note = self.add_words()
        self._add_tasks()

    def _add_tasks(self) -> None:
        """Add what is done before any film is laid."""
        self.tasks = TasksField()
        self.tasks.given.connect(self._on_tasks)
        self.tasks.setToolTip("One task a line; they stand on the bench sheet, to be ticked")
        self.usual = QPushButton("Take the usual tasks")
        self.usual.clicked.connect(lambda: self._on_tasks(None))
        self.add_words("Before any film is laid:")
        self._form.addRow(self.tasks)
        self.tasks.setAccessibleName("Before any film is laid")
        self._form.addRow(self.usual)

    def refresh(self) -> None:
        """Show the values as they are now."""
        job = self.session.job
        panel = job.panel(self._ids[0])
        is_one = len(self._ids) == 1
        self.title = panel.name if is_one else f"{len(self._ids)} panels"
        self.name.show_text(panel.name if is_one else "")
        self.film.show_choice(self.film_options(), panel.base_film)
        self.turn.show_mm(panel.edge_turn_mm, job.units)
        if is_one:
            width, height = ring_size(panel.outline)
            self.across.show_mm(width, job.units)
            self.upright.show_mm(height, job.units)
        self.trim.show_choice([(w, t) for t, w in TRIM_WORDS.items()], panel.trim)
        self.flow.show_choice(_flow_options(panel), panel.flow_deg)
        blocked = self.pair.blockSignals(True)  # noqa: FBT003 - Qt's own signature
        self.pair.setChecked(panel.is_pair)
        self.pair.blockSignals(blocked)
        self.count.show_count(panel.count)
        self.difficulty.show_choice(_difficulties(job), panel.difficulty)
        usual = planned_tries(replace(panel, tries=None), job.settings)
        self.tries.setSpecialValueText(f"{usual}, as the job")
        self.tries.show_count(panel.tries or 0)
        turned = [n for n in panel.outline if n.turn_mm is not None]
        self.note.setText("Some edges have a turn of their own." if turned else "")
        self.tasks.show_tasks(preparation_of(panel))
        self._form.setRowVisible(self.usual, panel.preparation is not None)

    def _set(self, sentence: str, **values: Any) -> None:
        ids = self._ids

        def change(job: Job) -> Job:
            for panel in ids:
                job = replace_panel(job, replace(job.panel(panel), **values))
            return job

        self.edit(f"{sentence} of {self.title}", change)

    def _on_tasks(self, tasks: list[str] | None) -> None:
        def change(job: Job) -> Job:
            for panel in self._ids:
                job = set_preparation(job, panel, tasks)
            return job

        self.edit(f"Change what is done before on {self.title}", change)

    def _scale(self, width_mm: float | None, height_mm: float | None) -> None:
        self.edit(
            f"Scale {self.title} to measures",
            lambda job: scale_to_size(job, self._ids[0], width_mm, height_mm),
        )

    def _on_pair(self, is_pair: bool) -> None:  # noqa: FBT001 - a slot
        self._set("Change pair", is_pair=is_pair)


def _difficulties(job: Job) -> list[tuple[str, object]]:
    easy, hard = job.settings.tries, job.settings.hard_tries
    return [
        ("As planned", None),
        (f"Easy: {easy} {_tries(easy)}", Difficulty.EASY),
        (f"Hard: {hard} {_tries(hard)}", Difficulty.HARD),
    ]


def _tries(count: int) -> str:
    return "try" if count == 1 else "tries"


def _flow_options(panel: Panel) -> list[tuple[str, object]]:
    options: list[tuple[str, object]] = list(FLOW_WORDS)
    if panel.flow_deg not in [value for _, value in FLOW_WORDS]:
        options.append((f"At {panel.flow_deg:g}°", panel.flow_deg))
    return options

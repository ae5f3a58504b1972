"""A first panel from three typed sizes: width, height, corner radius."""

from PySide6.QtWidgets import QWidget

from app.dialogs.form import FormDialog, read_length, read_name
from app.panes.controls import Combo, Tick
from core.document.edits.ids import free_id
from core.document.job import Job
from core.document.panel import Panel
from core.document.path import Node, Path
from core.errors import InputError
from core.ids import NodeId

ROUND = 0.5522847498
"""Handle length of a quarter circle of radius 1; error below 0.03 %. Source: standard
approximation, where the curve's middle lies on the circle: 4/3 (sqrt 2 - 1)."""
SPACE_MM = 150.0


class PanelSizeDialog(FormDialog):
    """Asks for a rectangular panel. ``panel`` is the result after it was accepted."""

    def __init__(self, job: Job, parent: QWidget | None) -> None:
        super().__init__("Add panel by size", parent, button="Add panel")
        self._job = job
        self.panel: Panel | None = None
        self.name = self.add_text("Name", f"Panel {len(job.panels) + 1}")
        self.across = self.add_length("Width", 800.0, job.units)
        self.upright = self.add_length("Height", 500.0, job.units)
        self.radius = self.add_length("Corner radius", 40.0, job.units)
        self.turn = self.add_length("Edge turn", 10.0, job.units)
        self.film = Combo()
        self._films = sorted(job.films, key=lambda f: f.rank)
        self.film.addItems([f.name for f in self._films])
        self.add_field("Base film", self.film)
        self.pair = Tick("There is a left and a right one, mirrored")
        self.form.addRow("", self.pair)
        self.finish_layout()

    def check(self) -> None:
        """Read the panel from the fields."""
        units = self._job.units
        width = read_length(self.across, units, least_mm=10.0)
        height = read_length(self.upright, units, least_mm=10.0)
        radius = read_length(self.radius, units)
        if 2 * radius >= min(width, height):
            raise InputError(
                "The corners do not fit on the panel.",
                where="Corner radius",
                mend="Make the radius less than half the shorter side.",
            )
        if not self._films:
            raise InputError("The job has no film.", mend="Add a film first.")
        self.panel = Panel(
            id=free_id(self._job, "p"),
            name=read_name(self.name),
            outline=rounded_rectangle(width, height, radius),
            base_film=self._films[self.film.currentIndex()].id,
            edge_turn_mm=read_length(self.turn, units),
            is_pair=self.pair.isChecked(),
            at=free_place(self._job),
        )


def free_place(job: Job) -> tuple[float, float]:
    """Return a place on the canvas to the right of all panels."""
    rights = [p.at[0] + max(n.at[0] for n in p.outline) for p in job.panels]
    return (max(rights) + SPACE_MM if rights else 0.0, 0.0)


def rounded_rectangle(width: float, height: float, radius: float) -> Path:
    """Return a rectangle from the origin, counter-clockwise; radius 0 gives sharp corners."""
    if radius == 0:
        corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
        return tuple(Node(id=NodeId(f"n{i}"), at=at) for i, at in enumerate(corners, 1))
    r, h = radius, radius * ROUND
    # Each corner is two nodes: where the side ends, and where the next begins.
    spots = [
        ((width - r, 0.0), (h, 0.0), True), ((width, r), (0.0, -h), False),
        ((width, height - r), (0.0, h), True), ((width - r, height), (h, 0.0), False),
        ((r, height), (-h, 0.0), True), ((0.0, height - r), (0.0, h), False),
        ((0.0, r), (0.0, -h), True), ((r, 0.0), (-h, 0.0), False),
    ]  # fmt: skip
    return tuple(
        Node(
            id=NodeId(f"n{i}"),
            at=at,
            smooth=True,
            after=handle if is_leaving else None,
            before=None if is_leaving else handle,
        )
        for i, (at, handle, is_leaving) in enumerate(spots, 1)
    )

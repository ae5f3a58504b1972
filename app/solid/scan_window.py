"""A scan becomes a panel: its scale, what is to be covered, its rim, its name and film."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QDialog, QHBoxLayout, QWidget
from shapely import Polygon
from shiboken6 import isValid

from app.dialogs.form import read_length, read_name
from app.jobs import Work
from app.solid.choice import Choice
from app.solid.scan_form import ScanForm
from app.solid.scan_size import size_doubt
from app.solid.view import SolidView, Trace
from app.theme import current_theme
from core.document.job import Job
from core.errors import InputError, LaplineError
from core.read.scan import ScanMesh, scaled
from core.read.scan_closing import openings_closed
from core.read.scan_mending import turned_over
from core.read.scan_part import (
    Chosen,
    grown_from,
    loops_of,
    within_lasso,
    within_loop,
)
from core.shape.model import Points
from core.shape.picking import in_sight, loop_near
from core.shape.view_paint import Skin, Solid
from core.units import format_length

REACH_PX = 14.0
CASING_PX = 4.0
CHOSEN, LEFT_OUT = {False: (92, 160, 158), True: (84, 170, 168)}, (186, 182, 172)


@dataclass(frozen=True, eq=False)
class WantedPart:
    """What was chosen of a scan, and the panel that it becomes."""

    mesh: ScanMesh
    chosen: Chosen
    name: str
    film: str


class ScanWindow(QDialog):
    """Chooses what of a scan is to be covered. ``part`` is the result once it was accepted."""

    def __init__(
        self,
        mesh: ScanMesh,
        job: Job,
        title: str,
        told: Sequence[str],
        parent: QWidget | None = None,
    ) -> None:
        """Show a scan.

        Args:
            mesh: the scan as mended.
            job: gives units and films.
            title: the file's name.
            told: what was mended or found while reading, a sentence each.
            parent: the window that it belongs to.
        """
        super().__init__(parent)
        self.part: WantedPart | None = None
        self._mesh, self._job = mesh, job
        self._factor = 1.0
        self._marks: list[Points] = []
        self._all_loops: list[NDArray[np.int64]] | None = None
        self._picked: tuple[int, bool] | None = None
        self.setWindowTitle(f"Panel from {title}")
        self.resize(1180, 760)
        self.view = SolidView()
        self.choice = Choice(mesh)
        self._solid = Solid(mesh.vertices, mesh.triangles)
        self.form = ScanForm(title, told, job)
        self._lay_out()
        self._connect()
        self.form.show_factor(1.0)
        self._look_from_outside()
        self._take_way("angle")
        self._tell_choice()

    def _lay_out(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 20, 24, 20)
        row.setSpacing(20)
        row.addWidget(self.form)
        row.addWidget(self.view, 1)

    def _connect(self) -> None:
        form = self.form
        self.view.clicked.connect(self._on_clicked)
        self.view.lassoed.connect(self._on_lassoed)
        form.way_taken.connect(self._take_way)
        form.angle.valueChanged.connect(self._pick_anew)
        form.lean.valueChanged.connect(self._pick_anew)
        form.unit.chosen.connect(self._set_factor)
        form.set_length.clicked.connect(self._scale_to_length)
        form.length.returnPressed.connect(self._scale_to_length)
        form.all.clicked.connect(lambda: self._choose_every(chosen=True))
        form.none.clicked.connect(lambda: self._choose_every(chosen=False))
        form.back.clicked.connect(self._go_back)
        form.close_up.clicked.connect(self._close_openings)
        form.across.returnPressed.connect(self._close_openings)
        form.other_side.clicked.connect(self._turn_over)
        form.cancel.clicked.connect(self.reject)
        form.make.clicked.connect(self.accept)
        QShortcut(QKeySequence("Ctrl+Z"), self, self._go_back)

    # Choosing

    def _take_way(self, name: str) -> None:
        self.form.show_way(name)
        self.view.takes_lasso = name == "lasso"
        self._marks = []
        self._show_traces()

    def _on_clicked(self, triangle: int, place: QPointF) -> None:
        if self.form.way == "loop":
            self._pick_loop(place)
        elif triangle < 0:
            return
        elif self.form.way == "angle":
            self._choose(self._grown(triangle))
            self._picked = triangle, self._takes_away
        elif self.form.way == "shell":
            self._choose(grown_from(self._mesh, triangle, edge_deg=180.0))
        elif self.form.way == "length":
            self._mark_point(place)

    def _grown(self, triangle: int) -> Chosen:
        edge, lean = float(self.form.angle.value()), float(self.form.lean.value())
        return grown_from(self._mesh, triangle, edge_deg=edge, lean_deg=lean)

    def _pick_anew(self) -> None:
        """Choose what was clicked last with the angles as they are now."""
        if self._picked is not None:
            triangle, takes = self._picked
            self.choice.change_last(self._grown(triangle), takes=takes)
            self._show_choice()

    def _on_lassoed(self, lasso: Points) -> None:
        camera, raster = self.view.camera, self.view.raster
        if camera is None or raster is None:
            return
        middles = self._mesh.vertices[self._mesh.triangles].mean(axis=1)
        seen = in_sight(middles, camera, raster, self._solid)
        at_px, _ = camera.project(self._mesh.vertices)
        self._choose(within_lasso(self._mesh, at_px, Polygon(lasso), seen))

    def _choose(self, mask: Chosen) -> None:
        if not mask.any():
            return
        self._picked = None
        if self._takes_away:
            self.choice.take(mask)
        else:
            self.choice.add(mask)
        self._show_choice()

    def _choose_every(self, *, chosen: bool) -> None:
        self._picked = None
        self.choice.start_with(np.full(len(self._mesh.triangles), chosen, dtype=np.bool_))
        self._show_choice()

    @property
    def _takes_away(self) -> bool:
        keys = QApplication.keyboardModifiers()
        return self.form.takes_away.isChecked() or bool(
            keys & Qt.KeyboardModifier.ControlModifier
        )

    def _pick_loop(self, place: QPointF) -> None:
        camera = self.view.camera
        if camera is None:
            return
        at_px, _ = camera.project(self._mesh.vertices)
        if self._all_loops is None:
            self._all_loops = loops_of(self._mesh)
        found = loop_near(self._all_loops, at_px, (place.x(), place.y()), REACH_PX)
        if found is not None:
            self._choose(within_loop(self._mesh, self._all_loops[found]))

    def _go_back(self) -> None:
        self._picked = None
        self.choice.go_back()
        self._show_choice()

    # Scale

    def _set_factor(self, factor: float) -> None:
        self._factor = factor
        self._show_facts()

    def _mark_point(self, place: QPointF) -> None:
        triangle, shares = self.view.pick(place)
        if shares is None:
            return
        point = shares @ self._solid.points[self._mesh.triangles[triangle]]
        self._marks = [*self._marks[-1:], point]
        self._show_traces()
        if len(self._marks) == 2:
            now = self._distance() * self._factor
            words = format_length(now, self._job.units)
            self.form.scale_words.setText(
                f"The two points are {words} apart now, in a straight line."
            )
            self.form.length.setFocus()

    def _distance(self) -> float:
        return float(np.linalg.norm(self._marks[1] - self._marks[0]))

    def _scale_to_length(self) -> None:
        try:
            if len(self._marks) < 2 or self._distance() <= 0:
                raise InputError("Click two points on the part first.", where="Scale")
            true = read_length(self.form.length, self._job.units, least_mm=1.0)
        except LaplineError as error:
            self.form.tell(error.sentence())
            return
        self.form.tell("")
        self._factor = true / self._distance()
        self.form.show_factor(self._factor)
        self._show_facts()

    def _turn_over(self) -> None:
        """Let film go on the other side of the scan."""
        self._mesh = turned_over(self._mesh)
        self._solid = Solid(self._mesh.vertices, self._mesh.triangles)
        self.choice.turn_to(self._mesh)
        self._look_from_outside()
        self._tell_choice()

    # Closing

    def _close_openings(self) -> None:
        """Close the openings of the scan up to the size that is typed, in a worker."""
        try:
            across = read_length(self.form.across, self._job.units) / self._factor
        except LaplineError as error:
            self.form.tell(error.sentence())
            return
        mesh = self._mesh
        self.form.setEnabled(False)
        work = Work(lambda _: openings_closed(mesh, across))
        work.done.connect(lambda made: self._take_closed(*made))
        work.ended.connect(self._on_closing_ended)
        work.start()

    def _take_closed(self, mesh: ScanMesh, closed: int) -> None:
        if not isValid(self):
            return
        if not closed:
            self.form.tell("No opening is so small.")
            return
        self._mesh = mesh
        self._solid = Solid(mesh.vertices, mesh.triangles)
        self.choice.grow_to(mesh)
        self._all_loops = None
        self.view.change_solid(self._solid, self._skin())
        self._tell_choice()

    def _on_closing_ended(self) -> None:
        if isValid(self):
            self.form.setEnabled(True)

    # Showing

    def _look_from_outside(self) -> None:
        towards = self._solid.face_normals.sum(axis=0)
        if np.linalg.norm(towards) < 0.05 * np.abs(self._solid.face_normals).sum():
            towards = np.array([0.4, -0.8, 0.5])  # a closed shell has no outside of its own
        self.view.show_solid(self._solid, self._skin(), normal=towards, up=_upwards(towards))

    def _skin(self) -> Skin:
        colours = np.where(
            self.choice.mask[:, None], CHOSEN[current_theme().is_dark], LEFT_OUT
        ).astype(np.uint8)
        return Skin(LEFT_OUT, of_triangles=colours)

    def _show_choice(self) -> None:
        self.view.set_skin(self._skin())
        self._tell_choice()

    def _tell_choice(self) -> None:
        """Draw the rims of what is chosen, and say how much it is."""
        self._show_traces()
        self._show_facts()
        self.form.back.setEnabled(self.choice.can_go_back)
        count, loops = int(self.choice.mask.sum()), self.choice.loops
        openings = max(len(loops) - 1, 0)
        if not count:
            words = "Nothing is chosen yet."
        elif not loops:
            words = "This is closed all round: choose only the side that film is laid on."
        else:
            more = "" if not openings else f", {openings} opening{'s' * (openings > 1)}"
            words = f"{count:,} triangles chosen: one rim{more}."
        self.form.show_chosen(words, openings=openings)
        self.form.make.setEnabled(bool(count and loops))

    def _show_traces(self) -> None:
        theme = current_theme()
        points = self._solid.points
        traces = [Trace(points[loop], theme.warn, 1.8) for loop in self.choice.loops[1:]]
        for loop in self.choice.loops[:1]:
            traces += _cased(Trace(points[loop], theme.ink, 3.0))
        if self._marks:
            marks = np.array(self._marks)
            ends = np.vstack([marks, marks[-1:]])
            traces += _cased(Trace(ends, theme.ink, 4.0, is_closed=False, is_on_top=True))
        self.view.set_traces(traces)

    def _show_facts(self) -> None:
        size = np.ptp(self._mesh.vertices, axis=0) * self._factor
        self.form.tell(self._size_doubt())
        words = " × ".join(
            format_length(float(v), self._job.units, decimals=0).rpartition(" ")[0]
            for v in sorted(size, reverse=True)
        )
        self.form.facts.setText(
            f"{len(self._mesh.triangles):,} triangles, {words} {self._job.units} over all."
        )

    def _size_doubt(self) -> str:
        return size_doubt(float(np.ptp(self._mesh.vertices, axis=0).max()), self._factor)

    def accept(self) -> None:
        """Hand on what was chosen, or say what is missing."""
        try:
            if doubt := self._size_doubt():
                raise InputError(doubt)
            self.part = WantedPart(
                scaled(self._mesh, 1.0, self._factor),
                self.choice.mask,
                read_name(self.form.name),
                str(self.form.film.currentData()),
            )
        except LaplineError as error:
            self.form.tell(error.sentence())
            return
        super().accept()


def _cased(trace: Trace) -> list[Trace]:
    """Return a line with a wider one below it: what is seen on any colour of a part."""
    below = replace(
        trace, colour=current_theme().canvas, width_px=trace.width_px + CASING_PX,
        shines_through=False,
    )  # fmt: skip
    return [below, trace]


def _upwards(towards: Points) -> Points:
    """Return what points upwards: the scan's z, else its y."""
    length = float(np.linalg.norm(towards)) or 1.0
    is_from_above = abs(towards[2]) > 0.9 * length
    return np.array([0.0, 1.0, 0.0]) if is_from_above else np.array([0.0, 0.0, 1.0])

"""A part in space: the variant's films on it, or where film bunches and stretches."""

from PySide6.QtWidgets import (
    QButtonGroup,
    QDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.solid.legend import StrainLegend
from app.solid.map_paint import films_picture
from app.solid.part_shape import PartShape, PartShapes
from app.solid.view import SolidView, Trace
from app.style import dress
from app.theme import current_theme
from core.document.job import Job
from core.plan.model import PanelPlan
from core.plan.strain_map import StrainMap, strain_words
from core.shape.model import Points
from core.shape.topology import rim_loops
from core.shape.view_camera import from_aside
from core.shape.view_paint import MapPicture, Skin, as_drawn

RIM_PX = 1.5
BARE = (196, 192, 182)
LOOKS = (("films", "Films"), ("strain", "Bunching and stretch"), ("bare", "The part alone"))
LATE = "A shape with the lengths of the tape is being worked out…"
HINT = "Drag turns, Shift with drag moves, the wheel zooms, 0 shows all"


class PartWindow(QDialog):
    """Shows one panel; it is told when its shape, the plan or the strain is another."""

    def __init__(self, name: str, parent: QWidget | None) -> None:
        """Prepare to show a part.

        Args:
            name: of the panel.
            parent: the window that it belongs to.
        """
        super().__init__(parent)
        self.setWindowTitle(f"{name} in space")
        self.resize(900, 680)
        self._shape: PartShape | None = None
        self._pictures: dict[str, MapPicture] = {}
        self._strain: StrainMap | None = None
        self.view = SolidView()
        self.legend = StrainLegend()
        self.buttons: dict[str, QPushButton] = {}
        self.words, self.note = QLabel(HINT), QLabel()
        dress(self.words, "quiet")
        self.note.setWordWrap(True)
        self._lay_out(name)
        self.view.pointed.connect(self._on_pointed)
        self.view.words = LATE
        self.shapes = PartShapes(self)
        self.shapes.found.connect(self._show_shape)
        self.shapes.refused.connect(self._show_refusal)
        self.show_look("films")

    @property
    def look(self) -> str:
        """What is shown on the part: films, strain or bare."""
        return next(name for name, b in self.buttons.items() if b.isChecked())

    def turn_to(self, name: str) -> None:
        """Prepare to show another panel."""
        self.setWindowTitle(f"{name} in space")
        self.title.setText(name)
        self.shapes.drop()
        self._shape, self._strain, self._pictures = None, None, {}
        self.view.words = LATE
        self.view.clear()
        self.note.hide()

    def show_plan(self, plan: PanelPlan, job: Job, scan: bytes | None) -> None:
        """Show other films on the part, and another part if it is one.

        Args:
            plan: of the panel as drawn.
            job: whose panel it is.
            scan: the bytes of its scan, if there is one.
        """
        films = {film.id: film for film in job.films}
        self._pictures["films"] = films_picture(plan, films)
        self.shapes.want(job.panel(plan.of).surface, plan.outline, scan)
        self.show_look(self.look)

    def show_strain(self, strain: StrainMap | None) -> None:
        """Show another strain on the part; None while it is not known."""
        self._strain = strain
        if strain is None:
            self._pictures.pop("strain", None)
        else:
            self._pictures["strain"] = strain.picture
            limits = {limits for _, limits in strain.pieces}
            self.legend.show_limits(limits.pop() if len(limits) == 1 else None)
        self.show_look(self.look)

    def show_look(self, look: str) -> None:
        """Show films, strain, or the part alone."""
        self.buttons[look].setChecked(True)
        self.view.set_skin(self._skin(look))
        is_late = look == "strain" and self._strain is None
        self.legend.setVisible(look == "strain" and not is_late and self._shape is not None)
        self.words.setText("Bunching and stretch are being worked out…" if is_late else HINT)

    def _skin(self, look: str) -> Skin:
        at = self._shape.at if self._shape else None
        return Skin(BARE, on_map=self._pictures.get(look), at=at)

    def _show_shape(self, shape: PartShape) -> None:
        is_first, self._shape = self._shape is None, shape
        if is_first:
            normal, up = as_drawn(shape.solid.points, shape.at)
            eye = from_aside(normal, up)
            self.view.show_solid(shape.solid, self._skin(self.look), normal=eye, up=up)
        else:
            self.view.change_solid(shape.solid, self._skin(self.look))
        rims = rim_loops(shape.solid.triangles)
        ink = current_theme().panel_edge
        self.view.set_traces(
            [Trace(shape.solid.points[r], ink, RIM_PX, shines_through=False) for r in rims]
        )
        self.note.setText(shape.note)
        self.note.setVisible(bool(shape.note))
        self.show_look(self.look)

    def _show_refusal(self, why: str) -> None:
        self._shape = None
        self.view.words = why
        self.view.clear()
        self.note.hide()
        self.show_look(self.look)

    def _lay_out(self, name: str) -> None:
        self.title = QLabel(name)
        dress(self.title, "job")
        head = QHBoxLayout()
        head.setSpacing(6)
        head.addWidget(self.title)
        head.addStretch()
        group = QButtonGroup(self)
        for look, text in LOOKS:
            button = QPushButton(text)
            button.setCheckable(True)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, n=look: self.show_look(n))
            group.addButton(button)
            self.buttons[look] = button
            head.addWidget(button)
        self.buttons["films"].setChecked(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 16, 20, 14)
        column.setSpacing(10)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        column.addWidget(self.legend)
        column.addWidget(self.note)
        column.addWidget(self.words)
        self.note.hide()
        self.view.setFocus()  # a button with the focus looks like the one that is down

    def _on_pointed(self, triangle: int, shares: Points | None) -> None:
        shape = self._shape
        found = None
        if shape is not None and self._strain is not None and shares is not None:
            x, y = (shares @ shape.at[shape.solid.triangles[triangle]]).tolist()
            found = self._strain.at(x, y)
        if found is None:
            self.legend.show_value("", None)
        else:
            self.legend.show_value(strain_words(found).capitalize(), found.share)

    def done(self, result: int) -> None:
        """Close, and look for no other shape."""
        self.shapes.drop()
        super().done(result)

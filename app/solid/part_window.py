"""A scanned part in space: the variant's films on it, or where film bunches and stretches."""

from PySide6.QtCore import Qt
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
from app.solid.view import SolidView
from app.style import dress
from core.document.job import Job
from core.document.surface import ScannedSurface
from core.errors import InputError
from core.plan.model import PanelPlan
from core.plan.strain_map import StrainMap, strain_words
from core.shape.model import Points
from core.shape.scanned import ScannedMesh, mesh_from_bytes
from core.shape.surface import surface_of
from core.shape.view_paint import Skin, Solid, as_drawn

BARE = (196, 192, 182)
LOOKS = (("films", "Films"), ("strain", "Bunching and stretch"), ("bare", "The part alone"))
HINT = "Drag turns, Shift with drag moves, the wheel zooms, 0 shows all"


class PartWindow(QDialog):
    """Shows one panel; it is told when the plan or the strain is another."""

    def __init__(
        self, name: str, mesh: ScannedMesh, at: Points, parent: QWidget | None
    ) -> None:
        """Show a part.

        Args:
            name: of the panel.
            mesh: the part in space.
            at: shape (n, 2): where its vertices lie in the panel's map.
            parent: the window that it belongs to.
        """
        super().__init__(parent)
        self.setWindowTitle(f"{name} in space")
        self.resize(900, 680)
        self._mesh, self._at = mesh, at
        self._skins: dict[str, Skin] = {"bare": Skin(BARE)}
        self._strain: StrainMap | None = None
        self.view = SolidView()
        self.legend = StrainLegend(self.view)
        self.buttons: dict[str, QPushButton] = {}
        self.words = QLabel(HINT)
        dress(self.words, "quiet")
        self._lay_out(name)
        self.view.pointed.connect(self._on_pointed)
        normal, up = as_drawn(mesh.vertices, at)
        solid = Solid(mesh.vertices, mesh.triangles)
        self.view.show_solid(solid, self._skins["bare"], normal=normal, up=up)
        self.show_look("films")

    @property
    def look(self) -> str:
        """What is shown on the part: films, strain or bare."""
        return next(name for name, b in self.buttons.items() if b.isChecked())

    def show_plan(self, plan: PanelPlan, job: Job) -> None:
        """Show other films on the part."""
        films = {film.id: film for film in job.films}
        self._skins["films"] = Skin(BARE, on_map=films_picture(plan, films), at=self._at)
        self.show_look(self.look)

    def show_strain(self, strain: StrainMap | None) -> None:
        """Show another strain on the part; None while it is not known."""
        self._strain = strain
        if strain is None:
            self._skins.pop("strain", None)
        else:
            self._skins["strain"] = Skin(BARE, on_map=strain.picture, at=self._at)
            limits = {limits for _, limits in strain.pieces}
            self.legend.show_limits(limits.pop() if len(limits) == 1 else None)
        self.show_look(self.look)

    def show_look(self, look: str) -> None:
        """Show films, strain, or the part alone."""
        self.buttons[look].setChecked(True)
        self.view.set_skin(self._skins.get(look, self._skins["bare"]))
        is_late = look == "strain" and self._strain is None
        self.legend.setVisible(look == "strain" and not is_late)
        self.words.setText("Bunching and stretch are being worked out…" if is_late else HINT)

    def _lay_out(self, name: str) -> None:
        title = QLabel(name)
        dress(title, "job")
        head = QHBoxLayout()
        head.setSpacing(6)
        head.addWidget(title)
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
        corner = QVBoxLayout(self.view)
        corner.setContentsMargins(12, 12, 12, 12)
        corner.addStretch()
        corner.addWidget(self.legend, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 16, 20, 14)
        column.setSpacing(10)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        column.addWidget(self.words)

    def _on_pointed(self, triangle: int, shares: Points | None) -> None:
        if self._strain is None or triangle < 0 or shares is None:
            self.legend.show_value("", None)
            return
        x, y = (shares @ self._at[self._mesh.triangles[triangle]]).tolist()
        found = self._strain.at(x, y)
        if found is None:
            self.legend.show_value("", None)
        else:
            self.legend.show_value(strain_words(found).capitalize(), found.share)


def part_in_space(surface: ScannedSurface, data: bytes | None) -> tuple[ScannedMesh, Points]:
    """Return a scanned part, and where its vertices lie in its panel's map.

    Raises:
        InputError: the scan is not there.
        Damaged: it is none.
    """
    if data is None:
        raise InputError("The scan of this panel is not there.", mend="Read it in again.")
    mesh = mesh_from_bytes(data, f"scan {surface.file}")
    network = surface_of(surface, {surface.file: mesh.network}).network
    assert network is not None
    return mesh, network.at

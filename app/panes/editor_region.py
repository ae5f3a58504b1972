"""Properties of a region or of the piece that covers it: its film, its size."""

from app.panes.cut_from import CutFrom
from app.panes.editor import Editor
from app.session import Session
from core.document.edits.panels import set_base_film
from core.document.edits.spots import paint
from core.document.job import Job
from core.document.lines import Inlay, Stripe
from core.ids import PanelId
from core.plan.lookup import drawn_plans, label_places, spots_in
from core.plan.model import PanelPlan, Piece, Region
from core.units import format_length


class RegionEditor(Editor):
    """Edits the film of one region."""

    def __init__(self, session: Session, region: str) -> None:
        super().__init__(session)
        self._id = region
        self.film = self.add_choice("Film", self._on_film)
        self.extent = self.add_value("Piece")
        self.order = self.add_value("Laid as")
        self.label = self.add_value("Label")
        self.cut_from = CutFrom(self)
        self.note = self.add_words()

    def refresh(self) -> None:
        """Show the values as they are now."""
        panel, region, piece = self._find()
        if panel is None:
            return
        job = self.session.job
        film = region.film if region else piece.film if piece else None
        self.title = f"Piece {piece.label}" if piece else f"Region of {panel.name}"
        self.film.show_choice(self.film_options(), film)
        if piece:
            x0, y0, x1, y1 = piece.known_flat.bounds
            width, height = format_length(x1 - x0, job.units), format_length(y1 - y0, job.units)
            self.extent.setText(f"{width} × {height}")
            self.order.setText(f"{piece.order} of {len(panel.pieces)}")
            self.label.setText(piece.label)
        self.cut_from.show_piece(piece, panel.of)
        self.note.setText(
            "The mirrored panel follows the drawn one." if panel.is_mirrored else ""
        )

    def _find(self) -> tuple[PanelPlan | None, Region | None, Piece | None]:
        for panel in self.session.plan.panels:
            piece = next((p for p in panel.pieces if self._id in (p.id, *p.regions)), None)
            region = next((r for r in panel.regions if r.id == self._id), None)
            if region or piece:
                return panel, region, piece
        return None, None, None

    def _on_film(self, film: str) -> None:
        panel, region, piece = self._find()
        if panel is None:
            return
        regions = [self._id] if region else list(piece.regions) if piece else []
        drawn = drawn_plans(self.session.plan)[panel.of]
        # A mirrored copy's regions stand in the order of the drawn one's.
        numbers = [i for i, r in enumerate(panel.regions) if r.id in regions]
        targets = [drawn.regions[i] for i in numbers]
        self.edit("Colour a region", lambda job: self._painted(job, drawn, targets, film))

    def _painted(self, job: Job, plan: PanelPlan, targets: list[Region], film: str) -> Job:
        scheme = job.scheme(self.session.variant, plan.of)
        lines = [li for li in scheme.lines if isinstance(li, Stripe | Inlay)]
        if len(plan.regions) == 1 and not lines and not scheme.spots:
            return set_base_film(job, PanelId(plan.of), film)
        places = label_places(plan, job.panel(plan.of).marks)
        for region in targets:
            inside = spots_in(region, job.scheme(self.session.variant, plan.of))
            at = places[region.id][0]
            job = paint(job, self.session.variant, plan.of, at, film, replacing=inside)
        return job

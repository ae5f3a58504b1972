"""The scene: one group of items for each panel, rebuilt only where the plan changed.

Plans and panels are frozen, so identity tells whether anything has to be drawn anew.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainterPath
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsItemGroup,
    QGraphicsScene,
)

from app.canvas.dimensions import shown_dimensions
from app.canvas.items.drafting import (
    BandItem,
    DimensionsItem,
    Gaps,
    GridItem,
    GuidesItem,
)
from app.canvas.items.films import FilmsItem
from app.canvas.items.ink import InkItem, Sight
from app.canvas.items.labels import NameItem
from app.canvas.items.marks import mark_path
from app.canvas.items.overlay import CatchItem, DraftItem, GripsItem, HighlightItem
from app.canvas.items.paths import line_path, node_path, polygon_path
from app.canvas.items.photo import PhotoGrounds
from app.canvas.items.pins import PinItem
from app.canvas.items.strain import StrainGrounds
from app.canvas.names import names_with_room
from app.canvas.owners import grips_of, with_runs
from app.selection import NOTHING, Selection
from app.theme import Theme
from core.document.edits.belongings import find_belonging
from core.document.edits.lines import find_line
from core.document.film import Film
from core.document.hit import is_closed
from core.document.job import Job
from core.document.panel import Mark, Panel
from core.document.variant import Scheme
from core.ids import PanelId
from core.plan.lookup import drawn_id, drawn_plans, panel_bounds
from core.plan.model import JobPlan, PanelPlan
from core.shape.view_paint import MapPicture
from core.units import format_length


@dataclass
class _PanelGroup:
    """The items of one panel, and what they were last built from."""

    root: QGraphicsItemGroup
    films: FilmsItem
    ink: InkItem
    name: NameItem
    pins: list[PinItem] = field(default_factory=list)
    panel: Panel | None = None
    plan: PanelPlan | None = None
    scheme: Scheme | None = None
    palette: tuple[Film, ...] = ()
    bounds: QRectF = field(default_factory=QRectF)
    builds: int = 0


class CanvasScene(QGraphicsScene):
    """Everything on the canvas, in millimetres, y up."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setItemIndexMethod(QGraphicsScene.ItemIndexMethod.NoIndex)
        self._theme = theme
        self._groups: dict[PanelId, _PanelGroup] = {}
        self._in_work: _PanelGroup | None = None
        self._plan: JobPlan | None = None
        self._plans: Mapping[PanelId, PanelPlan] = {}
        self._selection = NOTHING
        self._hovered: str | None = None
        self._px_mm = 1.0
        self._hover_item = HighlightItem(40)
        self._selected_item = HighlightItem(50)
        self.grips = GripsItem()
        self.grounds = PhotoGrounds()
        self.strain = StrainGrounds()
        self.draft = DraftItem()
        self.catch = CatchItem()
        self.guides, self.dimensions = GuidesItem(), DimensionsItem()
        self.measure, self.gaps, self.band = DimensionsItem(z=85), Gaps(), BandItem()
        self._grid = GridItem()
        self._grid_mm: float | None = None
        self._has_hatch = self._has_numbers = True
        self._over = (
            self.grips, self.draft, self.catch, self.guides, self.dimensions, self.measure,
            *self.gaps.items,
        )  # fmt: skip
        for item in (self._grid, self._hover_item, self._selected_item, self.band, *self._over):
            self.addItem(item)
        self.setBackgroundBrush(QColor(theme.canvas))

    @property
    def theme(self) -> Theme:
        """The colours in use."""
        return self._theme

    def builds_of(self, panel: str) -> int:
        """Return how often a panel's items have been built, for tests and benchmarks."""
        return self._groups[PanelId(panel)].builds

    def set_theme(self, theme: Theme) -> None:
        """Draw everything in other colours."""
        self._theme = theme
        self.setBackgroundBrush(QColor(theme.canvas))
        self.set_grid(self._grid_mm)
        for group in self._groups.values():
            group.plan = None
        if self._plan is not None:
            self.show_plan(self._plan)
            self.show_selection(self._selection)

    def show_plan(self, plan: JobPlan) -> None:
        """Show a plan; panels whose plan is the same object are left alone."""
        job = plan.job
        self._plan, self._plans = plan, drawn_plans(plan)
        for gone in self._groups.keys() - {PanelId(p.id) for p in job.panels}:
            group = self._groups.pop(gone)
            self._in_work = None if group is self._in_work else self._in_work
            self.removeItem(group.root)
            self.removeItem(group.name)
        films = {film.id: film for film in job.films}
        schemes = {s.panel: s for s in plan.variant.schemes}
        is_changed = False
        for i, panel in enumerate(job.panels):
            own = self._plans.get(PanelId(panel.id))
            if own is not None:
                scheme = schemes.get(panel.id) or Scheme(panel=panel.id)
                is_changed |= self._show_panel(panel, own, scheme, films, z=i * 0.01)
        if is_changed:
            self._fit_names()
        self.grounds.show_job(job, self._places())
        self._show_marks()

    def show_strain(self, pictures: Mapping[str, MapPicture], opacity: float) -> None:
        """Show pictures of strain on panels, by their ids; none on the others."""
        self.strain.show_pictures(pictures, self._places(), opacity)

    def _places(self) -> dict[str, tuple[QGraphicsItemGroup, QGraphicsItem]]:
        return {p: (g.root, g.ink) for p, g in self._groups.items()}

    def _show_panel(
        self,
        panel: Panel,
        plan: PanelPlan,
        scheme: Scheme,
        films: Mapping[str, Film],
        z: float,
    ) -> bool:
        """Show a panel; whether anything about it has changed."""
        group = self._groups.get(PanelId(panel.id)) or self._new_group(panel)
        if group.panel is not panel:
            group.root.setPos(*panel.at)
            group.root.setZValue(z)
            group.root.setVisible(not panel.is_hidden)
        palette = tuple(films.values())
        is_known = group.plan is plan and group.scheme == scheme and group.palette == palette
        if is_known and group.panel is panel:
            return False
        x0, y0, x1, y1 = panel_bounds(panel, plan)
        group.bounds = QRectF(x0, y0, x1 - x0, y1 - y0)
        if not is_known:
            self._keep_pixels(group if group.builds else None)
            group.films.show_plan(plan, films, self._theme, group.bounds)
            group.builds += 1
        sight = Sight(plan, panel, scheme, films, self._theme, group.bounds, self._px_mm)
        group.ink.show_plan(sight)
        group.name.setPos(x0 + panel.at[0], y0 + panel.at[1])
        self._name_panel(group, panel)
        self._pin_findings(group, plan)
        group.panel, group.plan, group.scheme, group.palette = panel, plan, scheme, palette
        group.name.set_room(group.bounds.width() / self._px_mm)
        return True

    def _keep_pixels(self, group: _PanelGroup | None) -> None:
        """Let one panel, that which is being changed, keep what was painted of it.

        What moves over it, such as sizes and grips, then costs no line of it. At another zoom
        these pixels would only be in the way.
        """
        if group is self._in_work:
            return
        modes = QGraphicsItem.CacheMode
        for one, mode in (
            (self._in_work, modes.NoCache),
            (group, modes.DeviceCoordinateCache),
        ):
            if one is not None:
                one.films.setCacheMode(mode)
                one.ink.setCacheMode(mode)
        self._in_work = group

    def _new_group(self, panel: Panel) -> _PanelGroup:
        root = QGraphicsItemGroup()
        root.setHandlesChildEvents(False)
        root.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        self.addItem(root)
        group = _PanelGroup(root, FilmsItem(root), InkItem(root), NameItem())
        self.addItem(group.name)
        group.films.set_hatch(shown=self._has_hatch)
        group.ink.set_numbers(shown=self._has_numbers)
        self._groups[PanelId(panel.id)] = group
        return group

    def _name_panel(self, group: _PanelGroup, panel: Panel) -> None:
        is_selected = self._selection.kind == "panel" and panel.id in self._selection.ids
        group.name.show_panel(panel, self._theme, is_selected=is_selected)

    def _pin_findings(self, group: _PanelGroup, plan: PanelPlan) -> None:
        if group.plan is not None and group.plan.findings == plan.findings:
            return
        for pin in group.pins:
            self.removeItem(pin)
        group.pins = []
        for finding in plan.findings:
            pin = PinItem(finding, self._theme, group.root)
            pin.setPos(*(finding.where or group.bounds.bottomLeft().toTuple()))
            group.pins.append(pin)

    def set_scale(self, px_mm: float) -> None:
        """Say how many millimetres a screen pixel shows."""
        self._keep_pixels(None)
        self._px_mm = px_mm
        for item in self._over:
            item.set_scale(px_mm)
        self.set_grid(self._grid_mm)
        if self._selection.kind == "mark":
            self._show_marks()
        for group in self._groups.values():
            group.name.set_room(group.bounds.width() / self._px_mm)
        self._fit_names()

    def _fit_names(self) -> None:
        """Show the names that lie on no other panel and on no other name."""
        groups = [g for g in self._groups.values() if g.panel and not g.panel.is_hidden]
        for group in self._groups.values():
            if group.panel is not None and group.panel.is_hidden:
                group.name.setVisible(False)
        if not groups:
            return
        k, chosen = 1 / self._px_mm, self._selection.ids
        panels, plates = np.empty((len(groups), 4)), np.empty((len(groups), 4))
        for i, group in enumerate(groups):
            x, y = group.name.x() * k, -group.name.y() * k
            plate = group.name.plate
            panels[i] = x, y - group.bounds.height() * k, x + group.bounds.width() * k, y
            plates[i] = x, y + plate.top(), x + plate.right(), y + plate.bottom()
        always = [g.panel is not None and g.panel.id in chosen for g in groups]
        for group, shown in zip(groups, names_with_room(panels, plates, always), strict=True):
            group.name.setVisible(shown)

    def set_grid(self, spacing_mm: float | None) -> None:
        """Show a grid of that spacing; None shows none."""
        self._grid_mm = spacing_mm
        self._grid.show_grid(spacing_mm, self._px_mm, self._theme)

    def set_hatch(self, *, shown: bool) -> None:
        """Show hidden film as hatch, or leave it out."""
        self._has_hatch = shown
        for group in self._groups.values():
            group.films.set_hatch(shown=shown)

    def set_numbers(self, *, shown: bool) -> None:
        """Show the lay-order numbers, or leave them out."""
        self._has_numbers = shown
        for group in self._groups.values():
            group.ink.set_numbers(shown=shown)

    # Highlights

    def show_selection(self, selection: Selection) -> None:
        """Highlight what is selected and give it grips."""
        before = self._selection
        self._selection = selection
        for panel_id in {*before.ids, *selection.ids} & self._groups.keys():
            group = self._groups[PanelId(panel_id)]
            if group.panel is not None:
                self._name_panel(group, group.panel)
        if "panel" in (before.kind, selection.kind):
            self._fit_names()
        self._show_marks()

    def show_hover(self, hovered: str | None) -> None:
        """Highlight what the pointer is over, here or in a pane."""
        self._hovered = hovered
        self._show_highlight(self._hover_item, [hovered] if hovered else [], is_selected=False)

    def _show_marks(self) -> None:
        if self._plan is None:
            return
        job, variant = self._plan.job, self._plan.variant.id
        chosen = self._selection.ids
        if self._selection.kind == "line":
            chosen = with_runs(job, variant, chosen)
        self._show_highlight(self._selected_item, list(chosen), is_selected=True)
        self.show_hover(self._hovered)
        self._show_drafting(job, variant)
        grips = grips_of(self._selection, job, variant)
        if grips:
            self.grips.setPos(*grips[0].owner.origin(job))
        if grips or self.grips.grips:
            self.grips.show_grips(grips, self._theme, lambda mm: format_length(mm, job.units))

    def _show_drafting(self, job: Job, variant: str) -> None:
        chosen = self._selection.ids
        self.guides.show_guides(job.guides, chosen, self._theme)
        shown = shown_dimensions(job, variant) if job.dimensions else ()
        self.dimensions.show_dimensions(shown, chosen, self._theme)

    def _show_highlight(
        self, item: HighlightItem, ids: list[str], *, is_selected: bool
    ) -> None:
        path = QPainterPath()
        has_area = False
        for one in ids:
            found, is_area, at = self._outline_of(one)
            path.addPath(found.translated(*at))
            has_area = has_area or is_area
        width_px = 1.0 + 0.8 * is_selected + 0.7 * (not has_area)
        item.show_path(path, self._theme, width_px)

    def _outline_of(self, what: str) -> tuple[QPainterPath, bool, tuple[float, float]]:
        """Return the path of a panel, line, region or piece, and whether it is an area."""
        assert self._plan is not None
        job = self._plan.job
        own = self._plans.get(PanelId(what))
        if own is not None and job.panel(own.of).is_hidden:
            return QPainterPath(), False, (0.0, 0.0)
        if own is not None:
            return polygon_path(own.extended), True, job.panel(own.of).at
        what = drawn_id(self._plan, what)
        for plan in self._plans.values():
            at = job.panel(plan.of).at
            for piece in plan.pieces:
                if what in (piece.id, *piece.regions):
                    shapes = [r.polygon for r in plan.regions if r.id in (what, *piece.regions)]
                    return polygon_path(*shapes), True, at
            for region in plan.regions:
                if region.id == what:
                    return polygon_path(region.polygon), True, at
        return self._line_outline(job, what)

    def _line_outline(
        self, job: Job, what: str
    ) -> tuple[QPainterPath, bool, tuple[float, float]]:
        assert self._plan is not None
        try:
            panel, line = find_line(job, self._plan.variant.id, what)
        except KeyError:
            return self._belonging_outline(job, what)
        path = node_path(line.nodes, closed=is_closed(line))
        plan = self._plans.get(panel)
        stretches = [s.path for s in plan.stretches if s.line == what] if plan else []
        path.addPath(line_path(*stretches))
        return path, False, job.panel(panel).at

    def _belonging_outline(
        self, job: Job, what: str
    ) -> tuple[QPainterPath, bool, tuple[float, float]]:
        """Return the path of an opening or a mark; an empty one for anything else."""
        try:
            panel, one = find_belonging(job, what)
        except KeyError:
            return QPainterPath(), False, (0.0, 0.0)
        if isinstance(one, Mark):
            return mark_path(one, self._px_mm), False, panel.at
        return node_path(one.nodes, closed=True), False, panel.at

    def content_rect(self) -> QRectF:
        """Return what all panels that are shown, with their edge turns, take up."""
        rect = QRectF()
        for group in self._groups.values():
            if group.plan is not None and group.panel and not group.panel.is_hidden:
                rect = rect.united(group.bounds.translated(group.root.pos()))
        return rect

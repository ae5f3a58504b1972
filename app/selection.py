"""What the user has selected: ids only, so that it outlives every edit."""

from dataclasses import dataclass
from typing import Literal

from core.document.job import Job
from core.ids import NodeId, PanelId
from core.plan.model import JobPlan

Kind = Literal["none", "panel", "line", "region", "piece", "node", "finding", "guide", "dimension"]


@dataclass(frozen=True, slots=True)
class Selection:
    """What is selected.

    Attributes:
        ids: panels, lines, regions, pieces, or (``node``) the line or panel that has the node.
        panel: the drawn panel on which it lies, where it lies on one.
        node: the one node meant.

    Guides and dimensions lie on no panel.
    """

    kind: Kind = "none"
    ids: tuple[str, ...] = ()
    panel: PanelId | None = None
    node: NodeId | None = None


NOTHING = Selection()


def still_there(selection: Selection, job: Job, variant: str, plan: JobPlan) -> Selection:
    """Return the selection without what an edit has taken away."""
    if selection.kind in ("none", "finding"):
        return selection
    known = _ids_of(selection.kind, job, variant, plan)
    ids = tuple(i for i in selection.ids if i in known)
    if ids == selection.ids:
        return selection
    if not ids or selection.kind == "node":
        return NOTHING
    return Selection(selection.kind, ids, selection.panel)


def _ids_of(kind: Kind, job: Job, variant: str, plan: JobPlan) -> set[str]:
    panels = {p.id for p in job.panels}
    lines = {line.id for scheme in job.variant(variant).schemes for line in scheme.lines}
    match kind:
        case "panel":
            return panels
        case "line":
            return lines
        case "node":
            openings = {o.id for p in job.panels for o in p.openings}
            return panels | lines | openings
        case "guide":
            return {guide.id for guide in job.guides}
        case "dimension":
            return {dimension.id for dimension in job.dimensions}
        case "region":
            return {region.id for panel in plan.panels for region in panel.regions}
        case _:
            return {piece.id for piece in plan.pieces}

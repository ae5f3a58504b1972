"""What the user has selected: ids only, so that it outlives every edit."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from core.document.edits.belongings import nodes_of_mark
from core.document.job import Job
from core.ids import NodeId, PanelId
from core.plan.model import JobPlan

Kind = Literal[
    "none",
    "panel",
    "line",
    "region",
    "piece",
    "node",
    "finding",
    "guide",
    "dimension",
    "opening",
    "mark",
]


@dataclass(frozen=True, slots=True)
class Selection:
    """What is selected.

    Attributes:
        ids: panels, lines, regions, pieces and so on, or (``node``) what has the node: a line,
            a panel, an opening, a ridge.
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
    if selection.kind == "node":
        return selection if _has_node(selection, job, variant) else NOTHING
    known = _ids_of(selection.kind, job, variant, plan)
    ids = tuple(i for i in selection.ids if i in known)
    if ids == selection.ids:
        return selection
    return Selection(selection.kind, ids, selection.panel) if ids else NOTHING


def _has_node(selection: Selection, job: Job, variant: str) -> bool:
    paths = [(p.id, p.outline) for p in job.panels]
    paths += [(o.id, o.nodes) for p in job.panels for o in p.openings]
    paths += [(m.id, nodes_of_mark(m)) for p in job.panels for m in p.marks]
    paths += [(i.id, i.nodes) for s in job.variant(variant).schemes for i in s.lines]
    nodes = {node.id for name, path in paths if name in selection.ids for node in path}
    return bool(nodes) and (selection.node is None or selection.node in nodes)


def _ids_of(kind: Kind, job: Job, variant: str, plan: JobPlan) -> set[str]:
    known: dict[Kind, Iterator[str]] = {
        "panel": (panel.id for panel in job.panels),
        "line": (line.id for s in job.variant(variant).schemes for line in s.lines),
        "opening": (opening.id for panel in job.panels for opening in panel.openings),
        "mark": (mark.id for panel in job.panels for mark in panel.marks),
        "guide": (guide.id for guide in job.guides),
        "dimension": (dimension.id for dimension in job.dimensions),
        "region": (region.id for panel in plan.panels for region in panel.regions),
    }
    return set(known.get(kind, (piece.id for piece in plan.pieces)))

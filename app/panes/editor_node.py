"""Properties of a node of a panel's rim: corner or smooth, and the edge turn from it on."""

from msgspec.structs import replace

from app.panes.editor import Editor
from app.session import Selection, Session
from core.document.edits.outlines import set_length_of_edge
from core.document.edits.panels import replace_panel, set_edge_turn
from core.document.edits.paths import set_smooth
from core.document.job import Job
from core.document.measures import edge_length
from core.document.panel import Opening, Panel
from core.document.path import Path, edge_of_segments
from core.units import format_length


class NodeEditor(Editor):
    """Edits one node of an outline or an opening."""

    def __init__(self, session: Session, selection: Selection) -> None:
        super().__init__(session)
        self._owner = selection.ids[0]
        self._node = selection.node or ""
        self.title = "Node"
        self.kind = self.add_choice("Node", self._on_kind)
        self.length = self.add_length("Edge length", self._on_length)
        self.length.setToolTip("The end of the edge moves along it; the rest stays")
        self.turn = self.add_length("Edge turn", self._on_turn, is_optional=True)
        self.add_words("Both are of the whole edge that starts here, from corner to corner.")

    def refresh(self) -> None:
        """Show the values as they are now."""
        panel, ring, opening = self._ring()
        node = next((n for n in ring if n.id == self._node), None)
        if node is None:
            return
        units = self.session.job.units
        self.title = f"Node of {opening.name or 'an opening' if opening else panel.name}"
        self.kind.show_choice([("Corner", False), ("Smooth", True)], node.smooth)
        self.length.show_mm(edge_length(ring, self._edge(ring)), units)
        start = next(n for n in ring if n.id == self._edge(ring))
        house = opening.turn_mm if opening else panel.edge_turn_mm
        self.turn.show_mm(
            start.turn_mm, units, otherwise=f"{format_length(house, units)} as the rest"
        )

    def _ring(self) -> tuple[Panel, Path, Opening | None]:
        for panel in self.session.job.panels:
            if panel.id == self._owner:
                return panel, panel.outline, None
            for opening in panel.openings:
                if opening.id == self._owner:
                    return panel, opening.nodes, opening
        raise KeyError(self._owner)

    def _edge(self, ring: Path) -> str:
        at = [n.id for n in ring].index(self._node)
        return edge_of_segments(ring)[at]

    def _on_length(self, length_mm: float | None) -> None:
        if length_mm is None:
            return
        panel, ring, opening = self._ring()
        edge, owner = self._edge(ring), opening.id if opening else panel.id
        self.edit(
            f"Set the length of an edge of {panel.name}",
            lambda job: set_length_of_edge(job, panel.id, owner, edge, length_mm),
        )

    def _on_turn(self, turn_mm: float | None) -> None:
        panel, ring, opening = self._ring()
        edge = f"{opening.id}/{self._edge(ring)}" if opening else self._edge(ring)
        self.edit(
            f"Change edge turn of {panel.name}",
            lambda job: set_edge_turn(job, panel.id, edge, turn_mm),
        )

    def _on_kind(self, is_smooth: bool) -> None:  # noqa: FBT001 - a slot
        panel, ring, opening = self._ring()
        fresh = set_smooth(ring, self._node, is_smooth, closed=True)
        words = "Smooth" if is_smooth else "Sharpen"
        self.edit(
            f"{words} a node of {panel.name}", lambda job: _put(job, panel, opening, fresh)
        )


def _put(job: Job, panel: Panel, opening: Opening | None, ring: Path) -> Job:
    if opening is None:
        return replace_panel(job, replace(panel, outline=ring))
    openings = tuple(
        replace(o, nodes=ring) if o.id == opening.id else o for o in panel.openings
    )
    return replace_panel(job, replace(panel, openings=openings))

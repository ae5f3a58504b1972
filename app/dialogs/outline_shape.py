"""Dialogs that change the shape of a rim: round, offset, straighten, simplify, nodes."""

from PySide6.QtWidgets import QWidget

from app.dialogs.form import read_length
from app.dialogs.outline_form import OutlineDialog
from app.session import Session
from core.document.edits.outlines import (
    align_nodes,
    offset_outline,
    round_corners,
    set_length_of_edge,
    simplify_outline,
    straighten_outline,
    weld_nodes,
)
from core.document.job import Job
from core.document.measures import edge_at, edge_ends, edge_length
from core.geometry.path_offset import Corners


class RoundDialog(OutlineDialog):
    """Rounds one corner or all of them by a radius."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Round corners", parent, button="Round")
        self.add_ring()
        has_node = session.selection.kind == "node"
        self.which = self.add_options("Corners", (("One corner", False), ("All corners", True)))
        self.which.setCurrentIndex(0 if has_node else 1)
        self.node = self.add_node("Corner")
        self.radius = self.add_typed("Radius", 20.0)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        what = "all corners" if self.which.currentData() else "a corner"
        return f"Round {what} of {self.panel.name}"

    def ready(self) -> None:
        """Ask for a corner only where one is needed."""
        self.form.setRowVisible(self.node, not self.which.currentData())

    def change(self, job: Job) -> Job:
        """Round as the fields say."""
        radius = read_length(self.radius, job.units)
        nodes = None if self.which.currentData() else [self.node.node]
        self.note.setText("The arc is tangent to both sides.")
        return round_corners(job, self.panel_id, self.ring_id, nodes, radius)


class OffsetDialog(OutlineDialog):
    """Moves the whole outline outward or inward."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Offset the outline", parent, button="Offset")
        self.side = self.add_options("Way", (("Outward", 1.0), ("Inward", -1.0)))
        self.distance = self.add_typed("Distance", 10.0)
        self.corners = self.add_options(
            "Corners", (("Sharp", Corners.SHARP), ("Round", Corners.ROUND))
        )
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Offset the outline of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Offset as the fields say."""
        distance = read_length(self.distance, job.units) * float(self.side.currentData())
        self.note.setText("Edges keep their turns; curves hold the distance to 0.01 mm.")
        return offset_outline(job, self.panel_id, distance, Corners(self.corners.currentData()))


class StraightenDialog(OutlineDialog):
    """Makes the rim straight between two nodes."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Straighten a stretch", parent, button="Straighten")
        self.add_ring()
        self.start = self.add_node("From")
        self.end = self.add_node("To", after=2)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Straighten a stretch of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Straighten as the fields say."""
        self.note.setText("Runs in the order of the numbers; swap the two for the other way.")
        return straighten_outline(
            job, self.panel_id, self.ring_id, self.start.node, self.end.node
        )


class SimplifyDialog(OutlineDialog):
    """Takes nodes out of a rim within a tolerance, and tells how far it strays."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Simplify the outline", parent, button="Simplify")
        self.add_ring()
        self.tolerance = self.add_typed("Tolerance", 0.5, "Largest distance from the old rim")
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Simplify the outline of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Simplify as the fields say."""
        tolerance = read_length(self.tolerance, job.units)
        before = len(self.path)
        job, off = simplify_outline(job, self.panel_id, self.ring_id, tolerance)
        after = len(job.panel(self.panel_id).outline)
        for opening in job.panel(self.panel_id).openings:
            if opening.id == self.ring_id:
                after = len(opening.nodes)
        if after == before:
            self.note.setText(f"{before} nodes: no fewer hold this tolerance.")
        else:
            self.note.setText(f"{before} nodes become {after}, at most {off:.2f} mm away.")
        return job


class EdgeLengthDialog(OutlineDialog):
    """Gives an edge a typed length."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Set the length of an edge", parent, button="Set length")
        self.add_ring()
        self.node = self.add_node("Edge that starts at")
        self._shown = ""
        self.length = self.add_typed("Length", 0.0)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Set the length of an edge of {self.panel.name}"

    @property
    def edge(self) -> str:
        """The edge at the chosen node."""
        return edge_at(self.path, self.node.node)

    def ready(self) -> None:
        """Show the length of the edge that was chosen last."""
        key = f"{self.ring_id}/{self.edge}"
        if key != self._shown:
            self._shown = key
            self.length.setText(self.say(edge_length(self.path, self.edge)))

    def change(self, job: Job) -> Job:
        """Set the length."""
        start, end = edge_ends(self.path, self.edge)
        self.note.setText(
            f"From node {start[1:]} to node {end[1:]} along the rim. Node {end[1:]} moves along"
            " the edge; the rest stays."
        )
        length = read_length(self.length, job.units)
        now = edge_length(self.path, self.edge)
        if self.length.text() == self.say(now):
            return job  # what is shown is rounded
        return set_length_of_edge(job, self.panel_id, self.ring_id, self.edge, length)


class AlignDialog(OutlineDialog):
    """Puts two nodes in line, level or upright."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Align nodes", parent, button="Align")
        self.add_ring()
        self.stays = self.add_node("This node stays")
        self.moves = self.add_node("This one moves", after=1)
        self.way = self.add_options("In line", (("Level", True), ("Upright", False)))
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Align nodes of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Align as the fields say."""
        nodes = [self.stays.node, self.moves.node]
        is_level = bool(self.way.currentData())
        return align_nodes(job, self.panel_id, self.ring_id, nodes, is_level=is_level)


class WeldDialog(OutlineDialog):
    """Makes two neighbouring nodes one."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Make one node of two", parent, button="Make one")
        self.add_ring()
        self.first = self.add_node("Node")
        self.second = self.add_node("And its neighbour", after=1)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Make one node of two of {self.panel.name}"

    def change(self, job: Job) -> Job:
        """Make one as the fields say."""
        self.note.setText("They become one node, half-way between them.")
        return weld_nodes(job, self.panel_id, self.ring_id, self.first.node, self.second.node)

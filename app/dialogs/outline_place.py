"""Dialogs that move a panel as a whole: to measured sizes, turned, mirrored."""

from PySide6.QtWidgets import QWidget

from app.dialogs.form import read_length
from app.dialogs.outline_form import OutlineDialog
from app.session import Session
from core.document.edits.built_up import make_symmetric
from core.document.edits.outlines import (
    Axis,
    axis_between,
    middle_axis,
    mirror_panel,
    rotate_panel,
    rotate_to_flow,
    scale_to_length,
    scale_to_size,
)
from core.document.hit import parse_angle
from core.document.job import Job
from core.document.measures import length_between, ring_size

WAYS = (("To the right", 0.0), ("Upwards", 90.0), ("To the left", 180.0), ("Downwards", 270.0))


class ScaleDialog(OutlineDialog):
    """Scales a panel to what was measured on the part."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Scale to measures", parent, button="Scale")
        self.by = self.add_options(
            "Measured",
            (
                ("Two nodes, straight", "straight"),
                ("Two nodes, along the rim", "along"),
                ("Width and height", "size"),
            ),
        )
        self.start = self.add_node("From")
        self.end = self.add_node("To", after=1)
        self.length = self.add_typed("Length", 0.0)
        size = ring_size(self.panel.outline)
        over = "Measured with the tape over the surface"
        self.across = self.add_typed("Width", size[0], over)
        self.upright = self.add_typed("Height", size[1], over)
        self._shown = ""
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Scale {self.panel.name} to measures"

    def ready(self) -> None:
        """Show the fields that count, and the length as it is now."""
        is_size = self.by.currentData() == "size"
        for field in (self.start, self.end, self.length):
            self.form.setRowVisible(field, not is_size)
        for field in (self.across, self.upright):
            self.form.setRowVisible(field, is_size)
        key = f"{self.by.currentData()} {self.start.node} {self.end.node}"
        if not is_size and key != self._shown:
            self._shown = key
            self.length.setText(self.say(self._now()))

    def _now(self) -> float:
        is_along = self.by.currentData() == "along"
        nodes = self.start.node, self.end.node
        return length_between(self.panel.outline, *nodes, is_along=is_along)

    def change(self, job: Job) -> Job:
        """Scale as the fields say."""
        self.note.setText("Lines and openings scale along; typed widths and radii stay.")
        if self.by.currentData() == "size":
            size = ring_size(self.panel.outline)
            fields = zip((self.across, self.upright), size, strict=True)
            wanted = [
                None if field.text() == self.say(now) else read_length(field, job.units)
                for field, now in fields
            ]
            if wanted == [None, None]:
                return job
            return scale_to_size(job, self.panel_id, wanted[0], wanted[1])
        length = read_length(self.length, job.units)
        if self.length.text() == self.say(self._now()):
            return job  # what is shown is rounded
        nodes = self.start.node, self.end.node
        is_along = self.by.currentData() == "along"
        return scale_to_length(job, self.panel_id, nodes, length, is_along=is_along)


class RotateDialog(OutlineDialog):
    """Turns a panel by an angle, or so that air flows over it in a set direction."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, "Turn the panel", parent, button="Turn")
        has_flow = self.panel.flow_deg is not None
        options = [("By an angle", False)]
        if has_flow:
            options.insert(0, ("Until its flow arrow points", True))
        self.by = self.add_options("Turn", options)
        self.way = self.add_options("Air flows", WAYS)
        self.angle = self.add_text("Angle", "90°")
        self.angle.setToolTip("Degrees, counter-clockwise; a minus turns clockwise")
        self.angle.textEdited.connect(self.refresh_soon)
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Turn {self.panel.name}"

    def ready(self) -> None:
        """Show the field that counts."""
        by_flow = bool(self.by.currentData())
        self.form.setRowVisible(self.way, by_flow)
        self.form.setRowVisible(self.angle, not by_flow)

    def change(self, job: Job) -> Job:
        """Turn as the fields say."""
        self.note.setText("All that is drawn on the panel turns along.")
        if self.by.currentData():
            return rotate_to_flow(job, self.panel_id, float(self.way.currentData()))
        return rotate_panel(job, self.panel_id, parse_angle(self.angle.text()))


class MirrorDialog(OutlineDialog):
    """Mirrors a panel, or keeps one half of it and mirrors that."""

    def __init__(
        self, session: Session, parent: QWidget | None, *, is_half: bool = False
    ) -> None:
        title = "Make the panel symmetric" if is_half else "Mirror the panel"
        button = "Make symmetric" if is_half else "Mirror"
        super().__init__(session, title, parent, button=button)
        self._is_half = is_half
        self.axis = self.add_options(
            "Axis",
            (
                ("Upright, through the middle", "upright"),
                ("Level, through the middle", "level"),
                ("Through two nodes", "nodes"),
            ),
        )
        self.start = self.add_node("From")
        self.end = self.add_node("To", after=1)
        self.half = self.add_options(
            "Keep", (("The left half", True), ("The right half", False))
        )
        self.finish()

    @property
    def sentence(self) -> str:
        """What was done."""
        verb = "Make symmetric:" if self._is_half else "Mirror"
        return f"{verb} {self.panel.name}"

    def ready(self) -> None:
        """Show the fields that count."""
        by_nodes = self.axis.currentData() == "nodes"
        self.form.setRowVisible(self.start, by_nodes)
        self.form.setRowVisible(self.end, by_nodes)
        self.form.setRowVisible(self.half, self._is_half)
        words = ("upper", "lower") if self.axis.currentData() == "level" else ("left", "right")
        for row, word in enumerate(words):
            self.half.setItemText(row, f"The {word} half")

    def found_axis(self) -> Axis:
        """Return the axis that the fields say."""
        kind = self.axis.currentData()
        if kind == "nodes":
            return axis_between(self.panel, self.start.node, self.end.node)
        return middle_axis(self.panel, is_level=kind == "level")

    def change(self, job: Job) -> Job:
        """Mirror as the fields say."""
        axis = self.found_axis()
        if self._is_half:
            self.note.setText(
                "Openings and marks are mirrored with the half; lines stay as they are drawn."
            )
            keeps_left = bool(self.half.currentData())
            return make_symmetric(job, self.panel_id, axis, keeps_left=keeps_left)
        self.note.setText("All that is drawn on the panel is mirrored along.")
        return mirror_panel(job, self.panel_id, axis)


class KeepSymmetricDialog(MirrorDialog):
    """Keeps one half of a panel, mirrors it, and has later edits of either half mirrored."""

    def __init__(self, session: Session, parent: QWidget | None) -> None:
        super().__init__(session, parent, is_half=True)
        self.setWindowTitle("Keep the panel symmetric")
        self.buttons.button(self.buttons.StandardButton.Ok).setText("Keep symmetric")

    @property
    def sentence(self) -> str:
        """What was done."""
        return f"Keep {self.panel.name} symmetric"

    def change(self, job: Job) -> Job:
        """Mirror the half, and keep the axis."""
        self.note.setText(
            "From now on what you do to outline, openings and marks on one side of the axis is"
            " done on the other too. Lines stay as they are drawn."
        )
        keeps_left = bool(self.half.currentData())
        axis = self.found_axis()
        return make_symmetric(job, self.panel_id, axis, keeps_left=keeps_left, is_kept=True)

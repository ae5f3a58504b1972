"""The commands of the Panel menu: outlines by measures and operations on them."""

from collections.abc import Callable

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QWidget

from app.actions import Actions
from app.dialogs.outline_built_up import CutAwayDialog, JoinDialog, SplitDialog
from app.dialogs.outline_form import OutlineDialog
from app.dialogs.outline_place import (
    KeepSymmetricDialog,
    MirrorDialog,
    RotateDialog,
    ScaleDialog,
)
from app.dialogs.outline_shape import (
    AlignDialog,
    EdgeLengthDialog,
    OffsetDialog,
    RoundDialog,
    SimplifyDialog,
    StraightenDialog,
    WeldDialog,
)
from app.messages import show_error
from app.selection import Selection
from app.session import Session
from core.document.edits.panels import let_go_of_symmetry
from core.errors import LaplineError

_DIALOGS: dict[str, Callable[[Session, QWidget], OutlineDialog]] = {
    "scale_panel": ScaleDialog,
    "edge_length": EdgeLengthDialog,
    "rotate_panel": RotateDialog,
    "mirror_panel": MirrorDialog,
    "make_symmetric": lambda session, parent: MirrorDialog(session, parent, is_half=True),
    "keep_symmetric": KeepSymmetricDialog,
    "split_panel": SplitDialog,
    "join_panels": JoinDialog,
    "cut_away": CutAwayDialog,
    "round_corners": RoundDialog,
    "offset_outline": OffsetDialog,
    "straighten": StraightenDialog,
    "simplify": SimplifyDialog,
    "align_nodes": AlignDialog,
    "weld_nodes": WeldDialog,
}
PANEL_MENU = (
    "scale_panel", "rotate_panel", "mirror_panel", "-",
    "make_symmetric", "keep_symmetric", "let_go_symmetry", "-",
    "split_panel", "join_panels", "cut_away", "-",
    "round_corners", "offset_outline", "simplify",
)  # fmt: skip
NODE_MENU = (
    "round_corners", "edge_length", "straighten", "align_nodes", "weld_nodes", "split_panel",
)  # fmt: skip
_TWO_PANELS = ("join_panels", "cut_away")


class OutlineCommands:
    """Opens the dialogs of the Panel menu on what is selected."""

    def __init__(self, window: QWidget, session: Session, actions: Actions) -> None:
        self._window, self._session, self._actions = window, session, actions
        for name in _DIALOGS:
            self._connect(name)
        actions.on("let_go_symmetry", self.let_go_symmetry)

    def _connect(self, name: str) -> None:
        self._actions.on(name, lambda: self.ask(name))

    def ask(self, name: str) -> None:
        """Open the dialog of a command."""
        try:
            _DIALOGS[name](self._session, self._window).exec()
        except LaplineError as error:
            self._session.drop_preview()
            show_error(error, self._window)

    def let_go_symmetry(self) -> None:
        """Let the halves of a panel be edited each on its own again."""
        session = self._session
        panel = session.committed_job.panel(panel_meant(session))
        try:
            job = let_go_of_symmetry(session.committed_job, panel.id)
            session.do(f"Let go of the symmetry of {panel.name}", job)
        except LaplineError as error:
            session.message(error.sentence())

    def reasons(self) -> dict[str, str]:
        """Return for each command why it cannot be done now, or ""."""
        selection, job = self._session.selection, self._session.job
        reason = _why_not(selection)
        if not job.panels:
            reason = "There is no panel yet"
        alone = reason or ("" if len(job.panels) > 1 else "There is no other panel")
        found = {name: alone if name in _TWO_PANELS else reason for name in _DIALOGS}
        meant = "" if reason else panel_meant(self._session)
        is_kept = any(p.id == meant and p.symmetry is not None for p in job.panels)
        found["let_go_symmetry"] = reason or ("" if is_kept else "Its halves are free already")
        return found

    def menu_for(self, selection: Selection) -> list[QAction | None]:
        """Return what the menu under the pointer adds for a selection; None is a line."""
        if _why_not(selection):
            return []
        names = NODE_MENU if selection.kind == "node" else PANEL_MENU
        return [None if n == "-" else self._actions[n] for n in names]


def panel_meant(session: Session) -> str:
    """Return the panel that a command of the Panel menu works on, as its dialogs have it."""
    selection = session.selection
    return str(selection.panel or selection.ids[0])


def _why_not(selection: Selection) -> str:
    """Return why no panel's outline is meant by a selection, or ""."""
    match selection.kind:
        case "panel":
            return ""
        case "node" if selection.ids[0] == selection.panel or selection.ids[0][0] == "o":
            return ""
        case "region" | "opening" | "mark" if selection.panel is not None:
            return ""
        case _:
            return "Select a panel or a node of its rim first"

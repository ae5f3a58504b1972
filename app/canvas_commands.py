"""The commands that draw by, copy, repeat, lock and hide what is on the canvas."""

from collections.abc import Sequence

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog, QWidget

from app.actions import Actions
from app.canvas import copying
from app.canvas.view import CanvasView
from app.dialogs.array import ArrayDialog
from app.selection import Selection
from app.session import Session
from app.settings import AppSettings
from core.document.edits.runs import find_run

_MENUS: dict[str, tuple[str, ...]] = {
    "panel": ("copy", "cut", "paste", "duplicate", "repeat", "-", "lock", "hide"),
    "line": ("copy", "cut", "paste", "duplicate", "repeat", "-", "line_up_run", "unlink_run"),
    "opening": ("copy", "cut", "paste", "duplicate"),
    "mark": ("copy", "cut", "paste", "duplicate"),
    "region": ("paste", "duplicate", "-", "lock", "hide"),
    "guide": ("delete", "clear_guides"),
    "dimension": ("delete",),
    "none": (
        "paste",
        "select_all",
        "show_hidden",
        "-",
        "show_rulers",
        "show_grid",
        "clear_guides",
    ),
}
"""What the menu of a selection offers beside its own."""


class CanvasCommands:
    """The commands of the Edit and View menus that work on the canvas."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        settings: AppSettings,
        canvas: CanvasView,
        actions: Actions,
    ) -> None:
        self._window, self._session, self._settings = window, session, settings
        self._canvas, self._actions = canvas, actions
        desk, on = canvas.desk, actions.on
        on("select_all", lambda: copying.select_all(desk))
        on("copy", lambda: copying.copy(desk))
        on("cut", lambda: copying.cut(desk))
        on("paste", lambda: copying.paste(desk, canvas.pointed_at))
        on("duplicate", lambda: copying.duplicate(desk))
        on("repeat", self.ask_repeat)
        on("lock", lambda: copying.toggle_locked(desk))
        on("hide", lambda: copying.hide(desk))
        on("show_hidden", lambda: copying.show_hidden(desk))
        on("line_up_run", lambda: copying.line_up(desk))
        on("unlink_run", lambda: copying.unlink(desk))
        on("clear_guides", lambda: copying.clear_guides(desk))
        actions["show_rulers"].toggled.connect(self._show_rulers)
        actions["show_grid"].toggled.connect(self._show_grid)
        actions["show_rulers"].setChecked(settings.flag("rulers", default=True))
        actions["show_grid"].setChecked(settings.flag("grid", default=False))
        for name in ("hatch", "numbers"):
            self._connect_detail(name)
        session.selection_changed.connect(self._follow)
        session.job_changed.connect(self._follow)
        self._follow()

    def ask_repeat(self) -> None:
        """Ask for rows and columns, and set what is selected out in them."""
        selection = self._session.selection
        if selection.kind != "line" and not copying.selected_panels(self._canvas.desk):
            self._session.message("Select panels or lines first.")
            return
        dialog = ArrayDialog(self._session.committed_job.units, self._window)
        if dialog.exec() == QDialog.DialogCode.Accepted:
            copying.repeat(self._canvas.desk, dialog.counts, dialog.gaps)

    def menu_for(self, selection: Selection) -> Sequence[QAction | None]:
        """Return what the context menu of a selection offers; None is a line between."""
        names = _MENUS.get(selection.kind, ())
        return [None if name == "-" else self._actions[name] for name in names]

    def _connect_detail(self, name: str) -> None:
        """Let an action show or hide something of the canvas, and remember it."""
        show = {
            "hatch": self._canvas.canvas_scene.set_hatch,
            "numbers": self._canvas.canvas_scene.set_numbers,
        }[name]
        action = self._actions[f"show_{name}"]

        def follow(is_shown: bool) -> None:  # noqa: FBT001 - Qt's signal
            show(shown=is_shown)
            self._settings.set_flag(name, value=is_shown)

        action.setChecked(self._settings.flag(name, default=True))
        show(shown=action.isChecked())
        action.toggled.connect(follow)

    def _show_rulers(self, is_shown: bool) -> None:  # noqa: FBT001 - Qt's signal
        self._canvas.set_rulers(shown=is_shown)
        self._settings.set_flag("rulers", value=is_shown)

    def _show_grid(self, is_shown: bool) -> None:  # noqa: FBT001 - Qt's signal
        self._canvas.set_grid(shown=is_shown)
        self._settings.set_flag("grid", value=is_shown)

    def _follow(self) -> None:
        """Say what can be done with what is selected, and why not."""
        session, ready = self._session, self._actions.set_ready
        job, selection = session.job, session.selection
        panels = [p for p in job.panels if p.id in copying.selected_panels(self._canvas.desk)]
        has_any = bool(panels) or selection.kind == "line"
        none = copying.SELECT_FIRST.rstrip(".")
        for name in ("copy", "duplicate"):
            ready(name, unless="" if has_any else none)
        ready("repeat", unless="" if has_any else "Select panels or lines first")
        ready("cut", unless="" if selection.kind in copying.WHOLE_KINDS else none)
        for name in ("lock", "hide"):
            ready(name, unless="" if panels else "Select a panel first")
        is_locked = bool(panels) and all(p.is_locked for p in panels)
        self._actions["lock"].setText("Unlock" if is_locked else "Lock")
        hidden = any(p.is_hidden for p in job.panels)
        ready("show_hidden", unless="" if hidden else "No panel is hidden")
        ready("clear_guides", unless="" if job.guides else "There are no guides")
        is_line = selection.kind in ("line", "node") and bool(selection.ids)
        run = find_run(job, session.variant, selection.ids[0]) if is_line else None
        no_run = "" if run else "Select a stripe over several panels first"
        ready("unlink_run", unless=no_run)
        is_one = run is not None and run.is_in_line
        ready("line_up_run", unless=no_run or ("The run is one line already" if is_one else ""))

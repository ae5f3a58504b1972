"""Which actions can be done now, and why the others cannot."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

if TYPE_CHECKING:
    from app.window import MainWindow

DELETABLE = ("panel", "line", "node", "region", "opening", "mark", "guide", "dimension")


class Readiness(QObject):
    """Keeps the actions of a window enabled or explained."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self._window = window
        self._session = window.session
        for signal in (
            self._session.file_changed,
            self._session.selection_changed,
            self._session.plan_changed,
            self._session.rolls_changed,
            window.tightening.changed,
            window.films.picked,
            window.hand_out.changed,
        ):
            signal.connect(self.refresh)
        self.refresh()

    def refresh(self, *_: object) -> None:
        """Look at everything again."""
        for action, reason in (
            *self._history().items(),
            *self._files().items(),
            *self._drawing().items(),
            *self._job().items(),
            *self._window.outlines.reasons().items(),
            *self._window.stock.reasons().items(),
            *self._rolls().items(),
        ):
            self._window.actions_by_id.set_ready(action, unless=reason)

    def _history(self) -> dict[str, str]:
        session, actions = self._session, self._window.actions_by_id
        actions["undo"].setText(f"Undo {_inside(session.undo_text)}".strip())
        actions["redo"].setText(f"Redo {_inside(session.redo_text)}".strip())
        return {
            "undo": "" if session.can_undo else "Nothing was done yet",
            "redo": "" if session.can_redo else "Nothing was undone",
        }

    def _files(self) -> dict[str, str]:
        plan = self._session.plan
        reason = "" if plan.panels else "There is no panel yet"
        stopped = reason or ("A finding stops the job: see Review" if plan.is_stopped else "")
        is_saved = not self._session.is_dirty and self._session.path is not None
        return {
            "save": "Everything is saved" if is_saved else "",
            "hand_out": stopped,
            "open_folder": "" if self._window.hand_out.folder else "Nothing was written yet",
        }

    def _drawing(self) -> dict[str, str]:
        has_panels = bool(self._session.job.panels)
        none = "" if has_panels else "There is no panel yet"
        kind = self._session.selection.kind
        chosen = "" if kind in DELETABLE else "Select something on the canvas first"
        tools = ("seam", "stripe", "inlay", "opening", "mark", "paint", "flip")
        lines = [s for s in self._session.plan.panels if s.stretches]
        flip = none or ("" if lines else "There is no seam yet")
        return {
            "delete": chosen,
            "select_all": none,
            "select_none": "Nothing is selected" if kind == "none" else "",
            "zoom_in": none,
            "zoom_out": none,
            "zoom_fit": none,
            **{f"tool_{tool}": none for tool in tools},
            "tool_flip": flip,
        }

    def _job(self) -> dict[str, str]:
        job = self._session.job
        films = "" if job.films else "The job has no film"
        one_left = "A job needs one variant" if len(job.variants) == 1 else ""
        return {"edit_film": films, "delete_film": films, "delete_variant": one_left}

    def _rolls(self) -> dict[str, str]:
        report, packing = self._session.rolls, self._window.tightening
        sheets = [s for f in report.rolls.films for s in f.sheets] if report else []
        has_pieces = any(s.placements for s in sheets)
        empty = "" if has_pieces else "No piece lies on a roll yet"
        return {
            "tighten": empty or ("It is being packed" if packing.is_running else ""),
            "stop_tighten": "" if packing.is_running else "Nothing is being packed",
            "keep_layout": empty
            or ("Packing is still going on" if packing.is_running else "")
            or ("" if packing.is_keepable else "This layout is kept already"),
            "let_go": "" if packing.has_kept else "No layout is kept",
        }


def _inside(sentence: str) -> str:
    return f"{sentence[:1].lower()}{sentence[1:]}".replace("&", "&&")

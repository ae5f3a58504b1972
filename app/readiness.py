"""Which actions can be done now, and why the others cannot."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from PySide6.QtCore import QObject, SignalInstance

from app.actions import Actions
from app.session import Session
from app.tightening import Tightening

DELETABLE = ("panel", "line", "node", "region", "opening", "mark", "guide", "dimension")


class KnowsReasons(Protocol):
    """Commands that know themselves which of them cannot be done."""

    def reasons(self) -> dict[str, str]:
        """Return for each action why it cannot be done now, "" when it can."""


class Readiness(QObject):
    """Keeps the actions enabled or explained."""

    def __init__(
        self,
        session: Session,
        actions: Actions,
        packing: Tightening,
        others: Sequence[KnowsReasons],
        signals: Iterable[SignalInstance],
    ) -> None:
        """Look at everything now, and whenever something changes.

        Args:
            session: what most depends on.
            actions: kept enabled or explained.
            packing: of the rolls.
            others: tell of actions of their own.
            signals: tell that something else has changed.
        """
        super().__init__(packing)
        self._session, self._actions, self._packing = session, actions, packing
        self._others = others
        for signal in (
            session.file_changed,
            session.selection_changed,
            session.plan_changed,
            session.rolls_changed,
            packing.changed,
            *signals,
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
            *self._rolls().items(),
            *(pair for other in self._others for pair in other.reasons().items()),
        ):
            self._actions.set_ready(action, unless=reason)

    def _history(self) -> dict[str, str]:
        session, actions = self._session, self._actions
        actions["undo"].setText(f"Undo {_inside(session.undo_text)}".strip())
        actions["redo"].setText(f"Redo {_inside(session.redo_text)}".strip())
        return {
            "undo": "" if session.can_undo else "Nothing was done yet",
            "redo": "" if session.can_redo else "Nothing was undone",
        }

    def _files(self) -> dict[str, str]:
        is_saved = not self._session.is_dirty and self._session.path is not None
        return {"save": "Everything is saved" if is_saved else ""}

    def _drawing(self) -> dict[str, str]:
        has_panels = bool(self._session.job.panels)
        none = "" if has_panels else "There is no panel yet"
        kind = self._session.selection.kind
        chosen = "" if kind in DELETABLE else "Select something on the canvas first"
        tools = ("seam", "stripe", "inlay", "relief", "opening", "mark", "paint", "flip")
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
        report, packing = self._session.rolls, self._packing
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

"""The commands that change the job as a whole: settings, new panels, films, variants."""

from collections.abc import Callable
from functools import partial

from PySide6.QtWidgets import QDialog, QInputDialog, QWidget

from app.actions import Actions
from app.dialogs.film import FilmDialog
from app.dialogs.job_settings import JobSettingsDialog
from app.dialogs.new_panel import NewPanelDialog
from app.messages import show_error
from app.panes.films import FilmsPane
from app.selection import Selection
from app.session import Session
from core.document.edits.films import add_film, delete_film, replace_film
from core.document.edits.ids import free_id
from core.document.edits.panels import add_panel
from core.document.edits.variants import add_variant, delete_variant, rename_variant
from core.document.film import Film
from core.document.job import Job
from core.errors import LaplineError
from core.ids import PanelId

NEW_COLOURS = ("#c2512f", "#e0b13f", "#2e4a6b", "#6f8f5a", "#7b4a6e", "#efe9dc")


class JobCommands:
    """The commands of the Job menu, apart from packing."""

    def __init__(
        self, window: QWidget, session: Session, actions: Actions, films: FilmsPane
    ) -> None:
        self._window, self._session, self._films = window, session, films
        self._variants = actions.submenus["variants"]
        self._variants.setTitle("Show variant")
        self._variants.aboutToShow.connect(self._fill_variants)
        actions.on("job_settings", self.ask_settings)
        actions.on("add_panel", self.ask_panel)
        actions.on("add_film", self.ask_new_film)
        actions.on("edit_film", self.ask_film)
        actions.on("delete_film", self.delete_film)
        actions.on("add_variant", self.ask_new_variant)
        actions.on("rename_variant", self.ask_rename_variant)
        actions.on("delete_variant", self.delete_variant)

    def ask_settings(self) -> None:
        """Edit the job's settings."""
        dialog = JobSettingsDialog(self._session.committed_job, self._window)
        if dialog.exec() == QDialog.DialogCode.Accepted:
            self._do("Change the job's settings", lambda _: dialog.job)

    def ask_panel(self) -> None:
        """Add a panel by its measures, and select it."""
        dialog = NewPanelDialog(self._session.committed_job, self._window)
        if dialog.exec() == QDialog.DialogCode.Accepted and dialog.panel:
            panel = dialog.panel
            if self._do(f"Add {panel.name}", lambda job: add_panel(job, panel)):
                self._session.select(Selection("panel", (panel.id,), PanelId(panel.id)))

    def ask_new_film(self) -> None:
        """Add a film, and choose it."""
        job = self._session.committed_job
        rank = max((f.rank for f in job.films), default=-1) + 1
        colour = NEW_COLOURS[len(job.films) % len(NEW_COLOURS)]
        name = f"Film {len(job.films) + 1}"
        fresh = Film(id=free_id(job, "f"), name=name, colour=colour, rank=rank)
        film = self._ask_film(fresh, "Add film")
        if film and self._do(f"Add {film.name}", lambda job: add_film(job, film)):
            self._films.refresh()
            self._films.pick(film.id)

    def ask_film(self) -> None:
        """Edit the chosen film."""
        old = self._session.committed_job.film(self._films.film)
        film = self._ask_film(old, "Film")
        if film:
            self._do(f"Change {old.name}", lambda job: replace_film(job, film))

    def delete_film(self) -> None:
        """Delete the chosen film, unless it is used."""
        film = self._session.committed_job.film(self._films.film)
        self._do(f"Delete {film.name}", lambda job: delete_film(job, film.id))

    def ask_new_variant(self) -> None:
        """Add a variant that starts like the one that is shown, and show it."""
        like = self._session.variant
        name = self._ask_name("Add variant", "Another idea")
        if name is None:
            return
        if self._do(f"Add variant {name}", lambda job: add_variant(job, name, like=like)):
            self._session.set_variant(self._session.job.variants[-1].id)

    def ask_rename_variant(self) -> None:
        """Rename the variant that is shown."""
        variant = self._session.variant
        old = self._session.job.variant(variant).name
        name = self._ask_name("Rename variant", old)
        if name is not None and name != old:
            self._do(f"Rename variant {old}", lambda job: rename_variant(job, variant, name))

    def delete_variant(self) -> None:
        """Delete the variant that is shown; undo brings it back."""
        variant = self._session.variant
        name = self._session.job.variant(variant).name
        self._do(f"Delete variant {name}", lambda job: delete_variant(job, variant))

    def _ask_film(self, film: Film, title: str) -> Film | None:
        dialog = FilmDialog(film, self._session.committed_job, title, self._window)
        return dialog.film if dialog.exec() == QDialog.DialogCode.Accepted else None

    def _ask_name(self, title: str, start: str) -> str | None:
        name, is_given = QInputDialog.getText(self._window, title, "Name", text=start)
        return name.strip() if is_given and name.strip() else None

    def _do(self, sentence: str, change: Callable[[Job], Job]) -> bool:
        try:
            self._session.do(sentence, change(self._session.committed_job))
        except LaplineError as error:
            show_error(error, self._window)
            return False
        return True

    def _fill_variants(self) -> None:
        self._variants.clear()
        for variant in self._session.job.variants:
            action = self._variants.addAction(variant.name)
            action.setCheckable(True)
            action.setChecked(variant.id == self._session.variant)
            action.triggered.connect(partial(self._show_variant, variant.id))

    def _show_variant(self, variant: str, _checked: bool = False) -> None:  # noqa: FBT001, FBT002
        self._session.set_variant(variant)

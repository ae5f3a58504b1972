"""The open job: the one mutable cell of the program.

The session holds which Job is current and tells when it changes. Panes and gestures read from
it and hand it new Jobs; it makes the undo steps, keeps the plan and the rolls up to date, and
knows what has been saved. It has no widgets.
"""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.history import History, Step
from app.jobs import patiently
from app.planner import RollKeeper
from app.selection import NOTHING, Selection, still_there
from core.document.edits.locks import refuse_locked
from core.document.edits.surfaces import scan_files
from core.document.file import JobFile, load_job, save_job
from core.document.film import Film
from core.document.job import Job
from core.document.variant import Variant
from core.errors import InputError, LaplineError
from core.plan.colours import carry_colours
from core.plan.model import JobPlan
from core.plan.plan import networks_in, plan_file, plan_job
from core.roll.rolls import RollReport, no_rolls, roll_plan

__all__ = ["NOTHING", "Selection", "Session", "new_job"]


def new_job() -> Job:
    """Return the job that a new window starts with: two films and nothing to cover yet."""
    base = Film(id="f1", name="Base film", colour="#c9ccc6", rank=0)
    accent = Film(id="f2", name="Accent film", colour="#1d7f86", rank=1)
    return Job(name="New job", films=(base, accent), variants=(Variant(id="v1", name="First"),))


class Session(QObject):
    """The open job with its history, plan, rolls, selection and file."""

    job_changed = Signal()
    plan_changed = Signal()
    rolls_changed = Signal()
    selection_changed = Signal()
    hover_changed = Signal()
    file_changed = Signal()
    """Path, name or whether there is something to save has changed."""
    opened = Signal()
    """Another job is open now."""
    said = Signal(str)

    def __init__(
        self,
        parent: QObject | None = None,
        lay_out: Callable[[JobPlan], RollReport] = roll_plan,
    ) -> None:
        super().__init__(parent)
        self._history = History()
        self._photos: Mapping[str, bytes] = {}
        self._added_photos: dict[str, bytes] = {}
        self._loose_photos: frozenset[str] = frozenset()
        self._scans: dict[str, bytes] = {}
        self._loose_scans: frozenset[str] = frozenset()
        self._path: Path | None = None
        self._preview: Job | None = None
        self._rolls: RollReport | None = None
        self._selection = NOTHING
        self._hovered: str | None = None
        self._keeper = RollKeeper(self, lay_out)
        self._keeper.found.connect(self.show_rolls)
        self._keeper.refused.connect(self._on_no_rolls)
        self._job = self._saved = new_job()
        self._variant = self._job.variants[0].id
        self._plan = self._settled_plan = plan_job(self._job, self._variant)

    # What is

    @property
    def job(self) -> Job:
        """The job as shown: during a gesture the previewed one."""
        return self._preview or self._job

    @property
    def committed_job(self) -> Job:
        """The job without the gesture that is going on."""
        return self._job

    @property
    def is_previewing(self) -> bool:
        """Whether a gesture is going on."""
        return self._preview is not None

    @property
    def variant(self) -> str:
        """Id of the variant that is shown."""
        return self._variant

    @property
    def plan(self) -> JobPlan:
        """The plan of the job as shown."""
        return self._plan

    @property
    def rolls(self) -> RollReport | None:
        """The newest layout of the rolls; None until the first one is found."""
        return self._rolls

    @property
    def are_rolls_current(self) -> bool:
        """Whether the rolls belong to the plan that is shown."""
        return self._rolls is not None and not self._keeper.is_busy

    @property
    def selection(self) -> Selection:
        """What is selected."""
        return self._selection

    @property
    def hovered(self) -> str | None:
        """Id of what the pointer is over, on the canvas or in a pane."""
        return self._hovered

    @property
    def path(self) -> Path | None:
        """Where the job was opened from or saved to."""
        return self._path

    @property
    def file(self) -> JobFile:
        """The job as it would be saved."""
        named = {photo.file for photo in self._job.photos}
        kept = named | self._loose_photos
        held = {**self._photos, **self._added_photos}
        scans = scan_files(self._job) | self._loose_scans
        return JobFile(
            job=self._job,
            photos={n: d for n, d in held.items() if n in kept},
            scans={n: d for n, d in self._scans.items() if n in scans},
        )

    @property
    def is_dirty(self) -> bool:
        """Whether there is something to save."""
        return self._job is not self._saved

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return self._history.last is not None

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to do again."""
        return self._history.next is not None

    @property
    def undo_text(self) -> str:
        """The sentence of the step that undo takes back, or ""."""
        return self._history.last.sentence if self._history.last else ""

    @property
    def redo_text(self) -> str:
        """The sentence of the step that redo does again, or ""."""
        return self._history.next.sentence if self._history.next else ""

    def photo_data(self, name: str) -> bytes | None:
        """Return a photo of the open file, or one added since."""
        return self._added_photos.get(name) or self._photos.get(name)

    def keep_photo(self, name: str, data: bytes) -> None:
        """Hold a photo ready for a job that names it; it is saved only when the job does."""
        self._added_photos[name] = data

    def keep_scan(self, name: str, data: bytes) -> None:
        """Hold a scan ready for a job that names it; it is saved only when the job does."""
        self._scans[name] = data

    def scan_data(self, name: str) -> bytes | None:
        """Return a scan of the open file, or one added since."""
        return self._scans.get(name)

    # Edits

    def do(self, sentence: str, job: Job, *, merge: str | None = None) -> None:
        """Make a job the current one, as one undo step.

        Args:
            sentence: what was done, as the menu says it: "Move Seam 2".
            job: the new job, already valid.
            merge: equal keys in a row make one step.

        Raises:
            LaplineError: when the job cannot be planned or changes what is locked; nothing has
                changed then.
        """
        if job is self._job:
            self.drop_preview()
            return
        try:
            refuse_locked(self._job, job)
            job = carry_colours(self._settled_plan, job)
            self._replan(job)
        except LaplineError:
            self.drop_preview()
            raise
        self._history.push(Step(sentence, self._job, job, merge))
        self._settle(job)

    def preview(self, job: Job) -> None:
        """Show and plan a job during a gesture, outside the history; refuses as ``do`` does."""
        refuse_locked(self._job, job)
        job = carry_colours(self._settled_plan, job)
        self._replan(job)
        self._preview = job
        self.job_changed.emit()
        self.plan_changed.emit()

    def drop_preview(self) -> None:
        """End a gesture without a trace."""
        if self._preview is not None:
            self._replan(self._job)
            self._settle(self._job)

    def undo(self) -> None:
        """Take back the last step."""
        self.drop_preview()
        job = self._history.undo()
        if job is not None:
            self._replan(job)
            self._settle(job)

    def redo(self) -> None:
        """Do the last undone step again."""
        self.drop_preview()
        job = self._history.redo()
        if job is not None:
            self._replan(job)
            self._settle(job)

    def end_merging(self) -> None:
        """Let the next edit be a step of its own, whatever its merge key."""
        self._history.seal()

    def _replan(self, job: Job) -> None:
        variants = [v.id for v in job.variants]
        variant = self._variant if self._variant in variants else variants[0]
        self._plan = plan_job(job, variant, networks_in(job, self._scans))
        self._variant = variant
        self._keeper.want(self._plan)

    def _settle(self, job: Job) -> None:
        self._preview = None
        self._job = job
        self._settled_plan = self._plan
        self._prune()
        self.job_changed.emit()
        self.plan_changed.emit()
        self.file_changed.emit()

    def _prune(self) -> None:
        kept = still_there(self._selection, self._job, self._variant, self._plan)
        if kept != self._selection:
            self._selection = kept
            self.selection_changed.emit()

    # What is shown

    def set_variant(self, variant: str) -> None:
        """Show another variant. KeyError when the job has none of that id."""
        self._job.variant(variant)
        if variant == self._variant:
            return
        self._variant = variant
        self.drop_preview()
        self._replan(self._job)
        self._settle(self._job)

    def select(self, selection: Selection) -> None:
        """Select something, or ``NOTHING``."""
        if selection != self._selection:
            self._selection = selection
            self._history.seal()
            self.selection_changed.emit()

    def hover(self, what: str | None) -> None:
        """Point at something without selecting it."""
        if what != self._hovered:
            self._hovered = what
            self.hover_changed.emit()

    def show_rolls(self, rolls: RollReport) -> None:
        """Show a layout of the rolls until the plan changes."""
        self._rolls = rolls
        self.rolls_changed.emit()

    def _on_no_rolls(self, why: str) -> None:
        """Show that no film could be laid out, as a finding that stops the job."""
        self.message(f"The rolls could not be laid out. {why}")
        self.show_rolls(no_rolls(self._plan, f"{why[:1].lower()}{why[1:]}".rstrip(".")))

    def message(self, text: str) -> None:
        """Say one line in the window's status strip."""
        self.said.emit(text)

    # Files

    def new(self) -> None:
        """Start an empty job."""
        self._open(JobFile(job=new_job()), None)

    def open(self, path: Path) -> None:
        """Open a job. FileError when it cannot be read; the open job stays then."""
        self._open(patiently(partial(_load, path)), path)

    def open_copy(self, path: Path) -> None:
        """Open a job without its path, so that saving asks for another."""
        self._open(patiently(partial(_load, path)), None)

    def recover(self, file: JobFile, path: Path | None) -> None:
        """Open what an earlier run left unsaved; it counts as not saved."""
        self._open(file, path)
        self._saved = new_job()
        self.file_changed.emit()

    def save(self, path: Path | None = None) -> None:
        """Save to a path, or to where the job is from.

        Raises:
            InputError: when the job has no path yet and none is given.
            FileError: when it cannot be written; the old file is whole then.
        """
        target = path or self._path
        if target is None:
            raise InputError("The job has no file yet.", mend="Choose where to save it.")
        save_job(target, self.file)
        self._saved = self._job
        self._path = target.absolute()
        self._history.seal()
        self.file_changed.emit()

    def _open(self, file: JobFile, path: Path | None) -> None:
        variant = file.job.variants[0].id
        self._plan = plan_file(file, variant)
        self._variant = variant
        self._history.clear()
        self._photos, self._path = file.photos, path.absolute() if path else None
        self._added_photos = {}
        # What a file holds beside the photos that its job names stays in it.
        self._loose_photos = frozenset(file.photos) - {p.file for p in file.job.photos}
        self._scans = dict(file.scans)
        self._loose_scans = frozenset(file.scans) - scan_files(file.job)
        self._rolls, self._selection = None, NOTHING
        self._saved = file.job
        self._keeper.want(self._plan)
        self.selection_changed.emit()  # first: what was selected is in no plan any more
        self._settle(file.job)
        self.rolls_changed.emit()
        self.opened.emit()


def _load(path: Path) -> JobFile:
    """Read a job and plan it, so that showing it is quick: the plan is remembered."""
    file = load_job(path)
    plan_file(file, file.job.variants[0].id)
    return file

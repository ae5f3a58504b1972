"""The search for seams on one panel: asked in a worker, shown, and drawn when it is adopted."""

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget
from shapely import Polygon

from app.jobs import Work
from app.messages import show_error
from app.session import Session
from app.shape_words import DATA_FIRST, gravest, told, tone_of
from app.shapes import Shapes
from app.solid.map_picture import MapPiece
from app.solid.proposals_window import Card, ProposalsWindow
from core.document.job import Job
from core.errors import LaplineError
from core.ids import PanelId
from core.plan.lookup import drawn_plans
from core.plan.model import JobPlan
from core.plan.proposal_check import Found, Laid, find_seams
from core.plan.seam_proposals import accent_film, adopt, cuts_only, edges_of, question_for
from core.plan.shape_check import PieceShape, Verdict
from core.progress import Step
from core.shape.proposals.model import Proposal
from core.units import format_length

RELIEF = (
    "The film stays in one piece; the sides of each cut meet when it is laid. Cut it before it "
    "is laid; on the part only over cutting tape, never with a blade over paint."
)


class SeamSearch(QObject):
    """Looks for seams on a panel and shows them in a window of its own."""

    def __init__(
        self, session: Session, shapes: Shapes, panel: str, parent: QWidget | None
    ) -> None:
        super().__init__(parent)
        self._session, self._shapes, self._panel = session, shapes, panel
        self._work: Work | None = None
        self._plan: JobPlan = session.plan
        self._shown: list[Proposal] = []
        name = session.job.panel(panel).name
        self.window = ProposalsWindow(name, parent)
        self.window.adopted.connect(self._adopt)
        self._show_state()
        self.window.open()
        self._ask()

    @property
    def is_busy(self) -> bool:
        """Whether the search goes on."""
        return self._work is not None

    def end(self) -> None:
        """Stop what goes on and put the window away."""
        if self._work is not None:
            self._work.cancel()
        self.window.deleteLater()
        self.deleteLater()

    def _show_state(self) -> None:
        copies = {p.id for p in self._plan.panels if p.of == self._panel}
        shape = gravest(s for s in self._shapes.report.pieces if s.panel in copies)
        if shape is not None and self._shapes.is_current:
            words = told(shape)
            self.window.show_state(words.tone, words.head, words.text, words.more)
        else:
            self.window.show_state("note", "As drawn now: being worked out…", "")

    def _ask(self) -> None:
        try:
            question = question_for(self._plan, self._panel)
        except LaplineError as error:
            self.window.show_refusal(f"{error.what} {error.mend}")
            return
        plan, panel = self._plan, self._panel
        self._work = Work(lambda control: find_seams(plan, panel, question, control))
        self._work.progressed.connect(self._on_progress)
        self._work.done.connect(self._on_done)
        self._work.failed.connect(self._on_failed)
        self._work.ended.connect(self._on_ended)
        self._work.start()

    def _on_progress(self, step: object) -> None:
        if isinstance(step, Step):
            self.window.show_progress(f"{step.words}…", step.share)

    def _on_done(self, found: Found) -> None:
        worst = gravest(found.now.shapes)
        if worst is not None:
            words = told(worst)
            self.window.show_state(words.tone, words.head, words.text, words.more)
            if found.now.lays and not found.proposals:
                self.window.show_state("fine", "No seam is needed", worst.sentence, words.more)
        self._shown = [proposal for proposal, _ in found.proposals]
        area = drawn_plans(self._plan)[PanelId(self._panel)].outline
        job = self._session.job
        cards = [_card(proposal, laid, area, job) for proposal, laid in found.proposals]
        self.window.show_proposals(cards)
        none = "" if found.now.lays or cards else "No seams were found that are enough."
        self.window.show_note(f"{none} {DATA_FIRST}".strip())

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, LaplineError):
            raise error
        self.window.show_refusal(error.sentence())

    def _on_ended(self) -> None:
        self._work = None

    def _adopt(self, number: int) -> None:
        proposal, job = self._shown[number], self._session.committed_job
        drawn = drawn_plans(self._session.plan)[PanelId(self._panel)]
        panel = job.panel(self._panel)
        try:
            film = accent_film(job, panel.base_film)
            fresh = adopt(job, self._session.variant, drawn, proposal, film)
            what = "relief cuts" if cuts_only(proposal) else "seams"
            self._session.do(f"Draw the {what} proposed for {panel.name}", fresh)
        except LaplineError as error:
            show_error(error, self.window)


def _card(proposal: Proposal, laid: Laid, area: Polygon, job: Job) -> Card:
    note = RELIEF if cuts_only(proposal) else ""
    worst = gravest(laid.shapes)
    if worst is not None and worst.verdict is Verdict.UNSURE:
        note = told(worst).text
    elif not laid.lays:
        note = "It comes nearest, but is still too much."
    return Card(
        title=proposal.sentence.partition(":")[0],
        panel=area,
        pieces=tuple(MapPiece(shown, tone_of(shape)) for shown, shape in laid.areas),
        lines=(*proposal.drawn, *(e for line in proposal.lines for e in edges_of(line))),
        rows=(
            ("Pieces", str(len(laid.shapes))),
            *_of_hardest(worst),
            *_of_new_lines(proposal, job),
        ),
        note=note,
        button=_verb(proposal),
    )


def _of_hardest(worst: PieceShape | None) -> tuple[tuple[str, str], ...]:
    """Return how the hardest piece lays, and what it needs of what its film takes."""
    if worst is None:
        return ()
    cold, warm = f"{worst.easy_pct:.1f}", f"{worst.limit_pct:.1f}"
    takes = f"{warm} %" if cold == warm else f"{cold} cold, {warm} warm"
    return (
        ("Hardest piece", told(worst).head.lower()),
        ("Range it needs", f"{worst.range_pct:.1f} %"),
        ("Its film takes", takes),
    )


def _of_new_lines(proposal: Proposal, job: Job) -> tuple[tuple[str, str], ...]:
    """Return what is told of the lines that are to be drawn; nothing where there are none."""
    if not proposal.lines:
        return ()
    hidden = f"{100 * proposal.hidden_share:.0f} %" if proposal.hidden_share else "none of it"
    length = "Length of the cuts" if cuts_only(proposal) else "Seam length"
    return (
        (length, format_length(proposal.seam_mm, job.units, decimals=0)),
        ("Hidden by lines", hidden),
    )


def _verb(proposal: Proposal) -> str:
    if not proposal.lines:
        return ""  # all of it is drawn already
    if cuts_only(proposal):
        return "Draw these relief cuts"
    seams = proposal.seams
    if seams < len(proposal.lines):
        others = "" if not seams else " and the seam" if seams == 1 else " and the seams"
        return f"Draw the stripe{others}"
    return "Draw this seam" if len(proposal.lines) == 1 else "Draw these seams"

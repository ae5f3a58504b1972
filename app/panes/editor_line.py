"""Properties of seams, stripes and inlays: what is on top, how wide the lap, how it is cut."""

from collections.abc import Callable

from msgspec.structs import replace

from app.panes.editor import Editor
from app.session import Session
from core.document.edits.lines import (
    find_dividing_line,
    find_line,
    rename_line,
    replace_line,
    set_lap,
    set_rule,
    set_stripe_widths,
)
from core.document.facing import side_names
from core.document.job import Job
from core.document.lines import (
    DividingLine,
    Inlay,
    SeamCut,
    SeamRule,
    Side,
    Stripe,
    Under,
    line_name,
)
from core.plan.model import PanelPlan, Stretch
from core.units import format_length

CUT_WORDS = {
    SeamCut.PRE_CUT: "Pre-cut",
    SeamCut.CUTTING_TAPE: "Cutting tape",
    SeamCut.BUTT: "Butt, no lap",
}
UNDER_WORDS = {Under.LAP: "Ends after the lap", Under.FULL: "Runs all the way beneath"}


class LineEditor(Editor):
    """Edits one line, or what several have in common."""

    def __init__(self, session: Session, ids: tuple[str, ...]) -> None:
        super().__init__(session)
        self._ids = ids
        first = self._line()
        is_one = len(ids) == 1
        self.name = self.add_text("Name", self._on_name) if is_one else None
        self.film = None
        self.start = self.end = None
        if is_one and isinstance(first, Stripe):
            self.start = self.add_length("Width at start", self._on_start)
            self.end = self.add_length("Width at end", self._on_end)
        if is_one and isinstance(first, Stripe | Inlay):
            self.film = self.add_choice("Film", self._on_film)
        self.top = self.add_choice("On top", self._on_top)
        self.reason = self.add_words()
        self.lap = self.add_length("Lap", self._on_lap, is_optional=True)
        self.under = self.add_choice("Under film", self._on_under)
        self.cut = self.add_choice("Cut", self._on_cut)
        self.length = self.add_value("Edges" if isinstance(first, Stripe) else "Length")

    def refresh(self) -> None:
        """Show the values as they are now."""
        line = self._line()
        job, units = self.session.job, self.session.job.units
        several = f"{len(self._ids)} lines"
        self.title = line_name(line) if len(self._ids) == 1 else several
        if self.name:
            self.name.setPlaceholderText(line_name(replace(line, name="")))
            self.name.show_text(line.name)
        if self.start and self.end and isinstance(line, Stripe):
            self.start.show_mm(line.start_width_mm, units)
            self.end.show_mm(line.end_width_mm, units)
        if self.film and isinstance(line, Stripe | Inlay):
            self.film.show_choice(self.film_options(), line.film)
        stretches = self._stretches()
        self.top.show_choice(self._top_options(line, stretches), line.rule.on_top)
        reason = self._reason_text(line, stretches)
        self.reason.setText(reason)
        self._form.setRowVisible(self.reason, bool(reason))
        is_butt = (line.rule.cut or job.settings.seam_cut) is SeamCut.BUTT
        house = format_length(job.settings.lap_mm, units)
        self.lap.show_mm(line.rule.lap_mm, units, otherwise=f"{house} as the job")
        self.lap.setEnabled(not is_butt and line.rule.under is Under.LAP)
        if not self.lap.isEnabled():
            self.lap.setToolTip("There is no lap where the film is butt or runs all the way")
        self.under.show_choice([(w, u) for u, w in UNDER_WORDS.items()], line.rule.under)
        self.cut.show_choice(_cut_options(job), line.rule.cut)
        total = sum(s.length_mm for s in stretches)
        self.length.setText(
            format_length(total, units) if stretches else "None: it divides no panel"
        )

    def _line(self) -> DividingLine:
        return find_dividing_line(self.session.job, self.session.variant, self._ids[0])

    def _stretches(self) -> list[Stretch]:
        drawn = [p for p in self.session.plan.panels if not p.is_mirrored]
        first: dict[str, PanelPlan] = {}
        for panel in drawn:
            first.setdefault(panel.of, panel)
        return [s for p in first.values() for s in p.stretches if s.line in self._ids]

    def _top_options(
        self, line: DividingLine, stretches: list[Stretch]
    ) -> list[tuple[str, object]]:
        left, right = self._side_words(line, stretches)
        return [("Automatic", None), (left, Side.LEFT), (right, Side.RIGHT)]

    def _side_words(self, line: DividingLine, stretches: list[Stretch]) -> tuple[str, str]:
        if isinstance(line, Stripe):
            return "The stripe", "What is beside it"
        if isinstance(line, Inlay):
            return "The inlay", "What is around it"
        films = {
            side: {self._film_of(s, side) for s in stretches}
            for side in (Side.LEFT, Side.RIGHT)
        }
        left, right = films[Side.LEFT], films[Side.RIGHT]
        one, other = side_names(line.nodes)
        if len(left) == len(right) == 1 and left != right:
            return f"{left.pop()} ({one})", f"{right.pop()} ({other})"
        return f"{one.capitalize()} side", f"{other.capitalize()} side"

    def _reason_text(self, line: DividingLine, stretches: list[Stretch]) -> str:
        """Say what is on top now, and why."""
        reasons = ", ".join(sorted({str(s.reason) for s in stretches}))
        sides = {s.top_side for s in stretches}
        if not reasons:
            return ""
        if len(sides) > 1:
            return f"What is on top changes along this line: {reasons}."
        words = self._side_words(line, stretches)
        top = words[0] if Side.LEFT in sides else words[1]
        return f"{top} now lies on top: {reasons}."

    def _film_of(self, stretch: Stretch, side: Side) -> str:
        region = stretch.top if side is stretch.top_side else stretch.under
        return _film_name(self.session, region)

    def _each(self, sentence: str, change: Callable[[Job, str], Job]) -> None:
        def all_of_them(job: Job) -> Job:
            for line in self._ids:
                job = change(job, line)
            return job

        self.edit(f"{sentence} of {self.title}", all_of_them)

    def _set_rule(self, sentence: str, change: Callable[[SeamRule], SeamRule]) -> None:
        variant = self.session.variant
        self._each(
            sentence,
            lambda job, i: set_rule(
                job, variant, i, change(find_dividing_line(job, variant, i).rule)
            ),
        )

    def _on_name(self, name: str) -> None:
        variant, line = self.session.variant, self._ids[0]
        self.edit(f"Rename {self.title}", lambda job: rename_line(job, variant, line, name))

    def _on_start(self, width: float | None) -> None:
        self._set_widths(lambda line: (width or 0.0, line.end_width_mm))

    def _on_end(self, width: float | None) -> None:
        self._set_widths(lambda line: (line.start_width_mm, width or 0.0))

    def _set_widths(self, change: Callable[[Stripe], tuple[float, float]]) -> None:
        line, variant = self._line(), self.session.variant
        if isinstance(line, Stripe):
            start, end = change(line)
            self._each(
                "Change width", lambda job, i: set_stripe_widths(job, variant, i, start, end)
            )

    def _on_film(self, film: str) -> None:
        variant = self.session.variant
        panel, line = find_line(self.session.committed_job, variant, self._ids[0])
        if isinstance(line, Stripe | Inlay):
            changed = replace(line, film=film)
            self._each("Change film", lambda job, _: replace_line(job, variant, panel, changed))

    def _on_top(self, side: Side | None) -> None:
        self._set_rule("Change top side", lambda rule: replace(rule, on_top=side))

    def _on_lap(self, lap: float | None) -> None:
        variant = self.session.variant
        self._each("Change lap", lambda job, i: set_lap(job, variant, i, lap))

    def _on_under(self, under: Under) -> None:
        self._set_rule("Change under film", lambda rule: replace(rule, under=under))

    def _on_cut(self, cut: SeamCut | None) -> None:
        self._set_rule("Change cut", lambda rule: replace(rule, cut=cut))


def _cut_options(job: Job) -> list[tuple[str, object]]:
    house = CUT_WORDS[job.settings.seam_cut]
    return [(f"As the job: {house}", None), *((w, c) for c, w in CUT_WORDS.items())]


def _film_name(session: Session, region: str) -> str:
    for panel in session.plan.panels:
        for one in panel.regions:
            if one.id == region:
                return session.job.film(one.film).name
    return "Film"

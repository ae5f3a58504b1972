"""What a person reads about seams, pieces and findings: one wording for screen and paper."""

from collections.abc import Iterable, Sequence

from shapely.affinity import rotate

from core.document.job import BlankCut
from core.document.lines import SeamCut, line_name
from core.plan.model import Finding, JobPlan, PanelPlan, Piece, Stretch
from core.units import format_length

CUT_WORDS = {
    SeamCut.PRE_CUT: "cut beforehand",
    SeamCut.CUTTING_TAPE: "cut by tape",
    SeamCut.BUTT: "butt",
}


BLANK_CUT_WORDS = {
    BlankCut.STRAIGHT: "Straight from edge to edge",
    BlankCut.THREE_STAGES: "Straight, in three stages",
    BlankCut.ALL_STRAIGHT: "Straight, pre-cut pieces too",
    BlankCut.PLOTTER: "By the plotter",
}
"""The choices of *Blanks are cut* in the job settings."""


def counted(number: int, word: str) -> str:
    """Return a number with its noun.

    >>> counted(1, "piece"), counted(2, "piece")
    ('1 piece', '2 pieces')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def joined(words: Sequence[str]) -> str:
    """Return words as a list in a sentence.

    >>> joined(["1", "2", "4"]), joined(["3"])
    ('1, 2 and 4', '3')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def seam_name(plan: JobPlan, panel: PanelPlan, stretch: Stretch) -> str:
    """Return a seam's name, with its number where its line makes several."""
    scheme = plan.job.scheme(plan.variant.id, panel.of)
    name = next((line_name(x) for x in scheme.lines if x.id == stretch.line), stretch.line)
    _, dot, number = stretch.id.partition(".")
    return f"{name}, part {number}" if dot else name


def order_of(panel: PanelPlan, region: str) -> str:
    """Return the place in the lay order of the piece that shows a region, or "?"."""
    for piece in panel.pieces:
        if region in piece.regions:
            return str(piece.order)
    return "?"


def seam_sentence(plan: JobPlan, panel: PanelPlan, stretch: Stretch) -> str:
    """Return one line on a seam: who is on top, why, lap, length, cut."""
    units = plan.job.units
    top, under = order_of(panel, stretch.top), order_of(panel, stretch.under)
    if stretch.is_full:
        lap = "runs on all the way beneath"
    elif stretch.lap_mm > 0:
        lap = f"laps {format_length(stretch.lap_mm, units)}"
    else:
        lap = "no lap"
    return (
        f"{seam_name(plan, panel, stretch)}: {top} over {under} ({stretch.reason.value}), "
        f"{lap}, {format_length(stretch.length_mm, units)} long, {CUT_WORDS[stretch.cut]}"
    )


def piece_size(piece: Piece) -> tuple[float, float]:
    """Return how long a piece's cut shape is along its flow, and how wide across it, in mm."""
    x0, y0, x1, y1 = rotate(piece.cut, -piece.flow_deg, origin=(0, 0)).bounds
    return x1 - x0, y1 - y0


def piece_seams(panel: PanelPlan, piece: Piece) -> list[Stretch]:
    """Return the seams at which a piece meets others."""
    return [s for s in panel.stretches if s.top in piece.regions or s.under in piece.regions]


def panel_told(plan: JobPlan, finding: Finding) -> str:
    """Return the panel of a finding, or "" where it has none or its text begins with it.

    A piece is named after its panel.
    """
    names = {p.id: p.name for p in plan.panels}
    place = names.get(finding.panel, "") if finding.panel else ""
    is_told = finding.where is None and finding.text.startswith(f"{place} ")
    return "" if is_told else place


def finding_sentence(plan: JobPlan, finding: Finding) -> str:
    """Return one line on a finding: how much it matters, where, what."""
    place = panel_told(plan, finding)
    if finding.where is not None:
        x, y = (format_length(v, plan.job.units) for v in finding.where)
        place = f"{place} at ({x}, {y})".strip()
    return f"{finding.severity.value} {finding.check}: " + (
        f"{place}: {finding.text}" if place else finding.text
    )


def text_table(rows: Iterable[Sequence[str]], right: frozenset[int] = frozenset()) -> list[str]:
    """Return rows as lines with columns in line; the columns in ``right`` end in line.

    >>> text_table([("a", "10"), ("bcd", "5")], frozenset({1}))
    ['a    10', 'bcd   5']
    """
    cells = [list(row) for row in rows]
    if not cells:
        return []
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    return [
        "  ".join(
            cell.rjust(w) if i in right else cell.ljust(w)
            for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in cells
    ]

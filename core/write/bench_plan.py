"""The bench sheet as a list of pages and steps, before anything is drawn.

This is the one source of what is done in which order: the PDF is set from it. A step never
comes before what it stands on: tape goes down before its piece is laid, pieces are laid in lay
order, a filament is pulled as soon as its piece lies on it.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from core.document.lines import SeamCut
from core.ids import CopyId, FilmId, PieceId
from core.plan.model import Finding, JobPlan, PanelPlan, Piece
from core.plan.preparation import preparation_of
from core.plan.relief_words import film_relief_sentence, relief_letters
from core.plan.tape_plan import TapeLength, TapePlan, tape_plan
from core.progress import Progress
from core.roll.model import FilmRolls, RollPlan
from core.units import format_length
from core.write.bench_shape import HEAT_CAUTION, lay_words, shape_step, shapes_of
from core.write.measures import size_text
from core.write.scheme import distinct_panels
from core.write.wording import (
    finding_sentence,
    joined,
    order_of,
    piece_seams,
    piece_size,
    seam_name,
    seam_sentence,
)

if TYPE_CHECKING:
    from core.plan.shape_check import PieceShape, ShapeReport

CAUTIONS = (
    "Test first: lay a hand-sized try on a hidden place, heat it, pull it off after an hour.",
    "Blades: cut away from hands, never deeper than the film: a scored coating rusts.",
    "On paint, let cutting tape make the seam, or a relief cut, instead of a blade.",
    "Heat: keep it off fuel tanks and lines, batteries, air bags, tyres, soft plastics.",
    "Take a part off the vehicle before heat comes near fuel or a battery.",
    "Cleaners give off vapour that burns and harms: gloves, moving air, no flame or spark.",
    "No hot gun until a cleaner is dry; wet cloths into a closed tin; try plastics first.",
    "Leave free: lamps, reflectors, number plates, brakes, tyres, vents, filters, sensors.",
    "Leave free, too: safety, air bag and type labels, vehicle numbers, air bag covers.",
    "Steering must turn freely from stop to stop, with no film edge that it can catch.",
    "Film hides damage: look at welds, frames and all that carries load before you cover it.",
    "A new colour may have to be told to the registry: ask before you start.",
    "Local rules, the makers' data sheets and licensed practice come before this sheet.",
)
"""Common practice, no source."""


class StepKind(StrEnum):
    """What is done in a step."""

    SHAPE = "mind shape"
    RELIEF = "cut relief"
    TAPE = "lay tape run"
    LAY = "lay piece"
    PULL = "pull filament"
    LIFT = "lift surplus"
    TURN = "turn edges"
    HEAT = "post-heat edges"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do on a panel.

    Attributes:
        piece: the piece that is laid, or cut along the tape; None for steps of the whole panel.
        runs: numbers of the tape runs concerned.
    """

    kind: StepKind
    text: str
    piece: PieceId | None = None
    runs: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class PieceRow:
    """One piece in a table, or the same piece of panels that are alike.

    Attributes:
        number: how many are cut, of all alike panels and tries.
        places: the sheets on which they lie.
    """

    piece: PieceId
    label: str
    order: int
    film: FilmId
    size: str
    kind: str
    number: int
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PanelSheet:
    """What is done on one kind of panel.

    Attributes:
        count: how many alike there are; all is done on each of them.
        shape_cautions: what goes before all that is said of how its film lays; flat, none.
    """

    title: str
    panel: CopyId
    count: int
    preparation: tuple[str, ...]
    steps: tuple[Step, ...]
    pieces: tuple[PieceRow, ...]
    seams: tuple[str, ...]
    reliefs: tuple[str, ...]
    tape: tuple[TapeLength, ...]
    findings: tuple[str, ...]
    shape_cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """All that the bench sheet says."""

    job: JobPlan
    rolls: RollPlan
    cautions: tuple[str, ...]
    panels: tuple[PanelSheet, ...]
    tape: TapePlan


def bench_plan(plan: JobPlan, rolls: RollPlan, progress: Progress | None = None) -> BenchPlan:
    """Return the bench sheet of a plan and its rolls.

    How film lays on curved panels takes a while to be worked out, if it is not known yet.

    Raises:
        Cancelled: when it was stopped.
    """
    tape, shapes = tape_plan(plan), shapes_of(plan, progress)
    panels = tuple(
        _panel_sheet(plan, panel, count, tape, rolls, shapes)
        for panel, count in distinct_panels(plan.panels)
    )
    return BenchPlan(plan, rolls, CAUTIONS, panels, tape)


def _piece_rows(plan: JobPlan, panel: PanelPlan, rolls: RollPlan) -> tuple[PieceRow, ...]:
    """Return the rows of a panel's pieces, in lay order, for all alike panels."""
    kind = (panel.of, panel.is_mirrored)
    alike = [p for p in plan.panels if (p.of, p.is_mirrored) == kind]
    rows = []
    for i, piece in enumerate(panel.pieces):
        same = [copy.pieces[i].id for copy in alike if i < len(copy.pieces)]
        row = PieceRow(
            piece.id,
            piece.label if len(alike) == 1 else f"{_title(plan, panel)} {piece.order}",
            piece.order,
            piece.film,
            size_text(*piece_size(piece), plan.job.units),
            "blank" if piece.is_blank else "pre-cut",
            piece.planned_tries * len(same),
            tuple(_places(rolls, same)),
        )
        rows.append(row)
    return tuple(rows)


def _title(plan: JobPlan, panel: PanelPlan) -> str:
    """Return what alike panels are called together."""
    return plan.job.panel(panel.of).name + (f", {panel.side}" if panel.side else "")


def sheet_name(film: FilmRolls, number: int) -> str:
    """Return what a film's sheet is called at the bench."""
    sheet = film.sheets[number].sheet
    return "to buy" if sheet.length_mm is None else f"{sheet.kind} {sheet.id}"


def _places(rolls: RollPlan, pieces: Collection[PieceId]) -> Iterator[str]:
    """Yield the sheets on which some of the pieces lie, each once."""
    names = [
        sheet_name(film, i)
        for film in rolls.films
        for i, sheet in enumerate(film.sheets)
        for placement in sheet.placements
        if placement.item.piece in pieces
    ]
    yield from dict.fromkeys(names)


def _panel_sheet(
    plan: JobPlan,
    panel: PanelPlan,
    count: int,
    tape: TapePlan,
    rolls: RollPlan,
    report: "ShapeReport | None",
) -> PanelSheet:
    drawn = plan.job.panel(panel.of)
    runs = tape.of_panel(panel.id)
    judged = report.pieces if report else ()
    shapes = {shape.piece: shape for shape in judged if shape.panel == panel.id}
    return PanelSheet(
        title=_title(plan, panel),
        panel=panel.id,
        count=count,
        preparation=preparation_of(drawn),
        steps=tuple(_steps(plan, panel, runs, shapes)),
        pieces=_piece_rows(plan, panel, rolls),
        seams=tuple(seam_sentence(plan, panel, s) for s in panel.stretches),
        reliefs=tuple(_reliefs(plan, panel)),
        tape=runs,
        findings=tuple(
            finding_sentence(plan, finding)
            for finding in (*panel.findings, *_of_panel(report, panel))
            if finding.check not in _TOLD_ELSEWHERE
        ),
        shape_cautions=(report.caution, HEAT_CAUTION) if report and shapes else (),
    )


def _of_panel(report: "ShapeReport | None", panel: PanelPlan) -> Iterator[Finding]:
    """Yield what the judgement of shape has found on a panel."""
    yield from (f for f in report.findings if f.panel == panel.id) if report else ()


_TOLD_ELSEWHERE = frozenset({"S215", "L701", "L702", "L703", "L706", "L707"})
"""What these find stands with the steps, or has a line of its own."""


def _steps(
    plan: JobPlan,
    panel: PanelPlan,
    runs: tuple[TapeLength, ...],
    shapes: "Mapping[PieceId, PieceShape]",
) -> Iterator[Step]:
    """Yield the steps on a panel, in order."""
    for piece in panel.pieces:
        shape = shapes.get(piece.id)
        if shape is not None and (minded := shape_step(piece, shape)):
            yield Step(StepKind.SHAPE, minded, piece.id)
        own = tuple(run for run in runs if run.piece == piece.id)
        for run in own:
            yield Step(StepKind.TAPE, _tape_text(plan, panel, run), piece.id, (run.number,))
        if piece.is_blank and piece.relief_cuts:
            yield Step(StepKind.RELIEF, _relief_text(panel, piece), piece.id)
        laying = _lay_text(plan, panel, piece) + lay_words(shape)
        yield Step(StepKind.LAY, laying, piece.id)
        numbers = tuple(run.number for run in own)
        for run in own:
            text = f"Pull filament {run.number}: back and low over the film, in one go"
            yield Step(StepKind.PULL, text, piece.id, (run.number,))
        if own or piece.is_blank:
            yield Step(StepKind.LIFT, _lift_text(own, piece), piece.id, numbers)
    if not panel.pieces:
        return
    if panel.extended.area > panel.outline.area + 1:
        text = "Turn the film round the rims, from the middle of each edge to its ends"
        yield Step(StepKind.TURN, text)
    text = "Post-heat edges, laps and stretched places as the film's data sheet says"
    yield Step(StepKind.HEAT, text)


def _reliefs(plan: JobPlan, panel: PanelPlan) -> Iterator[str]:
    """Yield a line on each relief cut, with its letter in the picture."""
    letters = relief_letters(panel)
    for piece in panel.pieces:
        for relief in piece.reliefs:
            words = film_relief_sentence(relief, plan.job.units)
            yield f"{letters[relief.cut.line]}: piece {piece.order}, {words}"


def _relief_names(panel: PanelPlan, piece: Piece) -> str:
    """Return the names of a piece's relief cuts, each with its letter in the picture."""
    letters = relief_letters(panel)
    return joined([f"{cut.name} ({letters[cut.line]})" for cut in piece.relief_cuts])


def _relief_text(panel: PanelPlan, piece: Piece) -> str:
    names = _relief_names(panel, piece)
    return (
        f"Cut {names} into the blank of piece {piece.order} before it is laid, by its template;"
        " on the part only over cutting tape, never with a blade over paint"
    )


def _tape_text(plan: JobPlan, panel: PanelPlan, run: TapeLength) -> str:
    units = plan.job.units
    length, tail = format_length(run.run_mm, units), format_length(run.tail_mm, units)
    parts = f" in {run.parts} lengths" if run.parts > 1 else ""
    return (
        f"Lay tape run {run.number} along {run_name(plan, panel, run)}: {length}{parts}, "
        f"and {tail} of tail at each end"
    )


def run_name(plan: JobPlan, panel: PanelPlan, run: TapeLength) -> str:
    """Return the name of the seam along which a run of tape lies."""
    stretch = next((s for s in panel.stretches if s.id == run.stretch), None)
    return seam_name(plan, panel, stretch) if stretch else run.stretch


def _lay_text(plan: JobPlan, panel: PanelPlan, piece: Piece) -> str:
    film = plan.job.film(piece.film).name
    size = size_text(*piece_size(piece), plan.job.units)
    kind = "blank" if piece.is_blank else "pre-cut"
    text = f"Lay piece {piece.order}: {film}, {kind}, {size}"
    over, beneath = _neighbours(panel, piece)
    if over:
        text += f"; over {joined(over)}"
    if beneath:
        text += f"; {joined(beneath)} will lie over it"
    if piece.relief_cuts:
        text += f"; the sides of {_relief_names(panel, piece)} meet last"
    return text


def _lift_text(runs: tuple[TapeLength, ...], piece: Piece) -> str:
    if not runs:
        return f"Cut the grip of piece {piece.order} off beyond the edge turn, lift it away"
    numbers = joined([str(run.number) for run in runs])
    text = f"Lift the surplus beyond run {numbers}, take out the tape, press the edge down"
    return (
        f"{text}; cut the rest of the grip off beyond the edge turn" if piece.is_blank else text
    )


def _neighbours(panel: PanelPlan, piece: Piece) -> tuple[list[str], list[str]]:
    """Return the numbers of the pieces beneath a piece, and of those that lie over it."""
    over, beneath = set(), set()
    for stretch in piece_seams(panel, piece):
        if stretch.cut is not SeamCut.BUTT:
            if stretch.top in piece.regions:
                over.add(order_of(panel, stretch.under))
            else:
                beneath.add(order_of(panel, stretch.top))
    return sorted(over, key=_number), sorted(beneath, key=_number)


def _number(text: str) -> int:
    return int(text) if text.isdigit() else 0

"""Edits of seams, stripes, inlays and relief cuts."""

from collections.abc import Callable, Collection

import msgspec
from msgspec.structs import replace

from core.document.edits.accept import accept
from core.document.edits.ids import free_id
from core.document.edits.paths import translate_path
from core.document.edits.runs import find_run, keep_in_line
from core.document.edits.variants import replace_scheme
from core.document.job import Job
from core.document.lines import (
    DividingLine,
    Inlay,
    Line,
    Relief,
    Seam,
    SeamRule,
    Side,
    Stripe,
    line_name,
)
from core.document.path import Path
from core.document.variant import Scheme
from core.errors import EditRefused
from core.ids import LineId, PanelId

__all__ = [
    "add_line",
    "delete_lines",
    "find_dividing_line",
    "find_line",
    "flip_top",
    "free_id",
    "move_line",
    "move_lines",
    "rename_line",
    "replace_line",
    "set_hole",
    "set_lap",
    "set_line_nodes",
    "set_rule",
    "set_stripe_widths",
]


def add_line(job: Job, variant: str, panel: str, line: Line) -> Job:
    """Draw a line on a panel, after those of its kind.

    Raises:
        EditRefused: its id is taken in the variant; it has no width; a value out of its limits.
        KeyError: no such variant, panel or film.
    """
    fresh = _sound(line)
    scheme = job.scheme(variant, job.panel(panel).id)
    return replace_scheme(job, variant, _mapped(scheme, lambda _: None, extra=fresh))


def replace_line(job: Job, variant: str, panel: str, line: Line) -> Job:
    """Put a line in the place of the one of the same id and kind on that panel."""
    where, old = find_line(job, variant, line.id)
    if where != panel or type(old) is not type(line):
        raise KeyError(line.id)
    return _changed(job, variant, line.id, lambda _: line)


def find_line(job: Job, variant: str, line_id: str) -> tuple[PanelId, Line]:
    """Return a line with the panel it is on; KeyError when the variant has none of that id."""
    for scheme in job.variant(variant).schemes:
        for line in scheme.lines:
            if line.id == line_id:
                return PanelId(scheme.panel), line
    raise KeyError(line_id)


def find_dividing_line(job: Job, variant: str, line_id: str) -> DividingLine:
    """Return a line along which films meet.

    Raises:
        EditRefused: it is a relief cut.
        KeyError: the variant has none of that id.
    """
    return _dividing(find_line(job, variant, line_id)[1])


def _dividing(line: Line) -> DividingLine:
    if isinstance(line, Relief):
        raise EditRefused("Along a relief cut no films meet.", where=line_name(line))
    return line


def delete_lines(job: Job, variant: str, ids: Collection[str]) -> Job:
    """Delete lines, on whatever panels they are; KeyError when one is not there."""
    wanted = set(ids)
    panels = {find_line(job, variant, line_id)[0] for line_id in wanted}
    for panel in sorted(panels):
        scheme = job.scheme(variant, panel)
        kept = replace(
            scheme,
            seams=tuple(line for line in scheme.seams if line.id not in wanted),
            stripes=tuple(line for line in scheme.stripes if line.id not in wanted),
            inlays=tuple(line for line in scheme.inlays if line.id not in wanted),
            reliefs=tuple(line for line in scheme.reliefs if line.id not in wanted),
        )
        job = replace_scheme(job, variant, kept)
    return job


def move_line(job: Job, variant: str, line_id: str, dx: float, dy: float) -> Job:
    """Move a line by a distance in mm."""
    nodes = translate_path(find_line(job, variant, line_id)[1].nodes, dx, dy)
    return set_line_nodes(job, variant, line_id, nodes)


def move_lines(job: Job, variant: str, ids: Collection[str], dx: float, dy: float) -> Job:
    """Move lines by a distance in mm; stripes of one run, which move together, only once."""
    moved_runs: set[str] = set()
    for line_id in ids:
        run = find_run(job, variant, line_id)
        if run is not None and run.is_in_line:
            if run.id in moved_runs:
                continue
            moved_runs.add(run.id)
        job = move_line(job, variant, line_id, dx, dy)
    return job


def set_line_nodes(job: Job, variant: str, line_id: str, nodes: Path) -> Job:
    """Give a line another path."""
    return _changed(job, variant, line_id, lambda line: replace(line, nodes=nodes))


def set_rule(job: Job, variant: str, line_id: LineId | str, rule: SeamRule) -> Job:
    """Say how the films along a line meet."""

    def ruled(line: Line) -> Line:
        return replace(_dividing(line), rule=rule)

    return _changed(job, variant, line_id, ruled)


def flip_top(job: Job, variant: str, line_id: str, current_top: Side) -> Job:
    """Put on top the side of a line that lies under now.

    ``current_top`` is the side that is on top in the plan, for whatever reason.
    """
    other = Side.RIGHT if current_top is Side.LEFT else Side.LEFT
    rule = replace(find_dividing_line(job, variant, line_id).rule, on_top=other)
    return set_rule(job, variant, line_id, rule)


def set_lap(job: Job, variant: str, line_id: str, lap_mm: float | None) -> Job:
    """Set a line's lap width; None takes the job's."""
    rule = replace(find_dividing_line(job, variant, line_id).rule, lap_mm=lap_mm)
    return set_rule(job, variant, line_id, rule)


def set_stripe_widths(
    job: Job, variant: str, line_id: str, start_mm: float, end_mm: float
) -> Job:
    """Set a stripe's width at both ends; one of them may be 0."""

    def widened(line: Line) -> Line:
        if not isinstance(line, Stripe):
            raise EditRefused("Only a stripe has a width.", where=line_name(line))
        return replace(line, start_width_mm=start_mm, end_width_mm=end_mm)

    return _changed(job, variant, line_id, widened)


def set_hole(job: Job, variant: str, line_id: str, hole_mm: float) -> Job:
    """Set how wide the hole at a relief cut's inner end is; 0 for none."""

    def holed(line: Line) -> Line:
        if not isinstance(line, Relief):
            raise EditRefused("Only a relief cut ends in a hole.", where=line_name(line))
        return replace(line, hole_mm=hole_mm)

    return _changed(job, variant, line_id, holed)


def rename_line(job: Job, variant: str, line_id: str, name: str) -> Job:
    """Name a line; an empty name gives it back its own, such as "Seam 3"."""
    return _changed(job, variant, line_id, lambda line: replace(line, name=name))


def _sound(line: Line) -> Line:
    fresh = accept(line)
    if isinstance(fresh, Stripe) and not (fresh.start_width_mm or fresh.end_width_mm):
        raise EditRefused(
            "The stripe has no width.",
            where=line_name(fresh),
            mend="Give it a width at one end at least.",
        )
    return fresh


def _changed(job: Job, variant: str, line_id: str, change: Callable[[Line], Line]) -> Job:
    """Change one line and put it back in its place; the stripes of its run follow."""
    panel, line = find_line(job, variant, line_id)
    fresh = _sound(change(line))
    scheme = job.scheme(variant, panel)
    changed = replace_scheme(
        job, variant, _mapped(scheme, lambda one: fresh if one.id == line_id else None)
    )
    return keep_in_line(job, changed, variant, line_id)


def _mapped(
    scheme: Scheme, change: Callable[[Line], Line | None], *, extra: Line | None = None
) -> Scheme:
    """Return the scheme with the lines changed that ``change`` gives another for."""
    lines = [change(line) or line for line in scheme.lines]
    if extra is not None:
        lines.append(extra)
    fields: dict[str, tuple[msgspec.Struct, ...]] = {
        "seams": tuple(line for line in lines if isinstance(line, Seam)),
        "stripes": tuple(line for line in lines if isinstance(line, Stripe)),
        "inlays": tuple(line for line in lines if isinstance(line, Inlay)),
        "reliefs": tuple(line for line in lines if isinstance(line, Relief)),
    }
    return replace(scheme, **fields)

"""Edits of relief cuts alone: their length, typed."""

import math

import numpy as np

from core.document.edits.lines import find_line, set_line_nodes
from core.document.edits.paths import move_node, reverse_path
from core.document.flatten import flatten
from core.document.job import Job
from core.document.lines import Relief, line_name
from core.document.path import Path
from core.errors import EditRefused
from core.tolerance import QUANTUM_MM
from core.units import format_length

LEAST_MM = 2.0
"""A shorter cut lets no film lie; common practice, no source."""
_ROUNDS = 30


def path_length_mm(path: Path) -> float:
    """Return how long an open path is."""
    points = flatten(path, closed=False)
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def set_relief_length(
    job: Job,
    variant: str,
    line_id: str,
    length_mm: float,
    *,
    keeps_start: bool,
    beyond_mm: float = 0.0,
) -> Job:
    """Make a relief cut so long; its inner end moves in the direction in which it runs there.

    Args:
        job: the job.
        variant: holds the cut.
        line_id: the cut.
        length_mm: from where it starts.
        keeps_start: whether its first node lies at the rim, and stays; else the last does.
        beyond_mm: how much longer the drawn line is, as it begins past the rim.

    Raises:
        EditRefused: it is no relief cut, the length would take its last node too far back,
            is shorter than any use, or longer than the panel.
        KeyError: the variant has none of that id.
    """
    panel, line = find_line(job, variant, line_id)
    if not isinstance(line, Relief):
        raise EditRefused("Only a relief cut has such a length.", where=line_name(line))
    _check_length(job, panel, length_mm, line_name(line))
    path = line.nodes if keeps_start else reverse_path(line.nodes)
    made = _lengthened(path, length_mm + beyond_mm, line_name(line))
    return set_line_nodes(job, variant, line_id, made if keeps_start else reverse_path(made))


def _check_length(job: Job, panel: str, length_mm: float, name: str) -> None:
    outline = flatten(job.panel(panel).outline, closed=True)
    across = math.hypot(*np.ptp(outline, axis=0))
    if length_mm < LEAST_MM:
        least = format_length(LEAST_MM, job.units)
        raise EditRefused(f"A relief cut is at least {least} long.", where=name)
    if length_mm > across:
        size = format_length(across, job.units, decimals=0)
        raise EditRefused(
            f"The whole panel is {size} from corner to corner.",
            where=name,
            mend="Enter a shorter length.",
        )


def _lengthened(path: Path, length_mm: float, name: str) -> Path:
    points = flatten(path, closed=False)
    ahead = points[-1] - points[-2]
    ahead = ahead / max(math.hypot(*ahead), 1e-12)
    last = path[-1]
    room = math.dist(path[-2].at, last.at)
    made, moved = path, 0.0
    for _ in range(_ROUNDS):
        lacking = length_mm - path_length_mm(made)
        if abs(lacking) <= QUANTUM_MM:
            return made
        moved += lacking
        if moved <= -room:
            raise EditRefused(
                "It cannot be so short with the nodes it has.",
                where=name,
                mend="Delete a node of it first." if len(path) > 2 else "Enter a longer one.",
            )
        x, y = last.at[0] + moved * ahead[0], last.at[1] + moved * ahead[1]
        made = move_node(path, last.id, (float(x), float(y)))
    return made

"""Film bought against the tries that it affords: how many second tries a length is good for."""

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from core.roll.model import FilmRolls, Item
from core.roll.problem import FilmProblem
from core.roll.retakes import first_tries, lay_behind
from core.roll.sheets import assemble, without_retakes
from core.roll.shop import bought_mm

_CURVE_POINTS = 8


@dataclass(frozen=True, slots=True)
class TriesPoint:
    """How much must be bought for so many retakes.

    Attributes:
        retakes: how many; the hardest pieces come first.
        pieces: how many pieces lie on a sheet.
        left_out: how many pieces fit nowhere, so that no film affords them a retake.
        used_mm: length of roll for job and retakes, in stock or not.
        needed_mm, bought_mm: to buy, as laid out, and in the shop's steps.
        is_planned: whether it is the number of retakes that is planned.
    """

    retakes: int
    pieces: int
    used_mm: float
    needed_mm: float
    bought_mm: float
    price: float
    is_planned: bool
    left_out: int = 0


def tries_curve(
    problem: FilmProblem, rolls: FilmRolls, go_on: Callable[[], None]
) -> tuple[TriesPoint, ...]:
    """Return film to buy against retakes, from none up to one more of every piece.

    Args:
        problem: the film with all its tries.
        rolls: how it is laid; retakes are laid behind the job anew for each point.
        go_on: called before each layout; raises Cancelled when it is not wanted any more.
    """
    job = first_tries(problem)
    nowhere = [i for m in rolls.missing if m.length_mm is None for i in m.items]
    lost = {i.piece for i in nowhere if i.attempt == 1}
    items = [i for i in problem.items if i.piece not in lost]
    firsts = [i for i in items if i.attempt == 1]
    if not firsts:
        return ()
    start = without_retakes(job, rolls)
    order = _by_difficulty(problem, firsts)
    planned = len(items) - len(firsts)
    points = []
    for count in _counts(len(firsts), planned):
        go_on()
        laid = rolls
        if count != planned:
            retakes = _retakes(problem, order, count)
            laid = assemble(problem, lay_behind(problem, start.sheets, retakes))
        needed = laid.to_buy_mm
        bought = bought_mm(problem.film, needed)
        points.append(
            TriesPoint(
                retakes=count,
                pieces=len(firsts),
                used_mm=laid.used_length_mm,
                needed_mm=needed,
                bought_mm=bought,
                price=bought / 1000.0 * problem.film.price_per_m,
                is_planned=count == planned,
                left_out=len(lost),
            )
        )
    return _never_more_for_fewer(points)


def _never_more_for_fewer(points: list[TriesPoint]) -> tuple[TriesPoint, ...]:
    """Let a layout of more retakes stand for fewer where it happens to be shorter."""
    found: list[TriesPoint] = []
    for point in reversed(points):
        shorter = found[-1] if found and found[-1].used_mm < point.used_mm else None
        if shorter is not None and not point.is_planned:
            found.append(dataclasses.replace(shorter, retakes=point.retakes, is_planned=False))
        else:
            found.append(point)
    return tuple(reversed(found))


def _counts(pieces: int, planned: int) -> list[int]:
    """Return numbers of retakes to lay out: evenly spread, with the planned one among them."""
    step = max(1.0, pieces / _CURVE_POINTS)
    spread = {round(i * step) for i in range(_CURVE_POINTS + 1)}
    return sorted({planned, pieces, *(n for n in spread if n <= max(pieces, planned))})


def _by_difficulty(problem: FilmProblem, firsts: list[Item]) -> list[Item]:
    """Return pieces in the order in which retakes are worth having: hard, then large."""
    tries = {i.piece: 0 for i in firsts}
    for item in problem.items:
        tries[item.piece] = max(tries.get(item.piece, 0), item.attempt)
    return sorted(firsts, key=lambda i: (-tries[i.piece], -i.polygon.area, i.piece))


def _retakes(problem: FilmProblem, order: list[Item], count: int) -> list[Item]:
    """Return so many retakes, round by round through the pieces."""
    held = {pin.placement.item.key for pin in problem.pinned}
    found: list[Item] = []
    attempt = 2
    while len(found) < count:
        wanted = count - len(found)
        found += [_again(i, attempt) for i in order[:wanted] if (i.piece, attempt) not in held]
        attempt += 1
    return found


def _again(item: Item, attempt: int) -> Item:
    return dataclasses.replace(item, attempt=attempt)

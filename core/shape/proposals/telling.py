"""Proposals in plain words."""

from collections.abc import Sequence

from core.shape.proposals.model import LineKind, ProposedLine


def told(
    lines: Sequence[ProposedLine],
    family: str,
    ranges_pct: Sequence[float],
    limit_pct: float,
    *,
    alone: int = 0,
    drawn: int = 0,
) -> str:
    """Return a proposal in a sentence.

    Args:
        lines: what is to be drawn.
        family: what kind of lines these are.
        ranges_pct: of the pieces, the worst first.
        limit_pct: what the film takes.
        alone: how many seams of this family would do without a stripe; 0 where none would.
        drawn: how many lines divide the panel already.
    """
    worst = ranges_pct[0]
    what = _what(lines, family, alone if worst <= limit_pct else 0, drawn)
    fits = "can lie" if worst <= limit_pct else "is still too much"
    return (
        f"{what}: {_counted(len(ranges_pct), 'piece')}; the hardest needs {worst:.1f} %, of "
        f"{limit_pct:.1f} % that the film takes, and {fits}."
    )


def _what(lines: Sequence[ProposedLine], family: str, alone: int, drawn: int) -> str:
    """Say what is drawn."""
    if not lines:
        is_one = drawn == 1
        return (
            f"The line{'' if is_one else 's'} drawn already {'is' if is_one else 'are'} enough"
        )
    kinds = [line.kind for line in lines]
    seams = kinds.count(LineKind.SEAM)
    besides = " beside what is drawn already" if drawn else ""
    if LineKind.RELIEF in kinds:
        return f"{_counted(len(lines), 'relief cut')} from the rim{besides}"
    if LineKind.STRIPE not in kinds:
        return f"{_counted(seams, 'seam')}{besides}, {family}"
    width = max(line.width_mm for line in lines)
    others = f" and {_counted(seams, 'seam')}" if seams else ""
    what = f"A stripe of {width:.0f} mm{others}{besides}, {family}"
    if alone <= seams:
        return what
    return f"{what} (without the stripe, {_counted(alone, 'seam')} that way)"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"

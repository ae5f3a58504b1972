"""All checks of one panel, in the order in which they are read."""

from core.plan.checks.context import Review
from core.plan.checks.lines import check_butts, check_dividing, check_lines
from core.plan.checks.pieces import check_corners, check_laps, check_slivers
from core.plan.model import Finding

CHECKS = (
    check_lines,
    check_dividing,
    check_slivers,
    check_laps,
    check_butts,
    check_corners,
)


def review_panel(review: Review) -> tuple[Finding, ...]:
    """Return what every check finds, with what regions and stacking found themselves."""
    found = [*review.shape.findings, *review.mapped.findings, *review.stacking.findings]
    for check in CHECKS:
        found.extend(check(review))
    return tuple(found)

"""Edits that redraw panels, with every place keeping the film that it had.

Paint spots colour whole regions. Where an edit makes two regions of one, only one of them has
the spot; here the other gets one of its own. It takes a plan to see that, so these edits live
above the document.
"""

from collections.abc import Mapping, Sequence

import shapely

from core.document.edits.built_up import join_panels, split_panel
from core.document.edits.spots import paint
from core.document.job import Job
from core.document.path import Point
from core.plan.lookup import drawn_plans, find_region_at
from core.plan.model import PanelPlan, Region
from core.plan.plan import plan_job

Origin = tuple[str, Point]
"""A panel of the old job, and where its frame's origin lies in the new panel's frame."""


def split_in_colour(
    job: Job, panel: str, nodes: tuple[str, str], cut_turn_mm: float | None = None
) -> Job:
    """Cut a panel in two between two nodes; both parts look as the whole did."""
    cut = split_panel(job, panel, *nodes, cut_turn_mm)
    fresh = cut.panels[-1].id
    home: list[Origin] = [(panel, (0.0, 0.0))]
    return keep_colours(job, cut, {panel: home, fresh: home})


def join_in_colour(job: Job, panel: str, other: str) -> Job:
    """Make one panel of two that overlap; each place keeps its film where a line allows it."""
    a, b = job.panel(panel).at, job.panel(other).at
    step = b[0] - a[0], b[1] - a[1]
    joined = join_panels(job, panel, other)
    return keep_colours(job, joined, {panel: [(panel, (0.0, 0.0)), (other, step)]})


def keep_colours(old: Job, new: Job, origins: Mapping[str, Sequence[Origin]]) -> Job:
    """Paint the regions of redrawn panels that have another film than the place had.

    Args:
        old: the job before.
        new: the job after.
        origins: for each redrawn panel the panels that it is made of; the first one counts
            where they lie over each other.

    Degenerate input: a panel that cannot be planned is left as it is.
    """
    made = new
    for variant in new.variants:
        before = drawn_plans(plan_job(old, variant.id))
        after = drawn_plans(plan_job(new, variant.id))
        by_name = {str(name): plan for name, plan in before.items()}
        for name, plan in after.items():
            for region in plan.regions if str(name) in origins else ():
                at = _inner_point(plan, region)
                film = _film_at(by_name, origins[str(name)], at)
                if film is not None and film != region.film:
                    made = paint(made, variant.id, str(name), at, film)
    return made


def _inner_point(plan: PanelPlan, region: Region) -> Point:
    """Return a point of a region, within the outline where it reaches there."""
    inner = shapely.intersection(region.polygon, plan.outline)
    spot = (region.polygon if inner.is_empty else inner).representative_point()
    return spot.x, spot.y


def _film_at(
    plans: Mapping[str, PanelPlan], origins: Sequence[Origin], at: Point
) -> str | None:
    for name, (dx, dy) in origins:
        region = (
            find_region_at(plans[name], (at[0] - dx, at[1] - dy)) if name in plans else None
        )
        if region is not None:
            return str(region.film)
    return None

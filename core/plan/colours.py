"""Colours stay with their regions while lines move.

A paint spot is a point: a line dragged over it would leave it in another region, and two
colours would change places. ``carry_colours`` moves such a spot into the region it coloured.
"""

import re
from collections import Counter

from msgspec.structs import replace

from core.document.edits.variants import replace_scheme
from core.document.job import Job
from core.document.lines import PaintSpot
from core.plan.lookup import drawn_plans, find_region_at
from core.plan.model import JobPlan, PanelPlan, Region
from core.plan.plan import plan_job

_NUMBER = re.compile(r"\.\d+$")


def carry_colours(before: JobPlan, after: Job) -> Job:
    """Return the edited job with its paint spots in the regions they coloured before the edit.

    Args:
        before: the plan of the job as it was.
        after: the job with lines moved; spots that the edit itself changed are left alone.

    A region that is gone, or that shares its name with others of its panel, keeps its spots
    where they are: there is no telling which is which.
    """
    variant = before.variant.id
    if variant not in {v.id for v in after.variants}:
        return after
    job = after
    new_plans = drawn_plans(plan_job(after, variant))
    for panel_id, old in drawn_plans(before).items():
        new = new_plans.get(panel_id)
        if new is None or new is old or not new.regions:
            continue
        was = {s.id: s for s in before.job.scheme(variant, panel_id).spots}
        scheme = job.scheme(variant, panel_id)
        spots = tuple(_carried(s, old, new) if was.get(s.id) == s else s for s in scheme.spots)
        if spots != scheme.spots:
            job = replace_scheme(job, variant, replace(scheme, spots=spots))
    return job


def _carried(spot: PaintSpot, old: PanelPlan, new: PanelPlan) -> PaintSpot:
    source, now = find_region_at(old, spot.at), find_region_at(new, spot.at)
    if source is None or (now is not None and now.id == source.id):
        return spot
    target = _namesake(source, old, new)
    if target is None:
        return spot
    common = source.polygon.intersection(target.polygon)
    place = common if common.area > 0 else target.polygon
    at = place.point_on_surface()
    return replace(spot, at=(at.x, at.y))


def _namesake(region: Region, old: PanelPlan, new: PanelPlan) -> Region | None:
    """Return the region of the same name, if no other of either plan is called alike."""
    name = _name(region)
    if any(Counter(map(_name, p.regions))[name] != 1 for p in (old, new)):
        return None
    return next(r for r in new.regions if _name(r) == name)


def _name(region: Region) -> str:
    """Return a region's name without the number that tells it from others alike."""
    return _NUMBER.sub("", region.id)

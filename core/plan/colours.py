"""Colours stay where they are while lines are drawn and moved.

A paint spot is a point: a line dragged over it would leave it in another region, and two
colours would change places; a line drawn across a painted region would take its colour from
one half. ``carry_colours`` moves such a spot into the region it coloured, and gives the other
half one of its own.
"""

import re
from collections import Counter

import shapely
from msgspec.structs import replace

from core.document.edits.spots import paint
from core.document.edits.variants import replace_scheme
from core.document.job import Job
from core.document.lines import PaintSpot, Side
from core.document.path import Point
from core.plan.lookup import drawn_plans, find_region_at
from core.plan.model import JobPlan, PanelPlan, Region, SourceKind
from core.plan.plan import plan_job

_NUMBER = re.compile(r"\.\d+$")
_AREAS = (SourceKind.STRIPE, SourceKind.INLAY)


def carry_colours(before: JobPlan, after: Job) -> Job:
    """Return the edited job with its regions in the films they had before the edit.

    Args:
        before: the plan of the job as it was.
        after: the job with lines drawn, moved or deleted; spots that the edit itself changed
            are left alone.

    A region that is gone without an heir, or that shares its name with others of its panel,
    keeps its spots where they are: there is no telling which is which.
    """
    variant = before.variant.id
    if variant not in {v.id for v in after.variants}:
        return after
    job = after
    new_plans = drawn_plans(plan_job(after, variant, before.scans))
    for panel_id, old in drawn_plans(before).items():
        new = new_plans.get(panel_id)
        if new is None or new is old or not new.regions:
            continue
        was = {s.id: s for s in before.job.scheme(variant, panel_id).spots}
        scheme = job.scheme(variant, panel_id)
        sources = {s.id: find_region_at(old, s.at) for s in scheme.spots if was.get(s.id) == s}
        spots = tuple(_carried(s, sources.get(s.id), old, new) for s in scheme.spots)
        if spots != scheme.spots:
            job = replace_scheme(job, variant, replace(scheme, spots=spots))
        painted = {region.id: region for region in sources.values() if region is not None}
        for at, film in _bare_heirs(list(painted.values()), spots, old, new):
            job = paint(job, variant, panel_id, at, film)
    return job


def _carried(
    spot: PaintSpot, source: Region | None, old: PanelPlan, new: PanelPlan
) -> PaintSpot:
    now = find_region_at(new, spot.at)
    if source is None or (now is not None and now.id == source.id):
        return spot
    target = _namesake(source, old, new)
    if target is None:
        heirs = _heirs(source, old, new)
        is_gone = all(region.id != source.id for region in new.regions)
        if not is_gone or not heirs or now in heirs:
            return spot
        return replace(spot, at=_inner_point(heirs[0], new))
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


def _bare_heirs(
    painted: list[Region], spots: tuple[PaintSpot, ...], old: PanelPlan, new: PanelPlan
) -> list[tuple[Point, str]]:
    """Return the places where heirs of painted regions lack their film, with that film."""
    found = []
    for source in painted:
        for heir in _heirs(source, old, new):
            has_own = any(shapely.contains_xy(heir.polygon, *spot.at) for spot in spots)
            if not has_own and heir.film != source.film:
                found.append((_inner_point(heir, new), str(source.film)))
    return found


def _heirs(source: Region, old: PanelPlan, new: PanelPlan) -> list[Region]:
    """Return the new regions that lie where a region was, the largest first.

    What a new stripe or inlay covers has the film of that, and inherits none.
    """
    known = {region.id for region in old.regions}
    heirs = [
        region
        for region in new.regions
        if region.id not in known
        and shapely.contains_xy(source.polygon, *_inner_point(region, new))
        and _covers(region) <= _covers(source)
    ]
    return sorted(heirs, key=lambda region: -region.polygon.area)


def _covers(region: Region) -> set[str]:
    """Return the stripes and inlays whose inner side bounds a region."""
    sources = {source for ring in region.rings for source in ring.sources}
    return {s.id for s in sources if s.kind in _AREAS and s.side is Side.LEFT}


def _inner_point(region: Region, plan: PanelPlan) -> Point:
    """Return a point of a region, within the outline where it reaches there."""
    inner = shapely.intersection(region.polygon, plan.outline)
    spot = (region.polygon if inner.is_empty else inner).representative_point()
    return spot.x, spot.y

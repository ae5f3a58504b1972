"""The laws of a plan, judged from its results alone with shapely's set operations.

Nothing here calls the code that made the plan.
"""

import shapely
from shapely import Polygon

from core.document.job import Job
from core.plan.model import PanelPlan, Stretch


def assert_lawful(plan: PanelPlan) -> None:
    """Check the laws 1 to 4 on one panel."""
    assert_partition(plan)
    if plan.pieces:
        assert_seen_as_planned(plan)
        assert_no_bare_spot(plan)
        assert_laps_hold(plan)


def assert_partition(plan: PanelPlan) -> None:
    """Law 1: regions do not overlap, and add up to the extended panel."""
    areas = [r.polygon.area for r in plan.regions]
    assert abs(sum(areas) - plan.extended.area) <= 1e-9 * plan.extended.area
    united = shapely.union_all([r.polygon for r in plan.regions])
    assert abs(united.area - plan.extended.area) <= 1e-9 * plan.extended.area
    assert all(r.polygon.is_valid and r.polygon.exterior.is_ccw for r in plan.regions)


def assert_seen_as_planned(plan: PanelPlan) -> None:
    """Law 2: with all pieces laid in order, of each is seen just its region."""
    regions = {r.id: r.polygon for r in plan.regions}
    assert sorted(i for p in plan.pieces for i in p.regions) == sorted(regions)
    assert [p.order for p in plan.pieces] == list(range(1, len(plan.pieces) + 1))
    hidden: shapely.Geometry = Polygon()
    for piece in reversed(plan.pieces):
        assert piece.final.is_valid
        # With a grid, since GEOS's plain difference of these two answered "nothing" once in
        # 1,500 random plans (seed 1435), of shapes that union and intersection get right.
        seen = shapely.difference(piece.final, hidden, grid_size=1e-6)
        own = shapely.union_all([regions[i] for i in piece.regions])
        seen = shapely.multipolygons([p for p in shapely.get_parts(seen) if p.area > 0])
        # With a grid too: of two shapes that differ in the last digit GEOS's plain answer is
        # now and then both of them, and nothing checks the area of a symmetric difference.
        wrong = shapely.symmetric_difference(seen, own, grid_size=1e-6).area
        assert wrong < 1e-6 * plan.extended.area, (piece.id, wrong)
        hidden = shapely.union(hidden, piece.final)


def assert_no_bare_spot(plan: PanelPlan) -> None:
    """Law 3: the pieces cover the extended panel."""
    covered = shapely.union_all([p.final for p in plan.pieces])
    assert shapely.difference(plan.extended, covered).area < 1e-6 * plan.extended.area


def assert_laps_hold(plan: PanelPlan) -> None:
    """Law 4: beneath the top piece the under piece reaches the lap width from the border.

    Judged on the top region's own area: each point of it within the lap width of the border
    must be under film, whatever lies beyond the region.
    """
    regions = {r.id: r.polygon for r in plan.regions}
    finals = {i: p.final for p in plan.pieces for i in p.regions}
    for stretch in plan.stretches:
        want = _lap_area(stretch, regions[stretch.top])
        lacking = shapely.difference(want, finals[stretch.under]).area
        assert lacking <= 1e-3, (stretch.id, lacking, want.area)


def _lap_area(stretch: Stretch, top: Polygon) -> shapely.Geometry:
    if stretch.is_full:
        return top
    # GEOS simplifies a buffer's input by up to 1 % of its width where the path bends, and arcs
    # are polygons, another 1 - cos(90°/32) = 0.12 % short: 0.09 mm of a lap of 8 mm.
    reach = stretch.lap_mm * 0.988
    near = shapely.intersection(stretch.path.buffer(reach, quad_segs=64), top)
    # A part of the top region that comes near again behind other film is not at this border.
    return shapely.union_all([p for p in shapely.get_parts(near) if p.intersects(stretch.path)])


def sole_panels(job: Job) -> int:
    """Return how many physical panels the job stands for."""
    return sum(p.count * (2 if p.is_pair else 1) for p in job.panels)

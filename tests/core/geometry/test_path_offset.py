import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Polygon

from core.geometry import shapes
from core.geometry.bezier import area_of, direction_at
from core.geometry.boolean_paths import flat_ring
from core.geometry.path_offset import FIT_MM, MITRE_LIMIT, Corners, offset_ring
from helpers.rings import corner_rings, numbered, smooth_rings

distances = st.floats(-40, 40).filter(lambda d: abs(d) > 0.5)
STYLES = {Corners.ROUND: "round", Corners.SHARP: "mitre"}


def buffered(ring, distance, corners):
    """What shapely (GEOS) makes of a fine polyline of the ring."""
    return Polygon(flat_ring(ring, 1e-4)).buffer(
        distance, quad_segs=256, join_style=STYLES[corners], mitre_limit=MITRE_LIMIT
    )


def sound_parts(shape):
    return [p for p in shapely.get_parts(shape) if p.area > 1.0]


@settings(max_examples=30)  # each takes a tenth of a second
@given(smooth_rings(), distances)
def test_a_smooth_ring_has_the_area_of_the_buffer(ring, distance):
    expected = sound_parts(buffered(ring, distance, Corners.ROUND))
    areas = offset_ring(ring, distance, Corners.ROUND)
    assume(len(expected) == 1 and len(areas) == 1)
    around = Polygon(expected[0].exterior)
    slack = 2 * FIT_MM * around.length
    assert area_of(areas[0].outer) == pytest.approx(around.area, abs=slack)


@settings(max_examples=30)  # each takes a tenth of a second
@given(corner_rings(), distances)
def test_a_polygon_with_round_corners_has_the_area_of_the_buffer(ring, distance):
    expected = sound_parts(buffered(ring, distance, Corners.ROUND))
    areas = offset_ring(ring, distance, Corners.ROUND)
    assume(len(expected) == 1 and len(areas) == 1)
    around = Polygon(expected[0].exterior)
    # The arcs are cubics: 2.8e-4 of the radius outside the circle.
    slack = 2 * FIT_MM * around.length + 3e-4 * abs(distance) * around.length
    assert area_of(areas[0].outer) == pytest.approx(around.area, abs=slack)


@settings(max_examples=30)  # each takes a tenth of a second
@given(smooth_rings(), st.floats(1, 25))
def test_every_point_is_the_distance_away(ring, distance):
    areas = offset_ring(ring, distance, Corners.ROUND)
    old = LinearRing(flat_ring(ring, 1e-4))
    at = shapely.points(flat_ring(areas[0].outer, 0.01))
    away = shapely.distance(at, old)
    assert away.min() > distance - 2 * FIT_MM
    assert away.max() < distance + 2 * FIT_MM


def test_a_rectangle_stays_one_with_its_sides():
    ring = numbered(shapes.rectangle(400, 200))
    out = offset_ring(ring, 10, Corners.SHARP)[0].outer
    assert area_of(out) == pytest.approx(420 * 220, rel=1e-12)
    assert [s.source for s in out] == [0, 1, 2, 3]
    assert all(s.is_straight and (s.t0, s.t1) == (0, 1) for s in out)
    inner = offset_ring(ring, -10, Corners.SHARP)[0].outer
    assert area_of(inner) == pytest.approx(380 * 180, rel=1e-9)
    assert [s.source for s in inner] == [0, 1, 2, 3]


def test_rounded_corners_stay_tangent():
    ring = numbered(shapes.rectangle(400, 200, 30))
    out = offset_ring(ring, 12, Corners.SHARP)[0].outer
    for here, there in zip(out, [*out[1:], out[0]], strict=True):
        assert abs(direction_at(here, 1) - direction_at(there, 0)) < 1e-6


def test_a_sharp_tip_is_cut_off_at_the_limit():
    thin = numbered(shapes.polygon([0j, 300 + 0j, 300 + 20j]))
    x0, _, _, _ = Polygon(flat_ring(offset_ring(thin, 10, Corners.SHARP)[0].outer)).bounds
    assert x0 > -10 * MITRE_LIMIT


def test_what_vanishes_is_none_and_what_falls_apart_is_told():
    assert offset_ring(numbered(shapes.rectangle(100, 40)), -30, Corners.SHARP) == []
    dumbbell = [0, 100, 100 + 45j, 200 + 45j, 200, 300, 300 + 100j, 200 + 100j, 200 + 55j,
                100 + 55j, 100 + 100j, 100j]  # fmt: skip
    ring = numbered(shapes.polygon([complex(p) for p in dumbbell]))
    assert len(offset_ring(ring, -8, Corners.SHARP)) == 2

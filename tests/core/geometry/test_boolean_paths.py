import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from core.errors import GeometryError
from core.geometry import shapes
from core.geometry.bezier import Segment, area_of, backward, direction_at, point_at
from core.geometry.boolean_paths import FINE_MM, cleaned, flat_ring, united, without
from helpers.rings import corner_rings, numbered, shifted, smooth_rings

rings = st.one_of(corner_rings(), smooth_rings())
steps = st.complex_numbers(min_magnitude=30, max_magnitude=350)


def area(parts):
    return sum(area_of(p.outer) + sum(area_of(h) for h in p.holes) for p in parts)


def solid(chain):
    return Polygon(flat_ring(chain, 1e-3))


def backwards(chain):
    return [backward(s) for s in reversed(chain)]


@settings(max_examples=30)  # each takes a tenth of a second
@given(rings, rings, steps)
def test_union_and_difference_have_the_areas_of_the_polylines(a, b, step):
    b = shifted(b, step)
    sa, sb = solid(a), solid(b)
    assume(sa.is_valid and sb.is_valid and sa.intersects(sb))
    slack = 4 * FINE_MM * (sa.length + sb.length) + 2.0
    assert area(united(a, b)) == pytest.approx(shapely.union(sa, sb).area, abs=slack)
    left = area(without(a, backwards(b)))
    assert left == pytest.approx(shapely.difference(sa, sb).area, abs=slack)


@settings(max_examples=30)  # each takes a tenth of a second
@given(smooth_rings(), smooth_rings(), steps)
def test_the_rim_of_a_union_lies_on_the_drawn_curves(a, b, step):
    b = shifted(b, step)
    assume(solid(a).intersects(solid(b)))
    drawn = [*a, *b]
    both = united(a, [Segment(s.p0, s.p1, s.p2, s.p3, source=i + len(a)) for i, s in
                      enumerate(b)])  # fmt: skip
    for part in both:
        for s in part.outer:
            there = point_at(drawn[s.source], (s.t0 + s.t1) / 2)
            assert abs(point_at(s, 0.5) - there) < 1e-5


def test_untouched_sides_are_kept_exactly_and_cut_ones_meet_exactly():
    a = numbered(shapes.rectangle(400, 200))
    disc = [Segment(s.p0 + 300, s.p1 + 300, s.p2 + 300, s.p3 + 300, source=i + 4)
            for i, s in enumerate(shapes.ellipse(150, 150))]  # fmt: skip
    outer = united(a, shifted(disc, 75 - 30j))[0].outer
    kept = {s.source for s in outer if (s.t0, s.t1) == (0, 1)}
    assert {2, 3} <= kept
    for here, there in zip(outer, [*outer[1:], outer[0]], strict=True):
        assert here.p3 == there.p0
    sources = [s.source for s in outer]
    assert sources[0] == 0


def test_a_hole_between_two_shapes_is_told():
    # A ring open on its right, closed by a bar.
    opened = [0, 300, 300 + 50j, 50 + 50j, 50 + 150j, 300 + 150j, 300 + 200j, 200j]
    bar = shapes.rectangle(40, 200)
    both = united(numbered(shapes.polygon([complex(p) for p in opened])), shifted(bar, 280))
    assert len(both) == 1
    assert [area_of(h) for h in both[0].holes] == [pytest.approx(-230 * 100)]


def test_apart_they_are_two_areas_and_cut_right_through_as_well():
    a = shapes.rectangle(100, 100)
    assert len(united(a, shifted(a, 300))) == 2
    knife = shifted(shapes.rectangle(20, 400), 40 - 100j)
    assert len(without(a, backwards(knife))) == 2
    assert without(a, backwards(shapes.rectangle(500, 500))) == []


def test_an_inner_shape_cut_away_leaves_a_hole():
    inner = shifted(shapes.ellipse(50, 50), 20 + 20j)
    left = without(shapes.rectangle(100, 100), backwards(inner))
    assert len(left[0].holes) == 1
    assert area_of(left[0].holes[0]) == pytest.approx(-area_of(inner), abs=0.05)


def test_a_ring_that_crosses_itself_is_refused_or_cleaned():
    bow = shapes.polygon([0j, 100 + 100j, 100 + 0j, 100j])
    with pytest.raises(GeometryError, match="crosses"):
        united(bow, shapes.rectangle(10, 10))
    # One lobe runs counter-clockwise.
    assert area(cleaned(bow)) == pytest.approx(2500)


def test_directions_run_on_through_a_kept_smooth_node():
    a = numbered(shapes.ellipse(200, 100))
    outer = united(a, shifted(shapes.rectangle(20, 20), 95 + 90j))[0].outer
    joints = [
        abs(direction_at(here, 1) - direction_at(there, 0))
        for here, there in zip(outer, [*outer[1:], outer[0]], strict=True)
        if here.t1 == 1 and there.t0 == 0 and here.source >= 0 and not here.is_straight
    ]
    assert joints
    assert max(joints) < 1e-9

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Polygon

from core.document.placing import mirrored, place_ring
from core.document.shaping import chain_of, edge_turns, ring_of
from core.document.symmetry import symmetric_ring
from core.errors import EditRefused
from core.geometry.bezier import area_of
from core.geometry.boolean_paths import flat_ring
from helpers.jobs import circle_path, path
from helpers.rings import smooth_rings


def area(ring):
    return area_of(chain_of(ring))


def solid(ring):
    return Polygon(flat_ring(chain_of(ring), 1e-3))


@settings(max_examples=20)  # each takes a tenth of a second
@given(smooth_rings().map(ring_of), st.floats(0, 360), st.booleans())
def test_the_result_is_its_own_mirror_image_and_the_half_is_kept(ring, angle, keeps_left):
    axis = (3.0, -2.0)
    try:
        whole = symmetric_ring(ring, axis, angle, keeps_left=keeps_left)
    except EditRefused:
        assume(False)
    image = place_ring(whole, mirrored(axis, angle))
    assert solid(image).symmetric_difference(solid(whole)).area < 0.5
    other = symmetric_ring(ring, axis, angle, keeps_left=not keeps_left)
    # Both halves together are what was drawn.
    assert area(whole) + area(other) == pytest.approx(2 * area(ring), rel=1e-9)


def test_half_a_panel_closed_along_the_axis_becomes_whole():
    half = path([(200, 0), (200, 200), (50, 180), (0, 0)])
    whole = symmetric_ring(half, (200.0, 0.0), 90, keeps_left=True)
    assert area(whole) == pytest.approx(2 * area(half))
    assert sorted(n.at for n in whole) == [(0, 0), (50, 180), (200, 200), (350, 180), (400, 0)]


def test_a_side_that_crosses_squarely_is_one_side():
    ring = path([(0, 0), (400, 0), (390, 200), (10, 200)])
    whole = symmetric_ring(ring, (200.0, 0.0), 90, keeps_left=True)
    assert len(whole) == 4
    assert area(whole) == pytest.approx(area(ring))


def test_turns_are_mirrored_too():
    ring = path([(0, 0), (400, 0), (400, 200), (0, 200)])
    ring = tuple(replace(n, turn_mm=float(n.id[1:])) for n in ring)
    whole = symmetric_ring(ring, (200.0, 0.0), 90, keeps_left=True)
    # Left (n4) and its image; below (n1) and above (n3) as they were.
    assert sorted(edge_turns(whole)) == [1.0, 3.0, 4.0, 4.0]


def test_a_circle_stays_smooth_through_the_axis():
    disc = circle_path(0, 0, 50)
    whole = symmetric_ring(disc, (0.0, 0.0), 30, keeps_left=True)
    assert area(whole) == pytest.approx(area(disc), rel=1e-4)
    assert all(n.smooth for n in whole)


def test_an_axis_that_misses_or_a_half_in_parts_is_refused():
    ring = path([(0, 0), (300, 0), (300, 200), (150, 50), (0, 200)])
    with pytest.raises(EditRefused):
        symmetric_ring(ring, (0.0, 900.0), 0, keeps_left=True)
    with pytest.raises(EditRefused, match="not one stretch"):
        symmetric_ring(ring, (0.0, 100.0), 0, keeps_left=True)
    with pytest.raises(EditRefused):
        symmetric_ring(ring, (0.0, 900.0), 0, keeps_left=False)

"""Splitting a polygon by lines: areas, labels and borders known beforehand."""

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from core.geometry.arrangement import Cutter, split

RIM = 0


def arranged(base, *lines):
    """Split; line i has the codes 10 i + 1 on its left and 10 i + 2 on its right."""
    base = shapely.orient_polygons(base)
    rings = [base.exterior, *base.interiors]
    codes = [np.full(len(r.coords) - 1, RIM, dtype=np.intp) for r in rings]
    cutters = [
        Cutter(np.array(line, dtype=float), 10 * i + 1, 10 * i + 2)
        for i, line in enumerate(lines, 1)
    ]
    made = split(base, codes, cutters)
    assert sum(f.area for f in made.faces) == pytest.approx(base.area, rel=1e-9)
    assert shapely.union_all(list(made.faces)).area == pytest.approx(base.area, rel=1e-9)
    for face, labelled in zip(made.faces, made.rings, strict=True):
        assert face.is_valid
        assert face.exterior.is_ccw
        assert len(labelled) == 1 + len(face.interiors)
        for ring in labelled:
            assert len(ring.points) == len(ring.codes)
    return made


def areas(made):
    return sorted(round(f.area, 3) for f in made.faces)


def codes_of(made, x, y):
    (i,) = [i for i, f in enumerate(made.faces) if f.contains(Point(x, y))]
    return [set(ring.codes.tolist()) for ring in made.rings[i]]


def test_nothing_to_split_by_gives_the_whole():
    made = arranged(box(0, 0, 400, 300))
    assert areas(made) == [120_000]
    assert made.borders == ()


def test_one_line_gives_two_faces_with_its_sides():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)])  # upwards: left is x < 100
    assert areas(made) == [30_000, 90_000]
    assert codes_of(made, 50, 150) == [{RIM, 11}]
    assert codes_of(made, 300, 150) == [{RIM, 12}]
    (border,) = made.borders
    assert made.faces[border.left].contains(Point(50, 150))
    assert made.faces[border.right].contains(Point(300, 150))
    assert border.starts.tolist() == [[100, 0]]
    assert border.ends.tolist() == [[100, 300]]


def test_an_x_junction_gives_four_faces_and_four_borders():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)], [(-1, 100), (401, 100)])
    assert areas(made) == [10_000, 20_000, 30_000, 60_000]
    assert len(made.borders) == 4
    assert codes_of(made, 50, 50) == [{RIM, 11, 22}]
    assert codes_of(made, 300, 200) == [{RIM, 12, 21}]


def test_a_t_junction_gives_three_faces():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)], [(99.999, 100), (401, 100)])
    assert areas(made) == [30_000, 30_000, 60_000]
    lengths = sorted(float(np.hypot(*(b.ends - b.starts).T).sum()) for b in made.borders)
    assert lengths == pytest.approx([100, 200, 300], abs=1e-6)
    assert made.idle == ()


def test_a_line_that_falls_short_divides_nothing_and_is_idle():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 200)])
    assert areas(made) == [120_000]
    assert sum(i.length for i in made.idle) == pytest.approx(200)


def test_a_tail_beyond_a_crossing_is_idle():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)], [(40, 100), (401, 100)])
    assert areas(made) == [30_000, 30_000, 60_000]
    assert [i.length for i in made.idle] == pytest.approx([60])


def test_a_line_outside_divides_nothing():
    made = arranged(box(0, 0, 400, 300), [(500, -1), (500, 301)])
    assert areas(made) == [120_000]
    assert made.idle == ()


def test_a_closed_line_within_gives_a_hole_and_what_fills_it():
    ring = [(100, 100), (200, 100), (200, 200), (100, 200), (100, 100)]
    made = arranged(box(0, 0, 400, 300), ring)
    assert areas(made) == [10_000, 110_000]
    assert codes_of(made, 150, 150) == [{11}]
    assert codes_of(made, 50, 150) == [{RIM}, {12}]
    (border,) = made.borders
    assert np.hypot(*(border.ends - border.starts).T).sum() == pytest.approx(400)


def test_a_ring_in_a_ring_gives_three_faces():
    def square(half):
        return [(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)]

    made = arranged(box(-200, -200, 200, 200), square(100), square(50))
    assert areas(made) == [10_000, 30_000, 120_000]
    assert codes_of(made, 75, 0) == [{11}, {22}]


def test_a_line_through_an_opening_divides_round_it():
    frame = box(0, 0, 400, 300).difference(box(150, 100, 250, 200))
    made = arranged(frame, [(200, -1), (200, 301)])
    assert areas(made) == [55_000, 55_000]
    (border,) = made.borders
    assert border.starts.tolist() == [[200, 0], [200, 200]]


def test_a_line_from_the_rim_to_an_opening_is_a_bridge():
    frame = box(0, 0, 400, 300).difference(box(150, 100, 250, 200))
    made = arranged(frame, [(200, -1), (200, 101)])
    assert areas(made) == [110_000]
    assert [i.length for i in made.idle] == pytest.approx([100])


def test_of_lines_that_coincide_the_first_names_the_border():
    up, down = [(100, -1), (100, 301)], [(100, 301), (100, -1)]
    made = arranged(box(0, 0, 400, 300), up, down)
    assert areas(made) == [30_000, 90_000]
    assert codes_of(made, 50, 150) == [{RIM, 11}]
    assert len(made.borders) == 1


@pytest.mark.parametrize("hair", [1e-9, 1e-4, 5e-3])
def test_lines_that_nearly_coincide_leave_no_hair_of_film(hair):
    made = arranged(
        box(0, 0, 400, 300), [(100, -1), (100, 301)], [(100 + hair, -1), (100 - hair, 301)]
    )
    assert len(made.faces) == 2
    assert areas(made) == pytest.approx([30_000, 90_000], abs=300 * hair)


def test_lines_a_little_apart_are_not_merged():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)], [(100.1, -1), (100.1, 301)])
    assert areas(made) == [30, 30_000, 89_970]


def test_a_merged_hair_is_told():
    made = arranged(box(0, 0, 400, 300), [(100, -1), (100, 301)], [(100.01, -1), (100.01, 301)])
    assert len(made.merged) == 1
    assert made.merged[0].distance(LineString([(100, 0), (100, 300)])) < 0.02


def test_a_line_along_the_rim_divides_nothing_and_the_rim_keeps_its_name():
    made = arranged(box(0, 0, 400, 300), [(-1, 0), (401, 0)])
    assert areas(made) == [120_000]
    assert codes_of(made, 200, 150) == [{RIM}]


def test_a_ring_that_shares_the_rim_takes_that_part():
    made = arranged(box(0, 0, 400, 300), [(100, 0), (200, 0), (200, 50), (100, 50), (100, 0)])
    assert areas(made) == [5_000, 115_000]
    assert codes_of(made, 150, 25) == [{RIM, 11}]


def test_a_ring_that_touches_the_rim_in_a_point_does_not_divide_the_rest():
    made = arranged(box(0, 0, 400, 300), [(150, 0), (200, 100), (100, 100), (150, 0)])
    assert areas(made) == [5_000, 115_000]


def test_a_line_through_two_corners():
    made = arranged(box(0, 0, 400, 300), [(-4, -3), (404, 303)])
    assert areas(made) == [60_000, 60_000]


def test_lines_that_meet_in_one_point_give_sectors():
    ends = [(300 * math.cos(a), 300 * math.sin(a)) for a in np.arange(7) * math.tau / 7]
    made = arranged(Point(0, 0).buffer(200, quad_segs=40), *([(0, 0), e] for e in ends))
    assert len(made.faces) == 7
    assert len(made.borders) == 7


@pytest.mark.parametrize("scale", [0.01, 1.0, 1000.0])
@pytest.mark.parametrize("shift", [0.0, 1e5])
def test_small_large_and_far_away_it_is_the_same(scale, shift):
    def at(points):
        return [(x * scale + shift, y * scale - shift) for x, y in points]

    base = Polygon(at([(0, 0), (400, 0), (400, 300), (0, 300)]))
    made = arranged(base, at([(100, -1), (100, 301)]), at([(-1, 100), (401, 130)]))
    # The cross line runs from 100 to 130 in 402: at x = 100 it is 7.537 higher.
    assert len(made.faces) == 4
    left = 100 * (100 + 30 / 402 * 51)
    assert min(areas(made)) == pytest.approx(left * scale**2, rel=1e-3)


def test_borders_of_one_line_come_in_its_direction():
    uprights = [[(x, -1), (x, 301)] for x in (300, 100, 200)]
    made = arranged(box(0, 0, 400, 300), [(401, 150), (-1, 150)], *uprights)
    own = [b.starts[0][0] for b in made.borders if b.cutter == 0]
    assert own == [400, 300, 200, 100]

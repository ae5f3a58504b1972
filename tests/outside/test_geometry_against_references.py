"""Our geometry against other libraries: shapely's split and buffer, ezdxf's curves, numpy."""

import math

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from ezdxf.math import Bezier4P, Vec3
from hypothesis import given, settings
from shapely import LineString, Polygon, box
from shapely.ops import split as shapely_split

from core.geometry.arrangement import Cutter, split
from core.geometry.curves import bezier_points, flatten_path
from core.geometry.offset import grow

seeds = st.integers(0, 2**32 - 1)


def by_repeated_split(base, lines):
    parts = [base]
    for line in lines:
        parts = [p for part in parts for p in shapely_split(part, line).geoms]
    return sorted(p.area for p in parts)


def by_ours(base, lines):
    base = shapely.orient_polygons(base)
    rings = [base.exterior, *base.interiors]
    codes = [np.zeros(len(r.coords) - 1, dtype=np.intp) for r in rings]
    cutters = [Cutter(np.asarray(line.coords), 1, 2) for line in lines]
    return sorted(f.area for f in split(base, codes, cutters).faces)


@given(seeds, st.integers(1, 6), st.booleans())
@settings(max_examples=80, deadline=None)
def test_lines_across_a_panel_give_the_areas_of_repeated_splitting(seed, count, has_hole):
    rng = np.random.default_rng(seed)
    base = box(0, 0, 400, 300)
    if has_hole:
        base = base.difference(box(150, 100, 260, 180))
    lines = []
    for _ in range(count):
        if rng.random() < 0.5:
            ends = [(-10, rng.uniform(0, 300)), (410, rng.uniform(0, 300))]
        else:
            ends = [(rng.uniform(0, 400), -10), (rng.uniform(0, 400), 310)]
        middle = (float(rng.uniform(50, 350)), float(rng.uniform(50, 250)))
        lines.append(LineString([ends[0], middle, ends[1]]))
    want = [a for a in by_repeated_split(base, lines) if a > 0.05]
    # Hairs that we merge are left out on both sides.
    ours = [a for a in by_ours(base, lines) if a > 0.05]
    if len(ours) == len(want):
        assert ours == pytest.approx(want, rel=1e-6, abs=0.1)
    else:
        # Repeated splitting is known to lose a cut now and then, never to make one up.
        assert len(ours) > len(want)
    assert sum(ours) == pytest.approx(base.area, rel=1e-6)


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_a_cubics_points_are_those_of_ezdxf(seed):
    rng = np.random.default_rng(seed)
    control = rng.uniform(-500, 500, (4, 2))
    t = np.linspace(0, 1, 23)
    curve = Bezier4P([Vec3(x, y) for x, y in control])
    theirs = [(p.x, p.y) for p in map(curve.point, t)]
    assert np.allclose(bezier_points(*control, t), theirs, atol=1e-9)


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_a_flattened_cubic_lies_on_ezdxfs_finer_one(seed):
    rng = np.random.default_rng(seed)
    control = rng.uniform(-500, 500, (4, 2))
    line, _ = flatten_path(
        control[[0, 3]],
        [None, tuple(control[2] - control[3])],
        [tuple(control[1] - control[0]), None],
        closed=False,
        tolerance=0.05,
    )
    curve = Bezier4P([Vec3(x, y) for x, y in control])
    fine = LineString([(p.x, p.y) for p in curve.flattening(0.0005, segments=16)])
    assert LineString(line).hausdorff_distance(fine) < 0.051


def convex_ring(rng):
    angles = np.sort(rng.uniform(0, math.tau, int(rng.integers(3, 14))))
    ring = np.stack([200 * np.cos(angles), 150 * np.sin(angles)], axis=1)
    return shapely.orient_polygons(Polygon(ring).convex_hull)


@given(seeds, st.sampled_from([1.0, 10.0, 40.0]))
@settings(max_examples=80, deadline=None)
def test_growing_by_one_distance_lies_between_a_bevelled_and_a_mitred_buffer(seed, turn):
    shape = convex_ring(np.random.default_rng(seed))
    if not isinstance(shape, Polygon) or shape.area < 500:
        return
    made = grow(shape, [np.full(len(shape.exterior.coords) - 1, turn)])
    least = shape.buffer(turn, join_style="bevel")
    most = shape.buffer(turn, join_style="mitre", mitre_limit=2.0)
    assert shapely.difference(least, made).area < 1e-6 * made.area
    assert shapely.difference(made, most).area < 1e-6 * made.area


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_without_sharp_corners_it_is_shapelys_mitred_buffer(seed):
    rng = np.random.default_rng(seed)
    w, h, cut = rng.uniform(50, 400, 3)
    shape = shapely.orient_polygons(
        Polygon([(0, 0), (w, 0), (w + cut, cut), (w + cut, cut + h), (0, cut + h)])
    )
    made = grow(shape, [np.full(len(shape.exterior.coords) - 1, 12.0)])
    want = shape.buffer(12.0, join_style="mitre", mitre_limit=5.0)
    assert made.symmetric_difference(want).area < 1e-6 * want.area

"""Relief cuts on surfaces whose development is known."""

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, affinity, box

from core.shape.developing import develop
from core.shape.mesh import network_of_mesh
from core.shape.mirroring import mirrored_development, mirrored_polygon
from core.shape.model import GAP_MM
from core.shape.relief import opened
from helpers.surfaces import cap, cylinder, disc, saddle

SLANT_MM = 200.0


def whole_cone(half_deg):
    """A cone about its apex, its map as seen from above."""
    flat, triangles = disc(24)
    half, at = np.radians(half_deg), flat * SLANT_MM * np.sin(np.radians(half_deg))
    slant = SLANT_MM * np.hypot(*flat.T)
    return network_of_mesh(np.column_stack((at, -slant * np.cos(half))), triangles, at=at)


def rays(count, outer, inner):
    """So many cuts towards the middle."""
    around = 2 * np.pi * np.arange(count) / count
    return tuple(
        LineString([(r * np.cos(a), r * np.sin(a)) for r in (outer, inner)]) for a in around
    )


@pytest.mark.parametrize("half_deg", [75, 60, 45])
def test_a_cone_opened_to_its_apex_is_its_sector(half_deg):
    # Elementary: a cone of half-angle a, cut from rim to apex, is a flat sector of its slant
    # with an angle of 360 sin a; no strain is left.
    network, radius = whole_cone(half_deg), 0.98 * SLANT_MM * np.sin(np.radians(half_deg))
    area = Point(0, 0).buffer(radius, quad_segs=24)
    whole = develop(network, area)
    made = develop(network, area, cuts=(LineString([(radius, 0), (0, 0)]),))
    (cut,) = made.cuts
    slant, turn = 0.98 * SLANT_MM, 2 * np.pi * np.sin(np.radians(half_deg))
    missing = 2 * np.pi - turn
    apart = np.hypot(*(cut.left[0] - cut.right[0])) - GAP_MM
    assert apart == pytest.approx(2 * slant * np.sin(missing / 2), rel=2e-3)
    assert made.outline.area == pytest.approx(turn / 2 * slant**2, rel=3e-3)
    assert made.range_pct < 0.05 * whole.range_pct
    assert cut.closing_mm < 0.01
    assert made.outline.is_valid
    # The notch is what is missing to the whole disc, but for its round rim.
    assert cut.notch.area == pytest.approx(slant**2 / 2 * np.sin(missing), rel=1e-2)


def test_a_cap_cut_to_its_pole_falls_into_petals():
    # As for the gores of a globe, elementary: every way from the pole keeps its length R t, and
    # the rim its own, 2 pi R sin t; of the circle of R t the rest is open.
    radius, angle, count = 300.0, np.radians(40), 12
    network = network_of_mesh(*cap(42, radius))
    rim = angle / np.radians(42) * np.abs(network.at).max()
    made = develop(
        network, Point(0, 0).buffer(rim, quad_segs=30), cuts=rays(count, rim, 0.06 * rim)
    )
    gap = (2 * np.pi - 2 * np.pi * np.sin(angle) / angle) / count
    assert np.mean([c.opening_mm for c in made.cuts]) == pytest.approx(
        2 * radius * angle * np.sin(gap / 2), rel=0.05
    )
    assert made.range_pct < 0.2 * develop(network, Point(0, 0).buffer(rim)).range_pct


def test_on_what_can_be_laid_flat_a_cut_has_no_width():
    network = network_of_mesh(*cylinder())
    area = affinity.translate(box(-100, -100, 100, 100), *network.at.mean(axis=0))
    x, y = network.at.mean(axis=0)
    cut = LineString([(x + 100, y), (x + 40, y - 30), (x, y + 30)])
    made = develop(network, area, cuts=(cut,))
    assert not made.cuts[0].is_open
    assert made.outline.hausdorff_distance(area) < 0.02
    assert LineString(made.cuts[0].middle).hausdorff_distance(cut) < GAP_MM
    assert made.outline.area == pytest.approx(area.area, rel=1e-5)


def test_on_a_saddle_it_closes():
    network = network_of_mesh(*saddle())
    made = develop(network, Point(0, 0).buffer(140), cuts=rays(1, 140, 50))
    assert made.cuts[0].closing_mm > 5
    assert not made.cuts[0].is_open
    assert made.outline.is_valid


def test_a_mirrored_piece_opens_as_its_twin_does():
    network = network_of_mesh(*cap(40))
    area, cuts = box(-100, -120, 150, 130), rays(1, 150, 40)
    made = develop(network, area, cuts=cuts)
    twin = mirrored_development(made)
    assert twin.cuts[0].opening_mm == pytest.approx(made.cuts[0].opening_mm)
    assert twin.outline.equals(mirrored_polygon(made.outline))
    assert twin.outline.intersection(twin.cuts[0].notch).area < 1e-6


def test_an_area_is_opened_by_next_to_nothing():
    area = box(0, 0, 400, 300)
    cuts = (LineString([(0, 150), (90, 150), (120, 100)]), LineString([(400, 0), (300, 90)]))
    piece = opened(area, cuts)
    lost = GAP_MM * sum(c.length for c in cuts)
    assert piece.area == pytest.approx(area.area - lost, abs=0.2 * GAP_MM)
    assert piece.exterior.length > area.length + 1.9 * sum(c.length for c in cuts)
    assert shapely.get_num_interior_rings(piece) == 0

"""What every surface answers. Cylinder and cone: elementary."""

import itertools

import numpy as np
import pytest
from msgspec.structs import replace
from shapely import box

from core.document.edits.surfaces import with_reading
from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    ScannedSurface,
)
from core.errors import Damaged
from core.shape.fermi import grid_triangles
from core.shape.mirroring import mirrored_development, mirrored_polygon
from core.shape.model import Network
from core.shape.scanned import ScannedMesh, mesh_to_bytes
from core.shape.surface import FLAT as FLAT_SURFACE
from core.shape.surface import CurvedSurface, scan_networks, surface_of
from helpers.taped import BALL, FLAT, WHOLE

AREAS = (WHOLE, box(-12, -312, 612, 312), box(40, 120, 560, 311))


def _cone_on_straight_stations() -> MeasuredSurface:
    """A cone, its spine along a line of it: laid flat it is a sector, its stations straight."""
    s, t = np.linspace(0, 400, 5), (180.0, 90.0, 0.0, -90.0, -180.0)
    return MeasuredSurface(
        offsets=tuple(tuple((abs(v),) for v in t if v) for _ in s),
        lengths=tuple(tuple((float(b - a),) for _ in t) for a, b in itertools.pairwise(s)),
        to_left=(float(np.hypot(400, 360)),),
    )


@pytest.mark.parametrize("area", [box(0, -180, 400, 180), box(50, 20, 350, 190)])
def test_pieces_of_a_cone_are_congruent_to_the_map_and_free_of_strain(area) -> None:
    made = surface_of(_cone_on_straight_stations()).develop(area)
    assert np.abs(made.laying.strains).max() < 1e-4
    assert made.range_pct < 1e-2
    assert made.outline.symmetric_difference(area).area < 1e-6 * area.area


@pytest.mark.parametrize("area", AREAS)
def test_pieces_of_a_cylinder_taped_askew_are_congruent_to_the_map(area) -> None:
    # Laid flat, any straight spine over a cylinder has straight square stations.
    made = surface_of(FLAT.grid()).develop(area)
    assert np.abs(made.laying.strains).max() < 1e-4
    assert made.outline.symmetric_difference(area).area < 1e-6 * area.area


def test_a_spine_that_bends_on_the_surface_gives_film_that_bends() -> None:
    # Rings about a centre 2 m away in a plane: K = 0, the film a ring segment, no strain.
    r, s, t = 2000.0, np.linspace(0, 600, 5), (200.0, 100.0, 0.0, -100.0, -200.0)

    def chord(a, b, v):
        return (float(2 * (r + v) * np.sin((b - a) / r / 2)),)

    ring = MeasuredSurface(
        offsets=tuple(tuple((abs(v),) for v in t if v) for _ in s),
        lengths=tuple(tuple(chord(a, b, v) for v in t) for a, b in itertools.pairwise(s)),
    )
    made = surface_of(ring).develop(box(0, -200, 600, 200))
    assert made.range_pct < 0.1
    angle = 600 / r
    assert made.outline.area == pytest.approx(angle / 2 * (2200**2 - 1800**2), rel=1e-3)
    assert made.outline.convex_hull.area > 1.01 * made.outline.area


def test_film_is_not_turned_against_the_map_on_the_whole() -> None:
    made = surface_of(replace(BALL.grid(), origin=(70.0, 30.0), angle_deg=55.0)).develop(
        box(100, 100, 300, 500)
    )
    here = made.laying.points - made.laying.points.mean(axis=0)
    there = made.network.at - made.network.at.mean(axis=0)
    turn = np.sum(here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0])
    assert abs(turn) / np.sum(here * there) < 0.01


def test_flat_panels_and_unfinished_grids_are_flat() -> None:
    assert surface_of(None) is FLAT_SURFACE
    assert surface_of(None).develop(WHOLE) is None
    unfinished = with_reading(BALL.grid(), ReadingPlace(ReadingKind.LENGTH, 0, 0), ())
    surface = surface_of(unfinished)
    assert surface.network is None
    assert "not complete" in surface.doubts[0].what


def test_surfaces_are_remembered_by_what_was_measured() -> None:
    grid = BALL.grid()
    assert surface_of(grid) is surface_of(replace(grid))
    assert surface_of(grid) is not surface_of(replace(grid, origin=(1.0, 0.0)))


def _mesh() -> ScannedMesh:
    """A sheet of 200 x 100 mm, bent round a cylinder of 100 mm."""
    x, y = np.meshgrid(np.linspace(0, 200, 9), np.linspace(0, 100, 5), indexing="ij")
    at = np.column_stack([x.ravel(), y.ravel()])
    bent = np.column_stack(
        [100 * np.sin(at[:, 0] / 100), at[:, 1], 100 * np.cos(at[:, 0] / 100)]
    )
    return ScannedMesh(vertices=bent, triangles=grid_triangles(9, 5), at=at)


def test_a_scan_lies_where_the_panel_has_it_and_mirrored_if_it_says_so() -> None:
    (network,) = scan_networks({"a.mesh": mesh_to_bytes(_mesh())}).values()
    tied = ScannedSurface(file="a.mesh", origin=(500.0, 10.0), angle_deg=90.0)
    laid = surface_of(tied, {"a.mesh": network})
    assert isinstance(laid, CurvedSurface)
    # (x, y) -> (-y, x) + origin.
    assert laid.network.at[-1] == pytest.approx((400.0, 210.0))
    other = surface_of(replace(tied, is_mirrored=True), {"a.mesh": network})
    assert other.network.at[-1] == pytest.approx((400.0, -190.0))
    for one in (laid, other):
        u, v = (
            one.network.at[one.network.triangles[:, i]]
            - one.network.at[one.network.triangles[:, 0]]
            for i in (1, 2)
        )
        assert ((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) > 0).all()
        area = box(*one.network.at.min(axis=0), *one.network.at.max(axis=0))
        made = one.develop(area)
        assert made.range_pct < 0.01
        assert made.outline.area == pytest.approx(200 * 100, rel=4e-3)  # chords of 8 facets


def test_a_scan_that_is_not_there_leaves_the_panel_flat_with_a_doubt() -> None:
    surface = surface_of(ScannedSurface(file="gone.mesh"))
    assert surface.develop(WHOLE) is None
    assert "not there" in surface.doubts[0].what


def test_bytes_that_are_no_scan_are_refused() -> None:
    with pytest.raises(Damaged, match="Read the scan in again"):
        scan_networks({"a.mesh": b"nothing of the kind"})


def test_a_mirrored_development_is_the_mirror_image() -> None:
    made = surface_of(BALL.grid()).develop(box(0, 0, 300, 300))
    mirrored = mirrored_development(made)
    assert mirrored.outline.equals(mirrored_polygon(made.outline))
    assert mirrored.outline.exterior.is_ccw
    back = mirrored_development(mirrored)
    assert (back.laying.points == made.laying.points).all()
    assert isinstance(mirrored.network, Network)
    assert mirrored.network.areas == pytest.approx(made.network.areas)

"""Flattening and judging: starts, weights, windows, and what is refused."""

import numpy as np
import pytest
from shapely import Point, Polygon

from core.errors import Cancelled, GeometryError
from core.progress import Silent
from core.shape.developing import develop
from core.shape.elements import elements_of
from core.shape.flattening import aligned, as_complex, first_layout, flatten, spread_layout
from core.shape.judging import judge, range_of, strain_ends
from core.shape.mesh import network_of_mesh, side_lengths
from core.shape.metric import metric_of
from core.shape.model import Network, Window
from core.shape.topology import check_disc, rim_loops, shell_of_each
from helpers.surfaces import cap, cylinder, disc, grid, saddle
from sample_projects.domed_hood import hood_mesh


class Stopped(Silent):
    def is_cancelled(self):
        return True


def with_opening(mesh, at, radius):
    vertices, triangles = mesh
    middles = vertices[triangles].mean(axis=1)
    kept = triangles[np.hypot(middles[:, 0] - at, middles[:, 1]) > radius]
    used, compact = np.unique(kept, return_inverse=True)
    return vertices[used], compact.reshape(-1, 3)


@pytest.mark.parametrize(
    "mesh",
    [cap(150), with_opening(cap(60), 80.0, 60.0), cylinder(angle_deg=340), saddle()],
    ids=["nearly a ball", "with an opening", "nearly a tube", "saddle"],
)
def test_nothing_folds(mesh):
    network = network_of_mesh(*mesh)
    elements = elements_of(network)
    assert not elements.has_folds(as_complex(network.at))
    assert not elements.has_folds(as_complex(judge(network, Window(2, 5)).laying.points))
    assert not elements.has_folds(spread_layout(network, elements))


def test_a_bad_map_is_no_start():
    vertices, triangles = cap(40, rings=8)
    good = network_of_mesh(vertices, triangles)
    mirrored = Network(at=good.at * [-1, 1], triangles=triangles, sides=good.sides)
    squeezed = Network(at=good.at * [0.1, 1], triangles=triangles, sides=good.sides)
    for network in (mirrored, squeezed):
        elements = elements_of(network)
        assert not elements.has_folds(first_layout(network, elements))
        assert flatten(network).strains == pytest.approx(flatten(good).strains, abs=1e-5)


def test_weighed_compression_trades_bunching_for_stretch():
    network = network_of_mesh(*cap(40))
    plain, weighed = flatten(network), flatten(network, compression_weight=100)
    assert weighed.strains.min() > 0.4 * plain.strains.min()
    assert weighed.strains.max() > 2 * plain.strains.max()
    areas = network.areas
    # Pulling does not bring the ends nearer to each other.
    assert range_of(weighed.strains, areas) > 0.95 * range_of(plain.strains, areas)


def test_worked_film_is_pulled_no_more_than_needed():
    network = network_of_mesh(*cap(30))
    fits, low, high = (judge(network, w) for w in (Window(5, 5), Window(0, 9), Window(9, 0)))
    assert fits.can_lay
    assert low.can_lay
    assert high.can_lay
    assert low.bunching_pct == pytest.approx(0.0, abs=1e-6)
    assert high.stretch_pct == pytest.approx(0.0, abs=1e-6)
    for other in (low, high):
        assert other.range_pct == pytest.approx(fits.range_pct, rel=1e-6)
    tight = judge(network, Window(1, 1))
    assert not tight.can_lay
    missing = (0.99 / (1 - tight.bunching_pct / 100), (1 + tight.stretch_pct / 100) / 1.01)
    assert missing[0] == pytest.approx(missing[1], rel=1e-6)
    assert np.hypot(*tight.bunching_at) > np.hypot(*tight.stretch_at)


def test_the_limit_is_what_both_limits_leave():
    assert Window(2, 5).range_pct == pytest.approx(100 * (1.05 / 0.98 - 1))
    # Half a percent of the area at each end counts nothing.
    strains = np.zeros((1000, 2))
    strains[0], strains[1] = (-0.5, 0.0), (0.0, 0.9)
    assert strain_ends(strains, np.ones(1000)) == (0.0, 0.0)


def test_areas_are_herons():
    network = network_of_mesh(*cap(40, rings=6))
    assert network.areas.sum() == pytest.approx(
        2 * np.pi * 300**2 * (1 - np.cos(np.radians(40))), rel=0.01
    )
    assert network.areas == pytest.approx(elements_of(network).areas)


def test_film_is_turned_over_the_map():
    network = network_of_mesh(*saddle(rings=6))
    turn = np.exp(0.7j)
    moved = as_complex(network.at) * turn + (30 - 4j)
    back = aligned(
        np.column_stack((moved.real, moved.imag)), network.at, network.areas, network
    )
    assert back == pytest.approx(network.at, abs=1e-9)


def test_slivers_and_sides_that_close_no_triangle_are_borne():
    flat, triangles = grid(6, 6)
    vertices = np.column_stack((300 * flat**4, np.zeros(len(flat))))
    sides = side_lengths(vertices, triangles)
    sides[5, 0] = sides[5, 1] + sides[5, 2] + 1.0
    laying = flatten(Network(at=300 * flat, triangles=triangles, sides=sides))
    assert np.isfinite(laying.points).all()
    assert np.isfinite(laying.strains).all()


def test_long_work_can_be_stopped():
    network = network_of_mesh(*cap(40, rings=6))
    for work in (
        lambda p: flatten(network, progress=p),
        lambda p: judge(network, Window(2, 5), progress=p),
        lambda p: network_of_mesh(*cap(40, rings=6), progress=p),
        lambda p: develop(network, Point(0, 0).buffer(100), progress=p),
    ):
        with pytest.raises(Cancelled):
            work(Stopped())


def test_what_is_no_disc_is_refused():
    flat, triangles = disc(3)
    with pytest.raises(GeometryError, match="not one triangle"):
        check_disc(triangles[:0])
    with pytest.raises(GeometryError, match="several parts"):
        check_disc(np.vstack((triangles, triangles + len(flat))))
    turned = triangles.copy()
    turned[0] = turned[0][::-1]
    with pytest.raises(GeometryError, match="opposite ways"):
        check_disc(turned)
    tetrahedron = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]])
    with pytest.raises(GeometryError, match="closed"):
        check_disc(tetrahedron)
    square, cells = grid(12, 3)
    over = np.arange(len(square))
    over[np.isclose(square[:, 0], 1)] = over[np.isclose(square[:, 0], 0)]
    torus = over.copy()
    torus[np.isclose(square[:, 1], 1)] = over[np.isclose(square[:, 1], 0)]
    open_torus = torus[cells][1:]
    with pytest.raises(GeometryError, match="ring or a handle"):
        check_disc(open_torus)
    assert len(rim_loops(over[cells])) == 2
    assert shell_of_each(np.vstack((triangles, triangles + len(flat)))).max() == 1


def test_the_metric_of_a_true_map_is_that_of_the_plane():
    network = network_of_mesh(*cylinder())
    points = np.random.default_rng(2).uniform(-400, 400, (200, 2))  # within and far outside
    assert metric_of(network).at(points) == pytest.approx(
        np.tile([1.0, 0.0, 1.0], (200, 1)), abs=1e-7
    )


def test_noise_of_a_scan_changes_little():
    vertices, triangles = hood_mesh(40)
    rng = np.random.default_rng(4)
    rough = vertices + rng.normal(scale=0.1, size=vertices.shape)
    smooth, noisy = (network_of_mesh(v, triangles) for v in (vertices, rough))
    whole = Polygon(smooth.at[-240:])
    for area in (whole, Point(0, 0).buffer(200)):
        there = develop(noisy, area).range_pct
        assert there == pytest.approx(develop(smooth, area).range_pct, rel=0.03, abs=0.15)

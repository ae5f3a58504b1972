import numpy as np
import pytest

from core.shape.fermi import Fermi, Spread, grid_triangles
from core.shape.mesh import is_on_rim, vertex_curvatures
from helpers.taped import BALL, SHOULDERS

RADIUS, REACH, LENGTH = 300.0, 150.0, 600.0


def _surface(powers, coefficients, origin=(0.0, 0.0), angle_deg=0.0):
    stations = np.linspace(0, LENGTH, 4)
    spread = Spread(powers, LENGTH, REACH, stations, np.full(4, REACH), np.full(4, -REACH))
    return Fermi(spread, np.array(coefficients), origin, angle_deg)


def _ball(**kw):
    """cos(t / R) to the sixth power of t."""
    u = REACH / RADIUS
    return _surface(((2, 0), (4, 0), (6, 0)), [-(u**2) / 2, u**4 / 24, -(u**6) / 720], **kw)


def _in_space(s, t):
    a, b = s / RADIUS, t / RADIUS
    return np.array([np.cos(b) * np.cos(a), np.cos(b) * np.sin(a), np.sin(b)])


@pytest.mark.parametrize(("apart", "within"), [(20, 1e-6), (60, 1e-5), (150, 1e-4)])
def test_distances_on_a_ball_are_those_of_great_circles(apart, within) -> None:
    start, step = np.array([[200.0, 100.0]]), np.array([apart, 0.3 * apart])
    ends = start + step
    true = RADIUS * np.arccos(_in_space(*start[0]) @ _in_space(*ends[0]))
    assert _ball().distances(start, ends)[0] == pytest.approx(true, rel=within)


def test_a_plane_told_from_a_curved_spine_is_a_plane() -> None:
    # G = 1 + t/r: rings about a centre r away, a plane all the same.
    r = 500.0
    plane = _surface(((1, 0),), [REACH / r])
    start, end = np.array([[100.0, 40.0]]), np.array([[150.0, 90.0]])
    a, b = (complex((r + t) * np.exp(1j * s / r)) for s, t in (start[0], end[0]))
    assert plane.distances(start, end)[0] == pytest.approx(abs(b - a), rel=1e-5)
    network = plane.network(np.array([[0.0, -100.0], [500.0, 100.0]]), 600)
    inner = ~is_on_rim(network)
    assert np.abs(vertex_curvatures(network)[inner]).max() < 1e-5


def test_the_curvature_of_the_network_is_that_of_the_ball() -> None:
    # Gauss-Bonnet: the angles lacking inside are the curvature, the area over R squared.
    network = _ball().network(np.array([[100.0, -140.0], [500.0, 140.0]]), 1200)
    inner = ~is_on_rim(network)
    shares = np.zeros(len(network.at))
    np.add.at(shares, network.triangles, network.areas[:, None] / 3)
    found = vertex_curvatures(network)[inner].sum() / shares[inner].sum()
    assert found == pytest.approx(1 / RADIUS**2, rel=0.01)


def test_past_the_outermost_lines_the_surface_runs_on_without_curvature() -> None:
    ball = _ball()
    s = np.full(3, 300.0)
    g = ball.widening(s, np.array([REACH, REACH + 40, REACH + 80]))
    assert g[2] - g[1] == pytest.approx(g[1] - g[0])
    assert g[1] - g[0] == pytest.approx(-40 / RADIUS * np.sin(REACH / RADIUS), rel=1e-2)
    network = ball.network(np.array([[100.0, 160.0], [500.0, 300.0]]), 400)
    inner = ~is_on_rim(network)
    assert np.abs(vertex_curvatures(network)[inner]).max() < 1e-5


def test_past_the_first_and_last_station_it_runs_on_as_it_is_there() -> None:
    bent = _surface(((2, 0), (2, 1)), [-0.1, 0.03])
    t = np.array([100.0])
    for end, past in ((0.0, -60.0), (LENGTH, LENGTH + 60.0)):
        assert bent.widening(np.array([past]), t) == bent.widening(np.array([end]), t)


def test_slopes_are_those_of_the_terms() -> None:
    spread = _surface(((1, 0), (2, 1), (3, 2), (4, 1)), [0.0] * 4).spread
    s, t, h = np.array([110.0, 333.0, 470.0]), np.array([-120.0, 60.0, 170.0]), 1e-4
    along, across = spread.slopes(s, t)
    numeric = (spread.terms(s + h, t) - spread.terms(s - h, t)) / 2 / h
    assert along == pytest.approx(numeric, abs=1e-8)
    numeric = (spread.terms(s, t + h) - spread.terms(s, t - h)) / 2 / h
    assert across == pytest.approx(numeric, abs=1e-8)


def test_the_network_lies_where_the_spine_does_and_faces_up() -> None:
    turned = _ball(origin=(40.0, -20.0), angle_deg=33.0)
    corners = turned.to_map(np.array([[0.0, -50.0], [300.0, 50.0]]))
    assert turned.from_map(corners) == pytest.approx(np.array([[0.0, -50.0], [300.0, 50.0]]))
    network = turned.network(corners, 200)
    a, b, c = (network.at[network.triangles[:, i]] for i in range(3))
    u, v = b - a, c - a
    assert ((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) > 0).all()
    assert len(grid_triangles(4, 3)) == 2 * 3 * 2


@pytest.mark.parametrize("part", [BALL, SHOULDERS])
def test_the_helper_obeys_jacobi(part) -> None:
    # The judge's own part: G_tt = -K G, by differences.
    t, h = np.array([-170.0, 30.0, 180.0]), 5.0
    g = part.widening(np.full(3, 300.0), t)
    bend = part.widening(np.full(3, 300.0), t + h) + part.widening(np.full(3, 300.0), t - h)
    curvature = -(bend - 2 * g) / h**2 / g
    expected = (
        1 / 800**2 * np.ones(3)
        if part is BALL
        else 8e-6 * np.exp(-(((abs(t) - 180) / 70) ** 2))
    )
    assert curvature == pytest.approx(expected, rel=0.02, abs=1e-8)

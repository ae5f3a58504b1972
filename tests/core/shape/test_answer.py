import itertools

import numpy as np
import pytest
from shapely import box

from core.shape.answer import answer_for, mean_curvature, widest_strip_mm
from core.shape.fermi import grid_triangles
from core.shape.judging import judge
from core.shape.mesh import network_of_mesh
from core.shape.model import Window
from core.shape.surface import CurvedSurface, surface_of
from helpers.taped import BALL, SADDLE
from sample_projects import parcel_dome

WINDOW = Window(2.0, 10.0)


def _dome_in_space():
    """The sample's dome as triangles in space, over the map that its grid draws."""
    across = np.linspace(10, parcel_dome.RIM, 11)
    stations = np.linspace(parcel_dome.SPINE_FROM, parcel_dome.SPINE_TO, 25)
    rows = []
    for x in stations.tolist():
        left = parcel_dome.way_across(x, tuple(across), to_left=True)
        right = parcel_dome.way_across(x, tuple(across), to_left=False)
        rows.append([*right[::-1], np.array([x, 0.0]), *left])
    spine = parcel_dome.in_space(np.array([[x, 0.0] for x in np.linspace(-310, 310, 2001)]))
    way = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(spine, axis=0), axis=1))])
    s = np.interp(stations, np.linspace(-310, 310, 2001), way)
    t = np.concatenate([-across[::-1], [0.0], across])
    at = np.array(list(itertools.product(s, t)))
    places = parcel_dome.in_space(np.array(rows).reshape(-1, 2))
    return network_of_mesh(places, grid_triangles(len(s), len(t)), at=at)


def test_the_interval_of_the_taped_dome_holds_what_its_shape_in_space_says() -> None:
    dome = _dome_in_space()
    true = judge(dome, WINDOW).range_pct
    length = float(dome.at[:, 0].max())
    surface = surface_of(parcel_dome.dome_readings())
    assert isinstance(surface, CurvedSurface)
    assert surface.doubts == ()
    answer = answer_for(surface, box(0, -250, length, 250))
    assert answer.low_pct < true < answer.high_pct
    assert answer.range_pct == pytest.approx(true, rel=0.12)
    assert answer.high_pct - answer.low_pct < 3.0


def test_splitting_a_piece_never_makes_it_need_more() -> None:
    surface = surface_of(parcel_dome.dome_readings())
    whole = answer_for(surface, box(0, -250, 660, 250))
    for part in (box(0, -250, 660, 0), box(0, 0, 660, 250), box(0, -90, 660, 90)):
        assert answer_for(surface, part).range_pct < whole.range_pct


def test_strips_as_the_rule_says_need_about_that_range() -> None:
    # The strip rule is for long narrow strips: here 1 : 7 on a ball of 800 mm.
    surface = surface_of(BALL.grid())
    width = widest_strip_mm(0.08, 1 / 800**2)
    assert width == pytest.approx(2 * 800 * np.sqrt(2 * 0.0008))
    answer = answer_for(surface, box(0, -width / 2, 600, width / 2))
    assert answer.range_pct == pytest.approx(0.08, rel=0.25)
    assert answer.curvature == pytest.approx(1 / 800**2, rel=0.1)
    assert widest_strip_mm(1.0, 0.0) is None


def test_the_mean_curvature_of_a_saddle_is_negative() -> None:
    made = surface_of(SADDLE.grid()).develop(box(50, -250, 550, 250))
    assert mean_curvature(made) == pytest.approx(-1 / 900**2, rel=0.05)

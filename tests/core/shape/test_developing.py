"""Film shapes of areas: congruent where the surface is developable, true where it is not."""

import itertools

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, affinity, box

from core.errors import GeometryError
from core.shape.developing import develop, to_film
from core.shape.mesh import network_of_mesh
from helpers.surfaces import cap, cone, cylinder


@pytest.fixture(scope="module")
def tube():
    return network_of_mesh(*cylinder())


def star():
    around = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    reach = np.where(np.arange(40) % 2, 60.0, 150.0)
    return Polygon(reach[:, None] * np.column_stack((np.cos(around), np.sin(around))))


SQUARE = box(0, 0, 100, 100)
AWKWARD = {
    "disc": Point(0, 0).buffer(100, 64),
    "beyond the rim, with an opening": (
        Point(0, 0).buffer(300, 64).difference(Point(40, 40).buffer(30))
    ),
    "thin strip": box(-200, -3, 200, 3),
    "star": star(),
    "needle": Polygon([(0, 0), (300, 2), (300, 0)]),
    "an opening that touches the rim": Polygon(
        SQUARE.exterior.coords, [[(50, 0), (70, 40), (30, 40)]]
    ),
    "two openings that touch": SQUARE.difference(
        shapely.union_all([box(20, 20, 50, 50), box(50, 50, 80, 80)])
    ),
    "steps closer than triangles": Polygon(
        [(0, 0), (200, 0), *((200 - 2 * i, 100 + 2 * (i % 2)) for i in range(100))]
    ),
}


def moved_to_middle(area, network):
    return affinity.translate(area, *network.at.mean(axis=0))


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize("surface", [cylinder, cone])
def test_areas_of_developable_surfaces_come_out_as_they_lie_in_the_map(surface, name):
    network = network_of_mesh(*surface())
    area = moved_to_middle(AWKWARD[name], network)
    made = develop(network, area)
    assert np.abs(made.laying.strains).max() < 1e-4
    assert made.range_pct < 0.02
    assert made.outline.hausdorff_distance(area) < 0.02
    assert made.outline.area == pytest.approx(area.area, rel=1e-5)


def test_points_go_to_the_film_as_the_outline_does(tube):
    area = moved_to_middle(star(), tube)
    made = develop(tube, area)
    corners = np.asarray(area.exterior.coords)
    assert to_film(made, corners) == pytest.approx(corners, abs=0.02)


def test_film_is_turned_but_never_mirrored():
    vertices, triangles = cap(40)
    network = network_of_mesh(vertices, triangles)
    made = develop(network, Point(0, 0).buffer(150))
    film = made.laying.points[made.network.triangles]
    u, v = film[:, 1] - film[:, 0], film[:, 2] - film[:, 0]
    assert (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] > 0).all()


def test_an_area_without_width_is_refused(tube):
    with pytest.raises(GeometryError, match="without width"):
        develop(tube, Polygon([(0, 0), (10, 0), (20, 0)]))
    with pytest.raises(GeometryError, match="without width"):
        develop(tube, Polygon())


def test_strips_of_a_dome_need_less_than_the_dome():
    network = network_of_mesh(*cap(40))
    whole = Point(0, 0).buffer(205, 64)
    x0, y0, x1, y1 = whole.bounds
    cuts = np.linspace(x0, x1, 4)
    strips = [
        develop(network, whole.intersection(box(a, y0, b, y1)))
        for a, b in itertools.pairwise(cuts)
    ]
    assert max(s.range_pct for s in strips) < 0.5 * develop(network, whole).range_pct

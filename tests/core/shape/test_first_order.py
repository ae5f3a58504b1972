import numpy as np
import pytest

from core.shape.first_order import FirstOrder
from core.shape.flattening import flatten
from core.shape.judging import range_of
from helpers.taped import BALL, SADDLE, SHOULDERS, true_network


@pytest.mark.parametrize(
    ("part", "within"),
    [(BALL, 0.05), (SADDLE, 0.05), (SHOULDERS, 0.25)],  # the last is far from a plane
)
def test_to_first_order_free_film_suffers_what_the_full_laying_says(part, within) -> None:
    network = true_network(part, 13, 13)
    film = FirstOrder.of(network.at, network.triangles)
    own = np.zeros((2, len(network.triangles), 3))
    own[:, :, 0] = np.log(part.widening(*film.middles.T))
    full = range_of(flatten(network).strains, network.areas)
    assert film.ranges_pct(film.left(own)) == pytest.approx([full, full], rel=within)


def test_film_on_what_only_looks_stretched_is_free_of_strain() -> None:
    # Surfaces that are the map drawn larger, or sheared: nothing is left after relaxing.
    network = true_network(BALL, 9, 9)
    film = FirstOrder.of(network.at, network.triangles)
    own = np.zeros((2, len(network.triangles), 3))
    own[0, :, :2] = 0.03
    own[1, :, 2] = 0.02
    assert np.abs(film.left(own)).max() < 1e-6

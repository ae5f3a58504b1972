import math

import pytest
from shapely import Polygon, box
from shapely.affinity import scale

from core.document.film import Grain, Turning
from core.roll.model import Placement
from core.roll.problem import allowed_angles, film_problems, outline_fault
from helpers.film_pieces import (
    a_film,
    no_number_shape,
    offcut,
    piece,
    plan_of,
    problem_of,
    rolls,
)


def arrow_on_roll(flow_deg: float, turn_deg: float) -> tuple[float, float]:
    turned = math.radians(flow_deg + turn_deg)
    return round(math.cos(turned), 9), round(math.sin(turned), 9)


@pytest.mark.parametrize("flow", [0.0, 37.0, -90.0, 450.0])
def test_one_way_grain_points_every_flow_arrow_along_the_roll(flow):
    turns = allowed_angles(Grain.ONE_WAY, flow)
    assert turns is not None
    assert [arrow_on_roll(flow, t) for t in turns] == [(1.0, 0.0)]


def test_two_way_grain_allows_both_directions_along_the_roll():
    turns = allowed_angles(Grain.TWO_WAY, 37.0)
    assert turns is not None
    assert [arrow_on_roll(37.0, t) for t in turns] == [(1.0, 0.0), (-1.0, 0.0)]


def test_a_weave_allows_quarter_turns_from_the_flow_arrow():
    turns = allowed_angles(Grain.QUARTER_TURN, 37.0)
    assert turns is not None
    arrows = {arrow_on_roll(37.0, t) for t in turns}
    assert arrows == {(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)}


def test_film_without_grain_lies_any_way_or_in_quarter_turns_at_choice():
    assert allowed_angles(Grain.NONE, 37.0) is None
    turns = allowed_angles(Grain.NONE, 37.0, Turning.QUARTERS)
    assert turns == allowed_angles(Grain.QUARTER_TURN, 37.0)
    film = a_film(turning=Turning.QUARTERS)
    (item,) = problem_of([box(0, 0, 300, 200)], film, flow_deg=37.0).items
    assert item.angles_deg == turns
    assert allowed_angles(Grain.ONE_WAY, 37.0, Turning.QUARTERS) == (323.0,)


def test_a_mirrored_copy_keeps_its_arrow_along_the_roll():
    """Left and right of a pair run alike: the right one is the left one seen in a mirror."""
    shape = Polygon([(0, 0), (100, 20), (30, 60)])
    left = piece("g1", shape, flow_deg=30.0)
    right = piece("g2", scale(shape, -1, 1, origin=(0, 0)), flow_deg=150.0)
    film = a_film(grain=Grain.ONE_WAY)
    first, second = film_problems(plan_of([left, right], [film]))[0].items
    assert first.angles_deg is not None
    assert second.angles_deg is not None
    a = Placement(first, first.angles_deg[0], 0.0, 0.0).polygon
    b = Placement(second, second.angles_deg[0], 0.0, 0.0).polygon
    assert scale(a, 1, -1, origin=(0, 0)).symmetric_difference(b).area < 1e-6


def test_each_try_is_an_item_of_its_own():
    problem = problem_of([box(0, 0, 50, 50)], tries=3)
    assert [(i.piece, i.attempt) for i in problem.items] == [("g1", 1), ("g1", 2), ("g1", 3)]


def test_rolls_are_as_wide_as_their_film_and_offcuts_as_they_are():
    film = a_film(stock=(*rolls(3000), offcut("k1", 400, 300)))
    roll, cut = problem_of([], film).stock
    assert (roll.kind, roll.width_mm, roll.length_mm, roll.margin_mm) == (
        "roll",
        1000,
        3000,
        10,
    )
    assert (cut.kind, cut.width_mm, cut.length_mm) == ("offcut", 300, 400)


def test_every_film_of_the_job_has_a_problem():
    plan = plan_of([piece("g1", box(0, 0, 9, 9), film="f2")], [a_film(), a_film("f2")])
    assert [len(p.items) for p in film_problems(plan)] == [0, 1]


class TestFingerprint:
    shape = Polygon([(0, 0), (100, 20), (30, 60)])

    def print_of(self, shape=None, film=None, **kw):
        return problem_of([shape or self.shape], film, **kw).fingerprint

    def test_is_the_same_for_the_same_pieces_wherever_the_ring_starts(self):
        coords = list(self.shape.exterior.coords)[:-1]
        again = Polygon(coords[1:] + coords[:1])
        assert self.print_of() == self.print_of(again)
        assert len(self.print_of()) == 64

    def test_survives_noise_in_the_last_digits(self):
        noisy = Polygon([(x + 1e-11, y - 1e-11) for x, y in self.shape.exterior.coords])
        assert self.print_of() == self.print_of(noisy)

    def test_survives_noise_on_the_grid_that_inputs_are_rounded_to(self):
        on_grid = Polygon([(0.0005, 0.0005), (100.0015, 20.0005), (30.0005, 60.0025)])
        noisy = Polygon([(x - 1e-12, y + 1e-12) for x, y in on_grid.exterior.coords])
        assert self.print_of(on_grid) == self.print_of(noisy)

    @pytest.mark.parametrize(
        "change",
        [
            {"shape": Polygon([(0, 0), (100, 20.01), (30, 60)])},
            {"gap_mm": 6.0},
            {"tries": 2},
            {"film": a_film(roll_width_mm=1001.0)},
            {"film": a_film(edge_margin_mm=11.0)},
            {"film": a_film(stock=rolls(500))},
            {"film": a_film(grain=Grain.ONE_WAY)},
        ],
        ids=["shape", "gap", "tries", "width", "margin", "stock", "grain"],
    )
    def test_changes_with_all_that_decides_the_layout(self, change):
        assert self.print_of(**change) != self.print_of()


@pytest.mark.parametrize(
    ("shape", "fault"),
    [
        (box(0, 0, 10, 10), None),
        (Polygon(), "no outline"),
        (Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]), "crosses"),
        (no_number_shape(), "no number"),
    ],
)
def test_broken_outlines_are_told(shape, fault):
    found = outline_fault(problem_of([shape]).items[0])
    assert found is None if fault is None else found is not None and fault in found

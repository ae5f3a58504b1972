from itertools import pairwise

import pytest

from core.progress import Silent
from core.read.joining import Run, join, without_straight_nodes
from core.read.strokes import Segment


def line(*points, layer="0", order=0, is_closed=False, is_filled=False):
    segments = tuple(Segment(complex(*a), None, None, complex(*b)) for a, b in pairwise(points))
    return Run(segments, layer, "", order, is_closed=is_closed, is_filled=is_filled)


def joined(*runs, tolerance=0.1):
    return join(list(runs), tolerance, Silent())


def corners(loop):
    return [s.start for s in loop.segments]


def test_lines_in_any_order_and_direction_make_one_loop():
    made = joined(
        line((0, 0), (10, 0)),
        line((0, 5), (10, 5)),
        line((10, 5), (10, 0)),
        line((0, 0), (0, 5)),
    )
    (loop,) = made.loops
    assert set(corners(loop)) == {0, 10, 10 + 5j, 5j}
    assert not made.gaps
    assert not made.open_chains
    assert all(a.end == b.start for a, b in zip(loop.segments, loop.segments[1:], strict=False))
    assert loop.segments[-1].end == loop.segments[0].start


def test_gaps_within_the_tolerance_are_closed_in_the_middle_and_told():
    made = joined(line((0, 0), (10, 0), (10, 5)), line((10, 5.08), (0, 5), (0, 0)))
    (loop,) = made.loops
    assert 10 + 5.04j in corners(loop)
    (gap,) = made.gaps
    assert gap.gap_mm == pytest.approx(0.08)
    assert gap.at == pytest.approx(10 + 5.04j)


def test_gaps_that_nobody_sees_are_not_told():
    made = joined(line((0, 0), (10, 0), (10, 5)), line((10, 5.000001), (0, 5), (0, 0)))
    assert len(made.loops) == 1
    assert not made.gaps


@pytest.mark.parametrize(("tolerance", "loops"), [(0.1, 0), (0.5, 1)])
def test_wider_gaps_stay_open_until_the_tolerance_spans_them(tolerance, loops):
    made = joined(
        line((0, 0), (10, 0), (10, 5)), line((10, 5.4), (0, 5), (0, 0)), tolerance=tolerance
    )
    assert len(made.loops) == loops
    if not loops:
        (chain,) = made.open_chains
        assert chain.gap_mm == pytest.approx(0.4)
        assert chain.at in (10 + 5j, 10 + 5.4j)
        assert chain.count == 2


def test_no_tolerance_joins_ends_that_are_the_same():
    made = joined(line((0, 0), (10, 0), (10, 5)), line((10, 5), (0, 0)), tolerance=0)
    assert len(made.loops) == 1


def test_of_several_ends_the_nearest_is_taken():
    made = joined(
        line((0, 0), (10, 0), (10, 5)),
        line((10, 5.02), (0, 5), (0, 0)),
        line((10, 5.09), (40, 40)),
    )
    assert len(made.loops) == 1
    assert made.gaps[0].gap_mm == pytest.approx(0.02)
    assert len(made.open_chains) == 1


def test_a_small_loop_whose_own_ends_meet_is_not_torn_by_the_tolerance():
    bow = line((0, 0), (10, 0), (10, 10), (0.05, 0.05))
    made = joined(bow)
    assert len(made.loops) == 1
    assert len(made.gaps) == 1


def test_a_run_shorter_than_the_tolerance_joins_its_neighbours_not_itself():
    made = joined(
        line((0, 0), (10, 0), (10, 5)),
        line((10, 5), (10, 5.05)),
        line((10, 5.05), (0, 5), (0, 0)),
    )
    assert len(made.loops) == 1
    assert not made.open_chains


def test_layers_are_joined_each_by_itself():
    made = joined(
        line((0, 0), (10, 0), (10, 5), layer="A"), line((10, 5), (0, 5), (0, 0), layer="B")
    )
    assert not made.loops
    assert len(made.open_chains) == 2


def test_a_line_drawn_twice_counts_once():
    made = joined(
        line((0, 0), (10, 0), (10, 5)),
        line((10, 5), (10, 0), (0, 0)),
        line((10, 5), (0, 5), (0, 0)),
    )
    assert len(made.loops) == 1
    assert made.doubled == 1


def test_a_filled_open_run_is_closed_by_its_fill_and_counted():
    made = joined(line((0, 0), (10, 0), (10, 5), is_filled=True))
    (loop,) = made.loops
    assert corners(loop) == [0, 10, 10 + 5j]
    assert made.closed_by_fill == 1
    assert not joined(line((0, 0), (10, 0), (10, 5))).loops


def test_a_filled_line_is_still_joined_to_its_neighbours_first():
    made = joined(
        line((0, 0), (10, 0), (10, 5), is_filled=True),
        line((10, 5), (0, 5), (0, 0), is_filled=True),
    )
    assert len(made.loops) == 1
    assert made.closed_by_fill == 0
    assert not joined(line((0, 0), (10, 0), is_filled=True)).loops


def test_loops_come_in_the_order_of_the_file():
    made = joined(
        line((0, 0), (9, 0), (9, 9), order=0),
        line((50, 0), (59, 0), (59, 9), order=1, is_closed=True),
        line((9, 9), (0, 0), order=2),
    )
    assert [loop.order for loop in made.loops] == [0, 1]


def test_nodes_on_a_straight_line_are_left_out():
    ring = [(0, 0), (5, 0), (10, 0), (10, 5), (10, 9), (0, 9), (0, 4)]
    run = line(*ring, ring[0])
    kept = without_straight_nodes(list(run.segments))
    assert [s.start for s in kept] == [0, 10, 10 + 9j, 9j]


def test_nodes_a_hair_off_the_line_stay():
    ring = [(0, 0), (5, 0.002), (10, 0), (10, 5)]
    kept = without_straight_nodes(list(line(*ring, ring[0]).segments))
    assert len(kept) == 4


def test_a_spike_is_not_straightened():
    ring = [(0, 0), (10, 0), (5, 0), (5, 5)]
    kept = without_straight_nodes(list(line(*ring, ring[0]).segments))
    assert [s.start for s in kept] == [0, 10, 5, 5 + 5j]


def test_many_short_steps_do_not_add_up_to_a_bend_that_is_lost():
    # Each node is 0.0005 mm off the line of its neighbours; the whole is an arc of 5 mm.
    points = [(x / 10, x * x * 1e-5) for x in range(600)]
    ring = [*points, (30, 90)]
    kept = without_straight_nodes(list(line(*ring, ring[0]).segments))
    assert 10 < len(kept) < 500
    ends = [s.start for s in kept]
    for x, y in points:
        nearest = min(
            abs(complex(x, y) - a - (b - a) * max(0, min(1, share(complex(x, y), a, b))))
            for a, b in zip(ends, [*ends[1:], ends[0]], strict=True)
        )
        assert nearest <= 1e-3 + 1e-9


def share(p, a, b):
    return ((p - a) / (b - a)).real

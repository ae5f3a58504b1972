"""Matching edges to the segments that they lie on."""

from itertools import pairwise

import numpy as np
import pytest

from core.geometry.segment_match import match_segments


def segments(*pairs):
    array = np.array(pairs, dtype=float)
    return array[:, 0], array[:, 1]


SQUARE = segments(((0, 0), (9, 0)), ((9, 0), (9, 9)), ((9, 9), (0, 9)), ((0, 9), (0, 0)))


@pytest.mark.parametrize("only_split", [False, True])
def test_whole_edges_find_themselves_in_either_direction(only_split):
    edges = segments(((0, 9), (0, 0)), ((9, 0), (0, 0)), ((9, 9), (9, 0)), ((0, 9), (9, 9)))
    assert match_segments(edges, SQUARE, only_split=only_split).tolist() == [3, 0, 1, 2]


@pytest.mark.parametrize("only_split", [False, True])
def test_parts_find_their_whole(only_split):
    edges = segments(
        ((0, 0), (2, 0)), ((2, 0), (9, 0)), ((9, 0), (9, 9)), ((9, 9), (0, 9)), ((0, 9), (0, 0))
    )
    assert match_segments(edges, SQUARE, only_split=only_split).tolist() == [0, 0, 1, 2, 3]


@pytest.mark.parametrize("parts", [3, 5, 9])
def test_the_middle_of_an_evenly_split_segment_does_not_use_it_up(parts):
    bottom = np.linspace(0, 9, parts + 1)
    edges = segments(
        *(((a, 0), (b, 0)) for a, b in pairwise(bottom)),
        ((9, 0), (9, 9)), ((9, 9), (0, 9)), ((0, 9), (0, 0)),
    )  # fmt: skip
    found = match_segments(edges, SQUARE, only_split=True).tolist()
    assert found == [0] * parts + [1, 2, 3]


def test_the_nearest_is_found_for_an_edge_that_lies_on_none():
    edges = segments(((1, 0.3), (2, 0.3)), ((8.9, 4), (8.9, 5)))
    assert match_segments(edges, SQUARE, only_split=False).tolist() == [0, 1]


def test_of_equal_segments_the_first_is_found():
    twice = segments(((0, 0), (9, 0)), ((9, 0), (0, 0)), ((0, 0), (0, 9)))
    assert match_segments(segments(((9, 0), (0, 0))), twice, only_split=True).tolist() == [0]


def test_two_segments_of_one_midpoint_are_told_apart():
    cross = segments(((0, 0), (10, 10)), ((0, 10), (10, 0)))
    edges = segments(((10, 0), (0, 10)), ((10, 10), (0, 0)))
    assert match_segments(edges, cross, only_split=True).tolist() == [1, 0]

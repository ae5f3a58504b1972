"""Seams proposed on a domed hood: judged by code that the search does not share."""

import itertools

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from core.errors import Cancelled
from core.progress import Silent
from core.shape.developing import develop
from core.shape.mesh import network_of_mesh
from core.shape.metric import metric_of
from core.shape.model import Window
from core.shape.proposals import proposing
from core.shape.proposals.bending import shortest_way
from core.shape.proposals.costs import Ground, StripCosts
from core.shape.proposals.families import (
    along,
    bent_families,
    shortest_families,
    straight_families,
)
from core.shape.proposals.model import LineKind, ProposedLine, Question
from core.shape.proposals.partition import POSITIONS, Partition
from core.shape.proposals.proposing import propose
from core.shape.proposals.relief import relief_cuts
from core.shape.proposals.telling import told
from core.shape.relief import opened
from helpers.surfaces import brim, cap, cylinder
from sample_projects.domed_hood import hood_mesh

RINGS = 24


@pytest.fixture(scope="module")
def hood():
    return network_of_mesh(*hood_mesh(RINGS))


@pytest.fixture(scope="module")
def outline(hood):
    return Polygon(hood.at[-6 * RINGS :])


@pytest.fixture(scope="module")
def answer(hood, outline):
    return propose(Question(hood, outline, Window(2, 5)))


def run_on(edge):
    points = np.asarray(edge.coords)
    first, last = points[0] - points[1], points[-1] - points[-2]
    first, last = first / np.hypot(*first), last / np.hypot(*last)
    return LineString([points[0] + 60 * first, *points[1:-1], points[-1] + 60 * last])


def judged(hood, outline, proposal):
    """Judge the pieces that a proposal's lines make, cut out anew."""
    edges = []
    for line in proposal.lines:
        if line.kind is LineKind.STRIPE:
            half = line.width_mm / 2
            edges += [line.path.offset_curve(half), line.path.offset_curve(-half)]
        else:
            edges.append(line.path)
    if proposal.lines[0].kind is LineKind.RELIEF:
        return [develop(hood, opened(outline, edges)).range_pct]
    longer = [run_on(edge) for edge in edges]
    faces = shapely.polygonize([shapely.union_all([outline.boundary, *longer])])
    return [develop(hood, f).range_pct for f in shapely.get_parts(faces) if f.area > 500]


def test_one_piece_fails_and_three_proposals_bring_it_under(hood, outline, answer):
    assert answer.needs_seam
    assert answer.whole_pct > 2 * answer.limit_pct
    assert len([p for p in answer.proposals if p.lines[0].kind is not LineKind.RELIEF]) == 3
    for proposal in answer.proposals:
        assert proposal.can_lay
        ranges = judged(hood, outline, proposal)
        assert len(ranges) == proposal.pieces
        assert max(ranges) == pytest.approx(proposal.worst_range_pct, rel=0.05, abs=0.1)
        assert max(ranges) <= answer.limit_pct


def test_a_stripe_says_what_it_stands_in_for_only_where_that_lies():
    seam = ProposedLine(LineKind.SEAM, LineString([(0, 0), (0, 9)]))
    stripe = ProposedLine(LineKind.STRIPE, LineString([(5, 0), (5, 9)]), 90.0)

    def words(*lines, alone, worst=3.0):
        return told(lines, "aslant", [worst, 1.0], 4.0, alone=alone).partition(":")[0]

    less = "A stripe of 90 mm and 1 seam, aslant (without the stripe, 2 seams that way)"
    assert words(stripe, seam, alone=2) == less
    bare = "A stripe of 90 mm and 1 seam, aslant"
    assert words(stripe, seam, alone=1) == bare
    assert words(stripe, seam, alone=0) == bare, "no seams alone of its kind let it lie"
    assert words(stripe, seam, alone=2, worst=5.0) == bare, "it does not lie itself"


def test_proposals_differ_and_say_what_they_need(answer):
    kinds = [frozenset(line.kind for line in p.lines) for p in answer.proposals]
    assert len(set(kinds)) == 3  # seams, a stripe with seams, relief cuts
    for proposal in answer.proposals:
        assert f"{proposal.worst_range_pct:.1f} %" in proposal.sentence
        assert "can lie" in proposal.sentence


def test_lines_run_from_rim_to_rim_by_few_nodes(outline, answer):
    for line in (line for p in answer.proposals for line in p.lines):
        start, end = Point(line.path.coords[0]), Point(line.path.coords[-1])
        assert outline.exterior.distance(start) < 0.2
        if line.kind is not LineKind.RELIEF:
            assert outline.exterior.distance(end) < 0.2
        assert len(line.path.coords) <= 12


def test_what_lies_in_one_piece_gets_no_seam():
    tube = network_of_mesh(*cylinder(around=10, along=8))
    area = box(*(tube.at.min(axis=0) + 5), *(tube.at.max(axis=0) - 5))
    answer = propose(Question(tube, area, Window(0.5, 0.5)))
    assert answer.proposals == ()
    assert not answer.needs_seam


def test_well_placed_strips_need_no_more_than_even_ones(hood, outline):
    family = straight_families(outline)[0]
    costs = StripCosts(Ground(hood, outline, (outline,)), family, Silent())
    even = np.linspace(family.low, family.high, 4)
    worst = max(costs.range_between(a, b) for a, b in itertools.pairwise(even))
    placed = Partition(costs, family, 7.0).least_worst(3)
    assert len(placed.numbers) == 2
    assert placed.worst_pct < worst


class Square:
    """Made-up costs: a piece of width w needs w², and seams are longest in the middle."""

    def range_between(self, low, high, _enough):
        return (high - low) ** 2

    def seam_mm(self, number):
        return 100 - abs(number)


@pytest.mark.parametrize("limit", [9.0, 30.0, 101.0, 400.0])
def test_partition_is_as_good_as_trying_all(outline, limit):
    family = straight_families(box(-10, -10, 10, 10))[0]
    partition = Partition(Square(), family, limit)
    at = np.linspace(family.low, family.high, POSITIONS + 2)
    pieces = int(np.ceil((family.high - family.low) / limit**0.5 - 1e-9))
    count = len(partition.coarse()) - 1
    step = at[1] - at[0]
    assert count == int(np.ceil((POSITIONS + 1) / max(int(limit**0.5 / step + 1e-9), 1)))
    assert count >= pieces
    cuts = partition.fewest()
    assert len(cuts.numbers) == count - 1
    assert cuts.worst_pct <= limit
    if count == 3:
        best = min(
            max((b - at[0]) ** 2, (c - b) ** 2, (at[-1] - c) ** 2)
            for b, c in itertools.combinations(at[1:-1], 2)
        )
        assert cuts.worst_pct <= best * 1.2


def test_no_number_of_pieces_is_said(outline):
    family = straight_families(box(-10, -10, 10, 10))[0]
    assert Partition(Square(), family, 0.01).coarse() is None
    assert Partition(Square(), family, 0.01).fewest() is None


def test_families_run_as_they_say(hood, outline):
    # An arc of 500 mm radius about (0, -600): lines beside it are arcs about the same point,
    # and numbers rise to its right, which is outwards.
    angles = np.radians(np.linspace(60, 120, 31))
    arc = LineString(np.column_stack((500 * np.cos(angles), 500 * np.sin(angles) - 600)))
    own = along(outline, arc, "own")
    for number in (-90.0, 0.0, 140.0):
        inside = own.line_at(number).intersection(outline.buffer(-90))
        points = np.asarray(shapely.segmentize(inside, 10.0).coords)
        near = np.abs(points[:, 0]) < 180
        radii = np.hypot(points[near, 0], points[near, 1] + 600)
        assert near.sum() > 20
        assert radii == pytest.approx(500 + number, abs=1.0)
        assert own.value_at(points[near]) == pytest.approx(number, abs=1.0)
    for family in bent_families(hood, outline):
        for share in (0.2, 0.5, 0.8):
            number = family.low + share * (family.high - family.low)
            line = family.line_at(number)
            inside = np.asarray(line.intersection(outline.buffer(-20)).coords)
            assert family.value_at(inside) == pytest.approx(number, abs=0.02)


def test_the_shortest_way_over_a_ball_is_a_great_circle():
    # On a sphere of radius R an arc between two places at distance c from the pole, d degrees
    # apart about it, is R·arccos(cos²c + sin²c·cos d) (spherical law of cosines).
    ball = network_of_mesh(*cap(40, rings=40))
    ring = 1 + 3 * 30 * 29  # the first vertex of the 30th ring
    a, b = ball.at[ring], ball.at[ring + 60]
    c, d = np.radians(30), np.radians(120)
    true = 300 * np.arccos(np.cos(c) ** 2 + np.sin(c) ** 2 * np.cos(d))
    metric = metric_of(ball)
    straight = LineString([a, b])
    way = np.asarray(shapely.segmentize(shortest_way(metric, straight), 5.0).coords)
    length = metric.lengths(way[:-1], way[1:]).sum()
    assert length == pytest.approx(true, rel=2e-3)


def test_relief_cuts_open_the_rim_and_lower_the_range(hood, outline):
    cuts = relief_cuts(hood, outline, 4, 0.5)
    piece = opened(outline, cuts)
    assert piece.area > 0.998 * outline.area
    assert piece.exterior.length > outline.exterior.length + 1.9 * sum(c.length for c in cuts)
    assert develop(hood, piece).range_pct < 0.6 * develop(hood, outline).range_pct


def upright(*places):
    return tuple(LineString([(x, -500), (x, 500)]) for x in places)


def test_drawn_seams_that_are_enough_are_proposed_as_they_are(hood, outline):
    drawn = upright(-130, 130)
    answer = propose(Question(hood, outline, Window(2, 5), own_lines=drawn, hiding=drawn))
    (proposal,) = answer.proposals
    assert answer.needs_seam  # in one piece, that is
    assert proposal.lines == ()
    assert [line.bounds[0] for line in proposal.drawn] == [-130, 130]
    assert all(outline.buffer(0.01).contains(line) for line in proposal.drawn)
    assert proposal.pieces == 3
    assert proposal.can_lay
    assert proposal.seam_mm == 0
    assert "drawn already are enough: 3 pieces" in proposal.sentence
    faces = shapely.polygonize([shapely.union_all([outline.boundary, *drawn])])
    worst = max(develop(hood, f).range_pct for f in shapely.get_parts(faces) if f.area > 500)
    assert proposal.worst_range_pct == pytest.approx(worst, rel=0.05)


def test_a_drawn_stripe_counts_as_a_piece_and_what_lies_is_left_alone(hood, outline):
    edges = upright(-45, 45)
    stripe = Question(hood, outline, Window(3, 8), own_lines=edges, hiding=edges)
    (proposal,) = propose(stripe).proposals
    assert proposal.pieces == 3
    # With one seam off the middle, only the wider part is divided further, once.
    one = Question(hood, outline, Window(2, 5), own_lines=upright(-130))
    search = proposing._Search(one, Silent())
    (face,) = search._ground.faces
    assert face.bounds[0] == pytest.approx(-130, abs=0.1)
    (family,) = search._own_families()
    found = Partition(StripCosts(search._ground, family, Silent()), family, search._goal)
    cuts = found.coarse()
    assert len(cuts) == 3
    # Beside a shape set in the panel, closed as it is, no seams are sought.
    ring = LineString(Point(0, 0).buffer(80).exterior.coords)
    inlay = proposing._Search(
        Question(hood, outline, Window(2, 5), own_lines=(ring,)), Silent()
    )
    assert inlay._own_families() == []
    assert len(inlay._ground.faces) == 1
    # Along the line itself there is nothing new to draw.
    assert search._within(family.line_at(0.0)) == []
    (new,) = search._within(family.line_at(cuts[1]))
    assert new.length > 500


def test_beside_a_curved_line_one_seam_does_what_straight_ones_cannot():
    vertices, triangles, ways = brim()
    ring = network_of_mesh(vertices, triangles)
    rows = ring.at.reshape(len(ways), -1, 2)
    rim = np.vstack((rows[0], rows[1:, -1], rows[-1, -2::-1], rows[-2:0:-1, 0]))
    area = Polygon(rim).buffer(-2)
    window = Window(1, 2.5)
    assert develop(ring, area).range_pct > 4 * window.range_pct
    # The user's line, a circle too, runs 100 mm from where the bend begins.
    drawn = LineString(rows[np.argmin(np.abs(ways - 100))])
    ground = Ground(ring, area, (area,))

    def strips(family, most):
        costs = StripCosts(ground, family, Silent())
        return Partition(costs, family, 0.97 * window.range_pct).coarse(most)

    family = along(area, drawn, "own")
    low, seam, high = strips(family, 2)
    pieces = StripCosts(ground, family, Silent())
    parts = [*pieces.pieces_between(low, seam), *pieces.pieces_between(seam, high)]
    assert len(parts) == 2
    assert max(develop(ring, part).range_pct for part in parts) <= window.range_pct
    assert all(strips(straight, 2) is None for straight in straight_families(area))
    # It is the bend that the seam runs in, not the line.
    off = shapely.distance(
        family.line_at(seam), shapely.points(rows[np.argmin(np.abs(ways - 231))])
    )
    assert off.mean() < 25
    # Shortest ways that are drawn to where the surface curves most find it without the line.
    curved = shortest_families(ring, area, straight_families(area)[0])[1]
    assert len(strips(curved, 2)) == 3


def test_where_nothing_is_enough_the_nearest_is_said(hood, outline):
    answer = propose(Question(hood, outline, Window(0.02, 0.02)))
    (nearest,) = answer.proposals
    assert not nearest.can_lay
    assert nearest.pieces == 5
    assert "still too much" in nearest.sentence
    assert nearest.worst_range_pct < answer.whole_pct / 3


def test_a_seam_is_hidden_along_what_hides_it(hood, outline):
    ridge = LineString([(100, -300), (100, 0)])
    question = Question(hood, outline, Window(2, 5), hiding=(ridge,))
    search = proposing._Search(question, Silent())
    along, across = LineString([(105, -300), (105, 300)]), LineString([(-300, 50), (300, 50)])
    assert search._hidden(along) == pytest.approx(0.5, abs=0.03)
    assert search._hidden(across) == 0.0


def test_the_search_can_be_stopped(hood, outline):
    class Stopped(Silent):
        def is_cancelled(self):
            return True

    with pytest.raises(Cancelled):
        propose(Question(hood, outline, Window(2, 5)), Stopped())

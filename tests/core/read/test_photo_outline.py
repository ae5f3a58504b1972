"""Outlines found in synthetic photos, against the shape that was photographed."""

import numpy as np
import pytest
import shapely

from core.document.flatten import flatten
from core.errors import Cancelled, ImportFailed
from core.read.photo import Picture
from core.read.photo_flat import FlatPhoto, make_flat
from core.read.photo_methods import scale_by_board, scale_by_rectangle
from core.read.photo_outline import find_shape
from core.read.photo_trace import fitted_tracing
from helpers.synthetic_photo import FRAME, Sheet, ring_of, side_panel, small_shot

PART, HOLES = side_panel()


def _around(scale, shot, margin=30.0):
    mm = scale.to_mm(shot.px_of(ring_of(PART)))
    return (*(mm.min(axis=0) - margin), *(mm.max(axis=0) + margin))


def _laid_on(found, truth, seen):
    """Move and turn what was found onto the true frame, as its places were seen."""
    a, b = seen - seen.mean(axis=0), truth - truth.mean(axis=0)
    u, _, v = np.linalg.svd(a.T @ b)
    return (found - seen.mean(axis=0)) @ (u @ v) + truth.mean(axis=0)


def _off(found, path, scale, shot):
    """Distances of found points to the true outline, mm; only the frame is fitted."""
    truth = ring_of(path)
    whole = ring_of(PART)
    laid = _laid_on(found, whole, scale.to_mm(shot.px_of(whole)))
    return shapely.distance(shapely.LinearRing(truth), shapely.points(laid))


def _p95(values):
    return float(np.percentile(values, 95))


@pytest.fixture(scope="module")
def by_board(hard_shot, hard_picture):
    scale = scale_by_board(hard_picture)
    flat = make_flat(hard_picture, scale)
    return scale, find_shape(flat, _around(scale, hard_shot), scale.clutter)


def test_by_board_in_strong_shadow_the_outline_is_good_to_half_a_millimetre(
    by_board, hard_shot
):
    scale, found = by_board
    assert _p95(_off(found.rim, PART, scale, hard_shot)) <= 0.3
    tracing = fitted_tracing(found, 0.5)
    assert len(tracing.outline) <= 16
    fitted = flatten(tracing.outline, closed=True)
    assert _p95(_off(fitted, PART, scale, hard_shot)) <= 0.5


def test_openings_are_found_as_such(by_board, hard_shot):
    scale, found = by_board
    assert len(found.holes) == 2
    for hole in found.holes:
        assert min(_p95(_off(hole, true, scale, hard_shot)) for true in HOLES) <= 0.3
    assert found.faint_pct < 5


def test_by_four_corners_the_outline_is_good_to_a_millimetre(plain_shot, plain_picture):
    corners = plain_shot.px_of(FRAME) + np.random.default_rng(3).normal(0, 0.4, (4, 2))
    scale = scale_by_rectangle(plain_picture, [tuple(c) for c in corners], 920.0, 540.0)
    flat = make_flat(plain_picture, scale)
    found = find_shape(flat, _around(scale, plain_shot))
    fitted = flatten(fitted_tracing(found, 0.5).outline, closed=True)
    assert _p95(_off(fitted, PART, scale, plain_shot)) <= 1.0


@pytest.mark.parametrize("margin", [12.0, 45.0])
def test_the_rough_rectangle_may_be_tight_or_wide(margin, plain_shot, plain_picture):
    scale = scale_by_board(plain_picture)
    flat = make_flat(plain_picture, scale)
    found = find_shape(flat, _around(scale, plain_shot, margin), scale.clutter)
    assert _p95(_off(found.rim, PART, scale, plain_shot)) <= 0.5


def test_a_sheet_that_lies_on_the_part_is_no_opening():
    shot = small_shot(sheets=(Sheet(1, (0.0, -20.0), 90.0),))
    picture = Picture("x", shot.pixels)
    scale = scale_by_board(picture)
    flat = make_flat(picture, scale)
    found = find_shape(flat, _around(scale, shot), scale.clutter)
    assert len(found.holes) == 2
    seen = shapely.LinearRing(scale.to_mm(shot.px_of(ring_of(PART))))
    assert _p95(shapely.distance(seen, shapely.points(found.rim))) <= 0.3


def test_the_same_photo_gives_the_same_outline(plain_shot, plain_picture):
    scale = scale_by_board(plain_picture)
    flat = make_flat(plain_picture, scale)
    one, two = (find_shape(flat, _around(scale, plain_shot), scale.clutter) for _ in "ab")
    assert np.array_equal(one.rim, two.rim)


def _plain_flat(colour=(180, 176, 170)):
    pixels = np.full((600, 800, 3), colour, np.uint8)
    return FlatPhoto(pixels, 0.5, 0.0, 300.0)


def test_where_nothing_stands_out_that_is_told():
    with pytest.raises(ImportFailed, match="Nothing stands out"):
        find_shape(_plain_flat(), (50.0, 50.0, 350.0, 250.0))


def test_a_rectangle_outside_the_photo_is_told():
    with pytest.raises(ImportFailed, match="rectangle"):
        find_shape(_plain_flat(), (900.0, 900.0, 901.0, 901.0))


class Told:
    """A listener that notes what it is told, and stops after so many steps."""

    def __init__(self, most=1000):
        self.steps, self.most = [], most

    def tell(self, progress):
        self.steps.append(progress)

    def is_cancelled(self):
        return len(self.steps) >= self.most


@pytest.mark.parametrize("after", [0, 5])
def test_it_can_be_stopped_at_any_step(plain_shot, plain_picture, after):
    scale = scale_by_board(plain_picture)
    flat = make_flat(plain_picture, scale)
    told = Told(after)
    with pytest.raises(Cancelled):
        find_shape(flat, _around(scale, plain_shot), scale.clutter, told)
    assert len(told.steps) == after


def test_it_tells_how_far_it_is(plain_shot, plain_picture):
    scale = scale_by_board(plain_picture)
    flat = make_flat(plain_picture, scale)
    told = Told()
    find_shape(flat, _around(scale, plain_shot), scale.clutter, told)
    shares = [step.share for step in told.steps]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1] < 1) == (0.0, True)
    assert len({step.words for step in told.steps}) == 2

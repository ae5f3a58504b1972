"""The scale of photos, on synthetic ones of which every place is known."""

import math

import cv2
import numpy as np
import pytest

from core.errors import ImportFailed, InputError
from core.read.photo import Picture
from core.read.photo_board import SheetSeen, find_sheets
from core.read.photo_board_layout import crossings_mm
from core.read.photo_flat import make_flat
from core.read.photo_methods import (
    LENS_NOTE,
    scale_by_board,
    scale_by_length,
    scale_by_rectangle,
    scale_by_sheets,
)
from core.read.photo_scale import bent, straightened, turned
from helpers.synthetic_photo import FRAME, TWO_SHEETS, Camera, Sheet, small_shot, view_of

CROSS = ((-400.0, 0.0), (400.0, 0.0), (0.0, -200.0), (0.0, 200.0))


def _lengths_off(scale, shot):
    """How far the known lengths of the cross come out wrong, mm."""
    a, b, c, d = scale.to_mm(shot.px_of(CROSS))
    return abs(math.dist(a, b) - 800), abs(math.dist(c, d) - 400)


def _blurred(shot, sigma):
    return Picture("blurred.jpg", cv2.GaussianBlur(shot.pixels, (0, 0), sigma))


def test_sheets_are_found_with_all_their_crossings(plain_picture):
    sheets = find_sheets(plain_picture)
    assert sorted((s.sheet, len(s.ids)) for s in sheets) == [(1, 48), (2, 48)]


def test_crossings_lie_where_they_are_to_a_tenth_of_a_pixel(plain_shot, plain_picture):
    """Half a pixel off everywhere is the classic mistake: it would show as a bias."""
    for seen in find_sheets(plain_picture):
        sheet = next(s for s in TWO_SHEETS if s.number == seen.sheet)
        a = math.radians(sheet.turn_deg)
        turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
        true = plain_shot.px_of(seen.mm @ turn + np.array(sheet.at))
        off = seen.px - true
        assert np.abs(off.mean(axis=0)).max() < 0.05
        assert np.sqrt((off**2).mean()) < 0.12


def test_a_board_gives_lengths_through_a_lens_that_bends(hard_shot, hard_picture):
    scale = scale_by_board(hard_picture)
    across, upright = _lengths_off(scale, hard_shot)
    assert across < 0.35
    assert upright < 0.35
    assert scale.residual_mm < 0.1


def test_the_error_that_is_told_holds(hard_shot, hard_picture):
    scale = scale_by_board(hard_picture)
    a, b, *_ = scale.to_mm(hard_shot.px_of(CROSS))
    told = scale.error_mm(tuple(a), tuple(b))
    assert abs(math.dist(a, b) - 800) <= told < 1.0


def _seen(camera, sheet, seed):
    """The crossings of a sheet as a detector with some noise would give them."""
    ids = np.arange(48)
    mm = crossings_mm(ids)
    a = math.radians(sheet.turn_deg)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    noise = np.random.default_rng(seed).normal(0, 0.08, (48, 2))
    return SheetSeen(sheet.number, ids, view_of(camera)(mm @ turn + sheet.at) + noise, mm)


def test_errors_hold_as_often_as_they_say():
    """Sixty cameras with lenses as phones have them: some 95 of 100 errors should hold."""
    random = np.random.default_rng(11)
    held = []
    for seed in range(60):
        camera = Camera(
            k1=random.normal(0, 0.12),
            tilt_deg=random.uniform(2, 25),
            swing_deg=random.uniform(0, 360),
        )
        sheet = Sheet(1, (random.uniform(-200, 200), random.uniform(-150, 150)), 30.0)
        picture = Picture("x", np.zeros((3000, 4000, 3), np.uint8))
        scale = scale_by_sheets([_seen(camera, sheet, seed)], picture)
        a, b, *_ = scale.to_mm(view_of(camera)(CROSS))
        held.append(abs(math.dist(a, b) - 800) <= scale.error_mm(tuple(a), tuple(b)))
    assert np.mean(held) >= 0.88


def test_more_sheets_make_it_surer(plain_picture):
    sheets = find_sheets(plain_picture)
    one = scale_by_sheets(sheets[:1], plain_picture)
    two = scale_by_sheets(sheets, plain_picture)
    places = (-400.0, 300.0), (400.0, 300.0)
    assert two.error_mm(*places) < one.error_mm(*places) / 2


def test_up_in_the_photo_is_up_on_the_ground(plain_shot, plain_picture):
    scale = scale_by_board(plain_picture)
    low, high = scale.to_mm(plain_shot.px_of([(0.0, -200.0), (0.0, 200.0)]))
    assert high[1] - low[1] > 380


def test_a_check_line_that_came_out_short_shrinks_everything(plain_shot, plain_picture):
    whole = scale_by_board(plain_picture).to_mm(plain_shot.px_of(CROSS[:2]))
    short = scale_by_board(plain_picture, check_line_mm=98.0).to_mm(plain_shot.px_of(CROSS[:2]))
    assert math.dist(*short) / math.dist(*whole) == pytest.approx(0.98, rel=1e-6)


def test_a_check_line_of_another_kind_is_refused(plain_picture):
    with pytest.raises(InputError, match="check line"):
        scale_by_board(plain_picture, check_line_mm=10.0)


def test_four_corners_give_lengths(plain_shot, plain_picture):
    corners = [tuple(p) for p in plain_shot.px_of(FRAME)]
    scale = scale_by_rectangle(plain_picture, corners, 920.0, 540.0)
    assert max(_lengths_off(scale, plain_shot)) < 0.01


def test_four_corners_tell_that_the_lens_was_not_measured(hard_shot, hard_picture):
    """Uncorrected distortion is told: the error includes it, and the note says so."""
    corners = [tuple(p) for p in hard_shot.px_of(FRAME)]
    scale = scale_by_rectangle(hard_picture, corners, 920.0, 540.0)
    off = max(_lengths_off(scale, hard_shot))
    a, b, *_ = scale.to_mm(hard_shot.px_of(CROSS))
    assert off > 1.0, "the lens does bend this photo"
    assert scale.error_mm(tuple(a), tuple(b)) > off
    assert LENS_NOTE in scale.notes
    assert scale.residual_mm is None, "nothing was measured twice, so nothing is claimed"


@pytest.mark.parametrize("order", [(1, 0, 2, 3), (3, 2, 1, 0), (0, 0, 1, 2)])
def test_corners_in_a_wrong_order_are_refused(order, plain_shot, plain_picture):
    corners = plain_shot.px_of(FRAME)
    with pytest.raises(InputError, match="go round"):
        scale_by_rectangle(plain_picture, [tuple(corners[i]) for i in order], 920.0, 540.0)


def test_one_length_is_right_when_the_photo_is_square_on():
    shot = small_shot(tilt_deg=0.0, sheets=(), height_mm=1050.0)
    a, b = shot.px_of(CROSS[:2])
    scale = scale_by_length(Picture("x", shot.pixels), tuple(a), tuple(b), 800.0)
    assert max(_lengths_off(scale, shot)) < 0.01
    assert any("squarely" in note for note in scale.notes)


def test_a_length_without_size_is_refused(plain_picture):
    with pytest.raises(InputError, match="too near"):
        scale_by_length(plain_picture, (100, 100), (105, 100), 500.0)
    with pytest.raises(InputError, match="length between"):
        scale_by_length(plain_picture, (100, 100), (900, 100), 0.0)


def test_no_board_is_told():
    shot = small_shot(sheets=())
    with pytest.raises(ImportFailed, match="No marker board"):
        scale_by_board(Picture("x", shot.pixels))


def test_a_blurred_board_is_told(plain_shot):
    with pytest.raises(ImportFailed, match="marker board"):
        scale_by_board(_blurred(plain_shot, 14.0))


def test_too_little_of_the_board_is_told(plain_shot):
    pixels = plain_shot.pixels.copy()
    for (x, y), seen_mm in ((TWO_SHEETS[0].at, 125.0), (TWO_SHEETS[1].at, 0.0)):
        left, right = x - 200 + seen_mm, x + 200
        cover = [(left, y - 150), (right, y - 150), (right, y + 150), (left, y + 150)]
        px = np.round(plain_shot.px_of(cover)).astype(np.int32)
        cv2.fillPoly(pixels, [px], (180, 176, 170))
    with pytest.raises(ImportFailed, match="Too little of the marker board"):
        scale_by_board(Picture("x", pixels))


def test_a_bent_sheet_is_refused(plain_shot):
    """The photo is stretched on one side only, as a sheet that curls up would show."""
    height, width = plain_shot.pixels.shape[:2]
    across, down = np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32)
    xs, ys = np.meshgrid(across, down)
    wave = (xs + 14 * np.sin(ys / 45)).astype(np.float32)
    pixels = cv2.remap(plain_shot.pixels, wave, ys, cv2.INTER_LINEAR)
    with pytest.raises(ImportFailed, match="off from where"):
        scale_by_board(Picture("x", pixels))


def test_there_and_back_is_the_same_place(hard_picture):
    scale = scale_by_board(hard_picture)
    px = np.array([[50.0, 60.0], [2000.0, 1500.0], [3900.0, 2900.0]])
    assert np.abs(scale.to_px(scale.to_mm(px)) - px).max() < 1e-6


def test_a_quarter_turn_keeps_lengths_and_errors(hard_picture):
    scale = scale_by_board(hard_picture)
    there = turned(scale, 1)
    px = np.array([[900.0, 700.0], [3100.0, 2000.0]])
    (ax, ay), (bx, by) = scale.to_mm(px)
    assert there.to_mm(px) == pytest.approx(np.array([[-ay, ax], [-by, bx]]), abs=1e-6)
    assert there.error_mm((-ay, ax), (-by, bx)) == pytest.approx(
        scale.error_mm((ax, ay), (bx, by)), rel=1e-3
    )


@pytest.mark.parametrize("lens", [(0.0, 0.0), (-0.08, 0.01), (0.12, -0.03)])
def test_straightening_undoes_the_lens(lens):
    places = np.random.default_rng(4).uniform(-0.7, 0.7, (200, 2))
    lens = np.array(lens)
    assert np.abs(bent(straightened(places, lens), lens) - places).max() < 1e-12


def test_the_flat_photo_shows_every_place_where_it_lies(plain_shot, plain_picture):
    """The crossings are looked for again, in the flat photo."""
    scale = scale_by_board(plain_picture)
    flat = make_flat(plain_picture, scale)
    for seen in find_sheets(Picture("flat", flat.pixels)):
        first = next(s for s in find_sheets(plain_picture) if s.sheet == seen.sheet)
        both = {int(i): p for i, p in zip(first.ids, scale.to_mm(first.px), strict=True)}
        off = [flat.to_mm(seen.px)[k] - both[int(i)] for k, i in enumerate(seen.ids)]
        assert np.abs(np.mean(off, axis=0)).max() < 0.02
        assert np.abs(off).max() < 0.15


def test_a_photo_along_the_ground_leaves_out_what_lies_far():
    shot = small_shot(tilt_deg=50.0, swing_deg=0.0, height_mm=1400.0)
    picture = Picture("x", shot.pixels)
    flat = make_flat(picture, scale_by_board(picture))
    left, bottom, right, top = flat.bounds
    assert max(right - left, top - bottom) < 6000

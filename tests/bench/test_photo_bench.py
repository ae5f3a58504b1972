"""What a frame costs over a photo of 12 megapixels, and how long the steps to an outline take.

Run with ``pytest tests/bench/test_photo_bench.py --benchmark-enable --benchmark-only``. The
house's goal is 60 frames a second, 16.7 ms, at the 95th percentile; the figures go to the
benchmark's extra info.
"""

import time

import numpy as np
import pytest
from PySide6.QtCore import QPoint
from PySide6.QtGui import QImage

from app.photo.desk import PhotoDesk
from app.photo.view import PhotoView
from app.theme import LIGHT
from core.read.photo import Picture
from core.read.photo_flat import make_flat
from core.read.photo_methods import scale_by_board
from core.read.photo_outline import find_shape
from core.read.photo_trace import fitted_tracing
from helpers.synthetic_photo import LENS, part_shot, ring_of, side_panel

FRAMES = 90
FRAME_MS = 1000 / 60


@pytest.fixture
def view(qtbot):
    noise = np.random.default_rng(1).integers(0, 255, (3000, 4000, 3), np.uint8)
    view = PhotoView(PhotoDesk(Picture("noise", noise)), LIGHT)
    qtbot.addWidget(view)
    view.resize(1440, 900)
    view.show()
    qtbot.waitExposed(view)
    view.zoom_to_fit()
    return view


def _frames(view, act):
    """Milliseconds of each frame: the act, then the whole viewport painted anew."""
    port = view.viewport()
    image = QImage(port.size(), QImage.Format.Format_RGB32)
    laps = []
    for i in range(FRAMES):
        start = time.perf_counter()
        act(i)
        port.render(image)
        laps.append(1000 * (time.perf_counter() - start))
    return laps


@pytest.mark.parametrize("what", ["pan", "pan close", "zoom"])
def test_frames_over_12_megapixels(benchmark, view, what):
    if what == "pan close":
        view.zoom_by(6)
    acts = {
        "zoom": lambda i: view.zoom_by(1.08 if i % 30 < 15 else 1 / 1.08),
    }
    act = acts.get(what, lambda i: view.scroll_by(QPoint(7 if i % 30 < 15 else -7, 3)))
    laps = benchmark.pedantic(_frames, args=(view, act), rounds=1)
    benchmark.extra_info["median_ms"] = round(float(np.median(laps)), 2)
    benchmark.extra_info["p95_ms"] = round(float(np.percentile(laps, 95)), 2)
    assert np.median(laps) < FRAME_MS


@pytest.fixture(scope="module")
def shot():
    return part_shot(shadow=0.6, height_mm=1050.0, **LENS)


def test_steps_from_photo_to_nodes(benchmark, shot):
    picture = Picture("x", shot.pixels)
    rim = ring_of(side_panel()[0])
    spent = {}

    def timed(name, task, *args):
        start = time.perf_counter()
        answer = task(*args)
        spent[name] = round(time.perf_counter() - start, 2)
        return answer

    def run():
        scale = timed("board_s", scale_by_board, picture)
        flat = timed("flat_s", make_flat, picture, scale)
        mm = scale.to_mm(shot.px_of(rim))
        around = (*(mm.min(axis=0) - 30), *(mm.max(axis=0) + 30))
        found = timed("outline_s", find_shape, flat, around, scale.clutter)
        return timed("nodes_s", fitted_tracing, found, 0.5)

    tracing = benchmark.pedantic(run, rounds=1)
    benchmark.extra_info.update(spent, nodes=len(tracing.outline))
    assert tracing.outline

import re

import numpy as np
import pytest
from shapely import box

from core.errors import ExportFailed
from core.write.drawing import Drawing, Shape, Text, area_runs, closed_run, open_run
from core.write.hpgl import MOST_UNITS, drawing_to_hpgl
from core.write.plotter import Pens
from core.write.stroke_font import stroke_width, text_strokes
from helpers.plotted import CUT, FRAME, LABEL, TICK


def sheet(*shapes, texts=(), extent=(0, 0, 300, 200)):
    return Drawing("Film r1 ", extent, (CUT, TICK, LABEL, FRAME), tuple(shapes), texts)


SQUARE = Shape("CUT", area_runs(box(10, 20, 60, 40)))


def commands(data):
    return [c for c in data.decode("ascii").replace("\n", "").split(";") if c]


def test_a_square_is_what_the_language_says():
    # 0.025 mm a unit: 10 mm is 400 (HP-GL/2 reference, from memory).
    assert commands(drawing_to_hpgl(sheet(SQUARE))) == [
        "IN",
        "DF",
        "PA",
        "SP1",
        "PU2400,800",
        "PD2400,1600,400,1600,400,800,2400,800",
        "PU",
        "PU0,0",
        "SP0",
    ]


def test_the_pen_draws_before_the_knife_and_frames_are_not_drawn():
    tick = Shape("TICK", (open_run([(15, 25), (15, 30)]),))
    frame = Shape("FRAME", area_runs(box(0, 0, 300, 200)))
    got = commands(drawing_to_hpgl(sheet(frame, SQUARE, tick), Pens(cut=7, draw=4)))
    assert got[3:7] == ["SP4", "PU600,1000", "PD600,1200", "PU"]
    assert got[7] == "SP7"
    assert sum(c.startswith("SP") for c in got) == 3


def test_text_is_drawn_never_lettered():
    text = Text("LABEL", "Lid 2, Grün Ж", (20, 30), 5)
    data = drawing_to_hpgl(sheet(SQUARE, texts=(text,)))
    assert b"LB" not in data
    assert set(re.findall(r"[A-Z]+", data.decode())) == {"IN", "DF", "PA", "SP", "PU", "PD"}
    assert data.count(b"PU") > 12


def test_no_command_is_long():
    turns = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    round_ = closed_run(100 + 50 * np.column_stack([np.cos(turns), np.sin(turns)]))
    data = drawing_to_hpgl(sheet(Shape("CUT", (round_,))))
    assert max(len(c) for c in commands(data)) < 500
    assert all(len(line) < 500 for line in data.splitlines())


def test_an_extent_that_starts_elsewhere_is_moved_to_the_origin():
    moved = Shape("CUT", area_runs(box(110, 220, 160, 240)))
    there = drawing_to_hpgl(sheet(moved, extent=(100, 200, 400, 400)))
    assert there == drawing_to_hpgl(sheet(SQUARE))


def test_what_has_no_numbers_in_the_language_is_refused():
    far = MOST_UNITS / 40 + 10
    line = Shape("CUT", (open_run([(0, 0), (far, 0)]),))
    with pytest.raises(ExportFailed, match="sections of at most 209 m"):
        drawing_to_hpgl(sheet(line))


def test_the_same_drawing_gives_the_same_bytes():
    assert drawing_to_hpgl(sheet(SQUARE)) == drawing_to_hpgl(sheet(SQUARE))


# Strokes


def test_capitals_have_the_height_and_start_at_the_base_line():
    for text in ("LID", "Ü", "Ж"):
        points = np.vstack(text_strokes(Text("L", text, (100, 50), 6)))
        assert points[:, 1].min() == pytest.approx(50, abs=0.2)
        if text != "Ü":
            assert points[:, 1].max() == pytest.approx(56, abs=0.2)
        assert points[:, 0].min() >= 100


@pytest.mark.parametrize(("anchor", "share"), [("start", 0), ("middle", 0.5), ("end", 1)])
def test_anchors(anchor, share):
    points = np.vstack(text_strokes(Text("L", "HELLO", (0, 0), 6, anchor=anchor)))
    width = 6 * stroke_width("HELLO")
    assert points[:, 0].min() == pytest.approx(-share * width)
    assert points[:, 0].max() == pytest.approx((1 - share) * width)


def test_turned_text_runs_upwards():
    level = np.vstack(text_strokes(Text("L", "AB", (0, 0), 6)))
    turned = np.vstack(text_strokes(Text("L", "AB", (0, 0), 6, angle_deg=90)))
    assert np.column_stack([-level[:, 1], level[:, 0]]) == pytest.approx(turned)


def test_every_letter_digit_and_sign_of_ascii_differs_from_every_other():
    shapes = {}
    for code in range(33, 127):
        character = chr(code).upper()
        strokes = text_strokes(Text("L", character, (0, 0), 6))
        assert strokes, character
        shapes[character] = tuple(tuple(map(tuple, s.round(3).tolist())) for s in strokes)
    assert len(set(shapes.values())) == len(shapes)


def test_a_label_is_no_wider_than_the_room_that_is_kept_for_it():
    # The label's block reckons with characters as wide as they are high.
    for text in ("Side board left 2", "WWWWMMMM", "Grün / fern"):
        assert stroke_width(text) <= len(text)

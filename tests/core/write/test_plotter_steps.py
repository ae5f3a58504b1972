import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from core.write.drawing import Purpose, Shape, Text, open_run
from core.write.plotter_steps import WEED_MM, mirrored, thinned, with_weed_box
from helpers.plotted import cuts_of, drawing_of

LID = box(100, 50, 400, 250).difference(Point(300, 150).buffer(30))


def text(x, y, words, angle=0.0):
    return Text("LABEL", words, (x, y), 5.0, angle, source="lid")


def test_mirrored_across_the_feed_and_back():
    drawing = drawing_of({"lid": LID}, (0, 0, 500, 300))
    there = mirrored(drawing)
    areas = [Polygon(r.points) for _, r in cuts_of(there)]
    assert areas[0].bounds == (100, 50, 400, 250)
    assert areas[1].centroid.coords[0] == pytest.approx((300, 150))
    odd = mirrored(drawing_of({"a": box(0, 10, 20, 30)}, (0, 0, 100, 300)))
    assert Polygon(cuts_of(odd)[0][1].points).bounds == (0, 270, 20, 290)
    for (_, a), (_, b) in zip(cuts_of(there), cuts_of(drawing), strict=True):
        assert shapely.is_ccw(shapely.linearrings(a.points)) == shapely.is_ccw(
            shapely.linearrings(b.points)
        )
    back = mirrored(there)
    for (_, a), (_, b) in zip(cuts_of(back), cuts_of(drawing), strict=True):
        assert a.points == pytest.approx(b.points)


@pytest.mark.parametrize("angle", [0.0, 90.0, 35.0])
def test_mirrored_labels_are_read_from_the_top_and_cover_the_mirrored_place(angle):
    up = np.array([-math.sin(math.radians(angle)), math.cos(math.radians(angle))])
    first, second = np.array([150.0, 150.0]), np.array([150.0, 150.0]) - 8 * up
    drawing = replace(
        drawing_of({"lid": LID}, (0, 0, 500, 300)),
        texts=(text(*first, "Lid", angle), text(*second, "Fjord", angle)),
    )
    a, b = sorted(mirrored(drawing).texts, key=lambda t: t.text != "Lid")
    assert (a.text, b.text) == ("Lid", "Fjord")
    assert a.angle_deg == b.angle_deg == -angle
    now_up = np.array([math.sin(math.radians(angle)), math.cos(math.radians(angle))])
    # The second line stands below the first as it is read, by as much as before.
    assert np.array(a.at) - np.array(b.at) == pytest.approx(8 * now_up)
    # The block's corners are the mirrored ones: its foot where its top was.
    assert np.array(b.at) == pytest.approx((first + 5 * up) * (1, -1) + (0, 300))


def test_the_weed_box_stands_off_the_pieces_within_the_sheet():
    drawing = drawing_of({"lid": LID, "b": box(420, 2, 480, 40)}, (0, 0, 500, 300))
    (shape,) = with_weed_box(drawing).shapes_for(Purpose.WEED)
    (run,) = shape.runs
    x0, y0, x1, y1 = Polygon(run.points).bounds
    assert (x0, x1, y1) == (100 - WEED_MM, 480 + WEED_MM, 250 + WEED_MM)
    assert y0 == 1.0  # a millimetre inside the sheet
    empty = drawing_of({})
    assert with_weed_box(empty) is empty


def test_thinning_keeps_within_the_distance_and_leaves_pens_alone():
    turns = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    ring = Polygon(200 + 100 * np.column_stack([np.cos(turns), np.sin(turns)]))
    wavy = open_run(np.column_stack([np.arange(50), np.sin(np.arange(50)) * 0.01]))
    drawing = drawing_of({"disc": ring})
    drawing = replace(drawing, shapes=(*drawing.shapes, Shape("TICK", (wavy,))))
    few = thinned(drawing, 0.1)
    (_, run), (_, before) = cuts_of(few)[0], cuts_of(drawing)[0]
    assert len(run.points) < len(before.points) / 3
    assert shapely.hausdorff_distance(ring.exterior, shapely.LinearRing(run.points)) <= 0.1
    assert few.shapes[-1] is drawing.shapes[-1]
    assert thinned(drawing, 0.0) is drawing


def test_what_is_smaller_than_the_distance_keeps_its_shape():
    dot = box(0, 0, 0.2, 0.2)
    assert len(cuts_of(thinned(drawing_of({"dot": dot}), 0.9))[0][1].points) >= 3

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from shapely import Point, box

from core.write.cut_svg import drawing_to_cut_svg, xml_id
from core.write.drawing import Shape, Text, area_runs, open_run
from helpers.plotted import drawing_of

SVG = "{http://www.w3.org/2000/svg}"


def sheet():
    lid = box(10, 10, 110, 60).difference(Point(50, 30).buffer(8))
    base = drawing_of({"p1.s1L": lid, "p1.s1R": box(120, 10, 180, 60)}, (0, 0, 200, 100))
    named = [replace(s, label=f"Grün/lid {i}") for i, s in enumerate(base.shapes, 1)]
    tick = Shape("TICK", (open_run([(20, 10), (20, 15)]),), "p1.s1L", label="Grün/lid 1")
    frame = Shape("FRAME", area_runs(box(0, 0, 200, 100)))
    text = Text("LABEL", "Lid & <1>", (30, 40), 5.0)
    # As ordered cuts are: each run a shape of its own.
    cuts = [replace(s, runs=(run,)) for s in named for run in s.runs]
    return replace(base, shapes=(frame, tick, *cuts, cuts[-1]), texts=(text,))


def test_one_group_a_purpose_each_with_a_name():
    root = ET.fromstring(drawing_to_cut_svg(sheet()))
    groups = root.findall(f"{SVG}g")
    assert [(g.get("id"), g.get("data-purpose")) for g in groups] == [
        ("CUT", "cut"),
        ("TICK", "tick"),
        ("LABEL", "label"),
        ("FRAME", "frame"),
    ]
    assert [t.text for t in groups[2].iter(f"{SVG}text")] == ["Lid & <1>"]
    assert not [t for g in (groups[0], groups[1]) for t in g.iter(f"{SVG}text")]


def test_ids_are_the_pieces_labels_and_none_is_there_twice():
    root = ET.fromstring(drawing_to_cut_svg(sheet()))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert ids[1:5] == [
        "Grün-lid-1-cut",
        "Grün-lid-1-opening",
        "Grün-lid-2-cut",
        "Grün-lid-2-cut.2",
    ]
    assert "Grün-lid-1-tick" in ids


@given(st.text(max_size=12))
def test_any_label_becomes_an_id_that_xml_takes(label):
    # libxml2 holds tags to the names of the fifth edition.
    name = xml_id(label)
    assert etree.fromstring(f"<{name}/>".encode()).tag == name


def test_size_is_in_millimetres():
    root = ET.fromstring(drawing_to_cut_svg(sheet()))
    assert (root.get("width"), root.get("height")) == ("200mm", "100mm")
    assert root.get("viewBox") == "0 0 200 100"


@pytest.mark.parametrize("label", ["", "...", "--"])
def test_a_label_without_letters_still_gives_a_name(label):
    assert xml_id(label) == "unnamed"

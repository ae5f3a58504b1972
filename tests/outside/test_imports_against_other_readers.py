"""Imports agree with readers and writers that are not ours, to 0.05 mm.

GDAL (through pyogrio) reads and writes DXF with code of its own; fontTools reads SVG path data
with its own parser; resvg and Qt draw and write SVG. An outline off by 0.05 mm at most is off
in area by its length times that.

The icons are data for tests only; their licence lies beside them.
"""

import math
import re
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
import resvg_py
import shapely
from fontTools.misc.transform import Transform
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QByteArray, QRectF, QSize
from PySide6.QtGui import QImage, QPainter, QPainterPath
from PySide6.QtSvg import QSvgGenerator

from core.document.flatten import flatten
from core.read.outlines import ReadOptions, read_outlines
from core.units import Units
from core.write.drawing import Drawing, Layer, Purpose, Shape, closed_run
from core.write.dxf import DxfVersion, drawing_to_dxf
from core.write.svg import drawing_to_svg
from helpers.outline_measures import area, length, panel_area, panel_length

AGREE_MM = 0.05
ICONS = sorted((Path(__file__).parents[1] / "data" / "icons").glob("*.svg"))
SIDE_MM = 200.0
"""Larger, the other parser's own arcs are off by more than is to be shown."""
QUARTER = 4 * (math.sqrt(2) - 1) / 3


@pytest.fixture(autouse=True)
def _fine_arcs():
    """Have GDAL turn arcs into short chords (its own default is 4 degrees)."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1"})
    yield
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


def gdal_lines(path):
    _, _, wkb, _ = pyogrio.raw.read(path)
    return [g for g in shapely.from_wkb(wkb) if g is not None]


def agrees(found, expected, rim):
    assert found == pytest.approx(expected, abs=AGREE_MM * rim)


# DXF


@pytest.fixture
def made(tmp_path):
    """A drawing of everything, made by ezdxf."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_circle((0, 0), 130)
    space.add_ellipse((500, 0), (150, 60), 0.4)
    space.add_lwpolyline(
        [(800, 0, 0.4), (1100, 0, -0.2), (1100, 200, 0), (800, 250, 0.9)],
        format="xyb",
        close=True,
    )
    block = document.blocks.new("Flap", base_point=(3, 4))
    block.add_lwpolyline([(0, 0, 0.7), (80, 0, 0), (90, 60, -0.3), (0, 50, 0)], format="xyb",
                         close=True)  # fmt: skip
    block.add_circle((40, 30), 11)
    outer = document.blocks.new("Frame")
    outer.add_blockref("Flap", (10, 0), dxfattribs={"xscale": -1, "rotation": 25})
    space.add_blockref("Frame", (0, 600), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 40})
    space.add_blockref("Frame", (600, 600), dxfattribs={"xscale": -3, "yscale": 3})
    path = tmp_path / "made.dxf"
    document.saveas(path)
    return path


def test_gdal_finds_the_same_areas_and_lengths_in_a_dxf(made):
    lines = shapely.get_parts(gdal_lines(made))
    ours = read_outlines(made)
    assert sum(len(p.openings) + 1 for p in ours.panels) == len(lines)
    built = shapely.get_parts(shapely.build_area(shapely.union_all(lines)))
    assert len(built) == len(ours.panels)
    for panel in ours.panels:
        middle = shapely.Point(flatten(panel.outline, closed=True).mean(axis=0) + panel.at)
        gdal = min(built, key=middle.distance)
        rim = gdal.length
        assert panel_length(panel) == pytest.approx(rim, abs=AGREE_MM)
        agrees(panel_area(panel), gdal.area, rim)
        assert (*panel.at,) == pytest.approx(gdal.bounds[:2], abs=AGREE_MM)


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_dxf_that_gdal_wrote_is_read_true_to_size(tmp_path):
    # a nested ring, a shape of many points, and one open line
    angles = np.linspace(0, 2 * math.pi, 720, endpoint=False)
    blob = (
        np.column_stack([np.cos(angles), np.sin(angles)])
        * (300 + 40 * np.cos(5 * angles))[:, None]
    )
    rings = [
        shapely.LinearRing(blob),
        shapely.LinearRing([(-50, -50), (50, -50), (60, 40), (-40, 60)]),
        shapely.LinearRing([(500, 0), (900, 0), (900, 300), (520, 280)]),
    ]
    lines = [shapely.LineString(r) for r in rings] + [shapely.LineString([(0, 500), (9, 600)])]
    path = tmp_path / "gdal.dxf"
    pyogrio.raw.write(
        path, shapely.to_wkb(np.array(lines)), [], [], driver="DXF", geometry_type="LineString"
    )
    found = read_outlines(path, ReadOptions(units=Units.MM))
    assert len(found.panels) == 2
    shape = shapely.Polygon(rings[0], [rings[1]])
    agrees(panel_area(found.panels[0]), shape.area, 1)
    assert panel_length(found.panels[0]) == pytest.approx(shape.length, abs=AGREE_MM)
    agrees(panel_area(found.panels[1]), shapely.Polygon(rings[2]).area, 1)
    assert any(s.kind == "Open line" for s in found.skipped)


# SVG


@pytest.fixture
def icon(request, tmp_path):
    """An icon of 16 units, said to be 200 mm wide; and its path data."""
    text = re.sub(r'width="16" height="16"', 'width="200mm" height="200mm"',
                  request.param.read_text())  # fmt: skip
    path = tmp_path / "icon.svg"
    path.write_text(text)
    return path, re.findall(r' d="([^"]*)"', text)


def contours(data):
    """The contours of path data in millimetres, as fontTools reads them."""
    pen = DecomposingRecordingPen({})
    scale = SIDE_MM / 16
    for one in data:
        parse_path(one, TransformPen(pen, Transform(scale, 0, 0, -scale, 0, SIDE_MM)))
    runs = []
    for step in pen.value:
        if step[0] == "moveTo":
            runs.append([])
        runs[-1].append(step)
    return [run for run in runs if len(run) > 2]


def measured(run):
    area_pen, perimeter = AreaPen(), PerimeterPen(tolerance=1e-4)
    for pen in (area_pen, perimeter):
        for name, points in run:
            getattr(pen, name)(*points)
    return abs(area_pen.value), perimeter.value


@pytest.mark.parametrize("icon", ICONS, ids=lambda p: p.stem, indirect=True)
def test_icons_have_the_areas_and_lengths_that_another_parser_finds(icon):
    path, data = icon
    found = read_outlines(path)
    rings = [ring for p in found.panels for ring in (p.outline, *(o.nodes for o in p.openings))]
    ours = sorted((area(ring), length(ring)) for ring in rings)
    theirs = sorted(measured(run) for run in contours(data))
    assert len(ours) == len(theirs) > 0
    for (our_area, our_length), (their_area, their_length) in zip(ours, theirs, strict=True):
        assert our_length == pytest.approx(their_length, abs=AGREE_MM)
        agrees(our_area, their_area, their_length)


@pytest.mark.parametrize("icon", ICONS, ids=lambda p: p.stem, indirect=True)
def test_icons_cover_as_much_as_another_program_paints(icon):
    path, _ = icon
    width = 2000
    png = resvg_py.svg_to_bytes(svg_string=path.read_text(), width=width, dpi=96)
    image = QImage.fromData(QByteArray(bytes(png)), "PNG")
    alpha = image.convertToFormat(QImage.Format.Format_Alpha8)
    rows = np.frombuffer(alpha.constBits(), np.uint8).reshape(width, alpha.bytesPerLine())
    painted = rows[:, :width].sum() / 255 * (SIDE_MM / width) ** 2
    found = read_outlines(path)
    rim = sum(panel_length(p) for p in found.panels)
    agrees(sum(panel_area(p) for p in found.panels), painted, rim)


def test_an_svg_that_qt_wrote_is_read_true_to_size(qapp, tmp_path):
    path = tmp_path / "qt.svg"
    generator = QSvgGenerator()
    generator.setFileName(str(path))
    generator.setResolution(2540)
    generator.setSize(QSize(30_000, 20_000))
    generator.setViewBox(QRectF(0, 0, 30_000, 20_000))
    painter = QPainter(generator)
    painter.scale(100, 100)
    painter.rotate(10)
    shape = QPainterPath()
    shape.addRoundedRect(QRectF(60, 10, 120, 60), 20, 15)
    shape.addEllipse(QRectF(100, 25, 40, 20))
    painter.fillPath(shape, painter.pen().color())
    painter.end()
    (panel,) = read_outlines(path).panels
    expected = 120 * 60 - (4 - math.pi) * 300 - math.pi * 200
    agrees(panel_area(panel), expected, 500)
    assert len(panel.openings) == 1


# Round trips


@st.composite
def panels(draw):
    """Rings about a middle, corners and curves mixed, with a round opening in some."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(60, 400), min_size=count, max_size=count))
    turn = draw(st.floats(0, 6))
    spots = [
        (
            r * math.cos(turn + 2 * math.pi * i / count),
            r * math.sin(turn + 2 * math.pi * i / count),
        )
        for i, r in enumerate(radii)
    ]
    ring = np.array(spots)
    hole = draw(st.floats(2, 20)) if draw(st.booleans()) else None
    shape = shapely.Polygon(ring)
    return shape, hole if hole and shape.contains(
        shapely.Point(0, 0).buffer(hole + 1)
    ) else None


def drawing_of(shape, hole):
    runs = [closed_run(shapely.get_coordinates(shape.exterior))]
    if hole:
        runs.append(
            closed_run(shapely.get_coordinates(shapely.Point(0, 0).buffer(hole).exterior))
        )
    layer = Layer("CUT-LINES", Purpose.CUT)
    bounds = shape.bounds
    return Drawing("Round trip", bounds, (layer,), (Shape("CUT-LINES", tuple(runs)),))


def expected_of(shape, hole):
    return shape.area - (shapely.Point(0, 0).buffer(hole).area if hole else 0)


@settings(max_examples=30)
@given(panels())
def test_what_our_dxf_writer_wrote_comes_back(tmp_path_factory, case):
    path = tmp_path_factory.mktemp("trip") / "a.dxf"
    for version in DxfVersion:
        path.write_bytes(drawing_to_dxf(drawing_of(*case), version))
        (panel,) = read_outlines(path, ReadOptions(units=Units.MM)).panels
        assert panel_area(panel) == pytest.approx(expected_of(*case), rel=1e-6, abs=0.01)
        assert len(panel.openings) == (case[1] is not None)


@settings(max_examples=30)
@given(panels())
def test_what_our_svg_writer_wrote_comes_back(tmp_path_factory, case):
    path = tmp_path_factory.mktemp("trip") / "a.svg"
    text = drawing_to_svg(drawing_of(*case)).replace('fill="none"', "")
    path.write_text(text)
    (panel,) = read_outlines(path).panels
    rim = case[0].length + 200
    assert panel_area(panel) == pytest.approx(expected_of(*case), abs=2e-3 * rim)
    x, y = panel.at
    assert (x, y) == pytest.approx((0, 0), abs=1e-3)

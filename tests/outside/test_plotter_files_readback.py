"""Plotter files with all that makes them cut well, read by GDAL, svgelements, resvg, ezdxf.

None of these shares code with the writers. GDAL (pyogrio) flattens arcs itself.
"""

import io
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import pyogrio
import pytest
import resvg_py
import shapely
import svgelements
from PIL import Image
from shapely import LineString, Polygon

from core.document.file import load_job
from core.plan.plan import plan_job
from core.roll.rolls import roll_plan
from core.write.outputs import OutputOptions, planned_outputs, write_files
from core.write.planned_file import FileKind
from core.write.plotter import Plotter, PlotterFormat
from helpers.cut_into import cut_into
from helpers.plotted import ring_and_overcut

EXPORT_MM = 0.05
SAMPLE = Path(__file__).parents[2] / "sample_projects" / "library_trike.lapline"


@cache
def sample():
    plan = plan_job(load_job(SAMPLE).job)
    return plan, roll_plan(plan).rolls


def files(**wish):
    plan, rolls = sample()
    options = OutputOptions(plotter=Plotter(**wish), has_pictures=False)
    return [f for f in planned_outputs(plan, rolls, options) if f.kind is FileKind.PLOTTER]


def sheets():
    _, rolls = sample()
    return [s for film in rolls.films for s in film.sheets if s.placements]


def rings_of(sheet):
    return [r for p in sheet.placements for r in (p.polygon.exterior, *p.polygon.interiors)]


def paired(lines, rings):
    assert len(lines) == len(rings)
    left = list(rings)
    for line in lines:
        ring = min(left, key=lambda r: math.dist(r.bounds, line.bounds))
        left.remove(ring)
        yield line, ring


def cut_lines(path):
    """What GDAL finds on the layer that is cut."""
    _, _, wkb, fields = pyogrio.raw.read(path, columns=["Layer"])
    geometries = shapely.from_wkb(wkb)
    return [g for g, layer in zip(geometries, fields[0], strict=True) if layer == "CUT-LINES"]


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
def test_overcut_lines_close_and_run_on(version, tmp_path):
    made = files(format=PlotterFormat(version), overcut_mm=1.0)
    for path, sheet in zip(write_files(made, tmp_path), sheets(), strict=True):
        for line, ring in paired(cut_lines(path), rings_of(sheet)):
            found, tail = ring_and_overcut(line, 1.0, within=1e-3)
            assert tail.length == pytest.approx(1.0, abs=1e-3)
            assert found.area == pytest.approx(Polygon(ring).area, rel=1e-6)
            assert shapely.hausdorff_distance(found.exterior, ring) < EXPORT_MM


@pytest.mark.parametrize(
    ("version", "tolerance"), [("R12", 0.05), ("R2000", 0.05), ("R2010", 0.2)]
)
def test_arcs_are_fewer_points_within_the_tolerance(version, tolerance, tmp_path):
    wish = {"format": PlotterFormat(version), "tolerance_mm": tolerance, "overcut_mm": 0.0}
    plain = write_files(files(**wish), tmp_path / "plain")
    fitted = write_files(files(**wish, has_arcs=True), tmp_path / "arcs")
    counts = [0, 0]
    for i, paths in enumerate((plain, fitted)):
        for path in paths:
            for entity in ezdxf.readfile(path).modelspace().query("*[layer=='CUT-LINES']"):
                counts[i] += len(entity)
    assert counts[1] < 0.7 * counts[0]
    for path, sheet in zip(fitted, sheets(), strict=True):
        for line, ring in paired(cut_lines(path), rings_of(sheet)):
            # GDAL steps along an arc by 4 degrees: its chords lie r (1 - cos 2°) off.
            sample_points = shapely.points(shapely.get_coordinates(line))
            assert shapely.distance(sample_points, ring).max() <= tolerance + 1e-4
            assert line.is_closed


def test_a_coarser_tolerance_drops_points_of_polylines():
    sizes = [sum(len(f.data()) for f in files(tolerance_mm=t)) for t in (0.05, 0.1, 0.5)]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[2] < sizes[0]


def test_sections_together_are_the_sheet(tmp_path):
    made = files(longest_feed_mm=700.0, splits_long_pieces=True, overcut_mm=0.0)
    length = 0.0
    for path in write_files(made, tmp_path):
        lines = cut_lines(path)
        x0, _, x1, _ = shapely.MultiLineString(lines).bounds
        assert x0 >= -1.001
        assert x1 <= 701.001
        length += sum(line.length for line in lines)
    planned = sum(r.length for sheet in sheets() for r in rings_of(sheet))
    # The parts of split pieces run on past their joint by a millimetre at each end.
    assert planned - 1 < length < planned + 200


def test_svg_is_true_to_size_by_another_reader(tmp_path):
    made = files(format=PlotterFormat.SVG, overcut_mm=0.0)
    for path, sheet in zip(write_files(made, tmp_path), sheets(), strict=True):
        # 25.4 pixels an inch: one pixel is one millimetre.
        document = svgelements.SVG.parse(path, ppi=25.4)
        height = sheet.sheet.width_mm
        lines = []
        for group in document.select(lambda e: isinstance(e, svgelements.Group)):
            if group.values.get("data-purpose") == "cut" and group.id == "CUT-LINES":
                for shape in group:
                    if isinstance(shape, svgelements.Path):
                        points = [(p.x, height - p.y) for p in shape.as_points()]
                        lines.append(LineString(points))
        assert lines
        for line, ring in paired(lines, rings_of(sheet)):
            assert shapely.hausdorff_distance(line, ring) < EXPORT_MM


def test_svg_is_rendered_true_to_size_by_a_third_reader():
    (file, *_), (sheet, *_) = files(format=PlotterFormat.SVG), sheets()
    x0, y0, x1, y1 = file.drawings[0].extent
    width = 1200
    made = resvg_py.svg_to_bytes(svg_string=file.data().decode(), width=width, dpi=96)
    picture = Image.open(io.BytesIO(bytes(made)))
    scale = width / (x1 - x0)
    assert picture.size[1] == pytest.approx((y1 - y0) * scale, abs=1)
    alpha = picture.getchannel("A")
    for placement in sheet.placements[:6]:
        corner = placement.polygon.exterior.coords[0]
        x, y = corner[0] * scale, (y1 - corner[1]) * scale
        near = alpha.crop((int(x) - 2, int(y) - 2, int(x) + 3, int(y) + 3))
        assert near.getextrema()[1] > 0, placement.item.label


def test_nothing_but_cuts_stands_on_a_cut_layer(tmp_path):
    wish = {"longest_feed_mm": 900.0, "splits_long_pieces": True, "has_weed_box": True}
    for path in write_files(files(**wish), tmp_path):
        document = ezdxf.readfile(path)
        assert not document.audit().errors
        layers: dict[str, set[str]] = {}
        for entity in document.modelspace():
            layers.setdefault(entity.dxf.layer, set()).add(entity.dxftype())
        assert layers["CUT-LINES"] == {"LWPOLYLINE"}
        assert layers["WEED-BOX"] == {"LWPOLYLINE"}
        assert {"TEXT"} <= layers["PIECE-LABELS"] <= {"LWPOLYLINE", "TEXT"}
        assert "TEXT" not in set().union(*(k for n, k in layers.items() if n != "PIECE-LABELS"))
        colours = {name: document.layers.get(name).color for name in layers}
        assert len(set(colours.values())) == len(colours)


def test_the_same_plan_gives_the_same_bytes():
    wish = {"longest_feed_mm": 700.0, "splits_long_pieces": True, "is_mirrored": True}
    for format_ in PlotterFormat:
        one, two = (files(format=format_, **wish) for _ in range(2))
        assert [f.data() for f in one[:2]] == [f.data() for f in two[:2]]


def test_the_mirrored_sheet_is_the_sheet_seen_from_behind(tmp_path):
    made = files(is_mirrored=True, overcut_mm=0.0)
    for path, sheet in zip(write_files(made, tmp_path), sheets(), strict=True):
        turned = [
            shapely.affinity.affine_transform(r, (1, 0, 0, -1, 0, sheet.sheet.width_mm))
            for r in rings_of(sheet)
        ]
        for line, ring in paired(cut_lines(path), turned):
            assert shapely.hausdorff_distance(line, ring) < EXPORT_MM
    document = ezdxf.readfile(path)
    texts = [t.dxf.text for t in document.modelspace().query("TEXT")]
    assert any("cut from liner" in text for text in texts)


def test_retakes_are_cut_and_labelled_one_by_one(tmp_path):
    plan, rolls = sample()
    film = rolls.films[0]
    sheet = film.sheets[0]
    first = sheet.placements[0]
    again = replace(
        first, item=replace(first.item, attempt=2), dx_mm=first.dx_mm + sheet.used_length_mm
    )
    sheet = replace(
        sheet,
        placements=(*sheet.placements, again),
        used_length_mm=2 * sheet.used_length_mm,
    )
    rolls = replace(rolls, films=(replace(film, sheets=(sheet,)),))
    options = OutputOptions(
        plotter=Plotter(longest_feed_mm=sheet.used_length_mm / 2 + 50), has_pictures=False
    )
    made = [f for f in planned_outputs(plan, rolls, options) if f.kind is FileKind.PLOTTER]
    texts = [
        [t.dxf.text for t in ezdxf.readfile(p).modelspace().query("TEXT")]
        for p in write_files(made, tmp_path)
    ]
    assert sum("retake 1" in t for some in texts for t in some) == 1
    assert not any("retake" in t for t in texts[0])


@pytest.mark.parametrize("version", ["R12", "R2010"])
def test_relief_cuts_are_notches_or_lines_cut_before_their_outline(version, tmp_path):
    plan, rolls = cut_into()
    plotter = Plotter(format=PlotterFormat(version), overcut_mm=0.0)
    made = planned_outputs(plan, rolls, OutputOptions(plotter=plotter, has_pictures=False))
    paths = write_files([f for f in made if f.kind is FileKind.PLOTTER], tmp_path)
    laid = [s for film in rolls.films for s in film.sheets if s.placements]
    count = 0
    for path, sheet in zip(paths, laid, strict=True):
        inner = [line for p in sheet.placements for line in p.inner_cuts]
        lines = cut_lines(path)
        for line, wanted in paired(lines, [*rings_of(sheet), *inner]):
            assert shapely.hausdorff_distance(line, wanted) < EXPORT_MM
        rings = [(i, Polygon(line)) for i, line in enumerate(lines) if line.is_closed]
        for i, line in enumerate(lines):
            if not line.is_closed:
                middle = line.interpolate(0.5, normalized=True)
                assert all(i < k for k, ring in rings if ring.contains(middle))
        count += len(inner)
    assert count == 2  # of the plate; the dome's are part of its outline

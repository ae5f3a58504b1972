"""Law 6, true size: our DXF, read by GDAL's DXF driver, has the plan's lengths and areas.

GDAL (through pyogrio) is a reader that is not ours and shares no code with the writer. Text and
header variables are checked with ezdxf's reader, as GDAL keeps neither.
"""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import ezdxf
import pyogrio
import pytest
import shapely
from ezdxf.document import Drawing
from shapely import Polygon

from core.document.file import load_job
from core.plan.plan import plan_job
from core.roll.model import SheetPlan
from core.roll.rolls import roll_plan
from core.write.file_names import safe_name
from core.write.outputs import OutputOptions, planned_outputs, write_files
from core.write.planned_file import FileKind
from core.write.plotter import Plotter, PlotterFormat
from helpers.plans import hand_plan, hand_rolls

EXPORT_MM = 0.05
SAMPLES = Path(__file__).parents[2] / "sample_projects"
VERSIONS = (PlotterFormat.R12, PlotterFormat.R2000, PlotterFormat.R2010)
LAYERS = {"CUT-LINES", "MATCH-TICKS", "CENTRE-MARKS", "PIECE-LABELS", "ROLL-FRAME"}


@cache
def sample(name):
    plan = plan_job(load_job(SAMPLES / name).job)
    return plan, roll_plan(plan).rolls


@cache
def hand():
    plan = hand_plan()
    return plan, hand_rolls(plan)


JOBS = {
    "hand": hand,
    "first steps": lambda: sample("first_steps.lapline"),
    "trike": lambda: sample("library_trike.lapline"),
}


@dataclass
class Written:
    """A sheet, and what two readers find in its DXF."""

    version: PlotterFormat
    sheet: SheetPlan
    start: bytes
    lines: dict[str, list[shapely.Geometry]]
    document: Drawing


@pytest.fixture(
    scope="module",
    params=[(job, version) for job in JOBS for version in VERSIONS],
    ids=lambda p: f"{p[0]} {p[1]}",
)
def written(request, tmp_path_factory):
    job, version = request.param
    plan, rolls = JOBS[job]()
    folder = tmp_path_factory.mktemp("dxf")
    plotter = Plotter(format=version, overcut_mm=0.0)
    options = OutputOptions(plotter=plotter, has_pictures=False)
    made = planned_outputs(plan, rolls, options)
    paths = write_files([f for f in made if f.kind is FileKind.PLOTTER], folder)
    sheets = [s for film in rolls.films for s in film.sheets if s.placements]
    return [
        Written(version, sheet, path.read_bytes()[:100], by_layer(path), ezdxf.readfile(path))
        for sheet, path in zip(sheets, paths, strict=True)
    ]


def by_layer(path):
    """The geometries that GDAL finds, by layer."""
    _, _, wkb, fields = pyogrio.raw.read(path, columns=["Layer"])
    found = {}
    for layer, geometry in zip(fields[0], shapely.from_wkb(wkb), strict=True):
        found.setdefault(layer, []).append(geometry)
    return found


def expected_rings(sheet):
    polygons = [p.polygon for p in sheet.placements]
    return [r for p in polygons for r in (p.exterior, *p.interiors)]


def paired(lines, rings):
    """Each line with the ring whose bounds are nearest, and each ring once."""
    left = list(rings)
    for line in lines:
        ring = min(left, key=lambda r: math.dist(r.bounds, line.bounds))
        left.remove(ring)
        yield line, ring


def test_every_ring_is_there_closed_with_its_length_and_area(written):
    for one in written:
        cut, rings = one.lines["CUT-LINES"], expected_rings(one.sheet)
        assert len(cut) == len(rings)
        for line, ring in paired(cut, rings):
            assert line.geom_type == "LineString"
            assert line.is_closed
            assert line.length == pytest.approx(ring.length, abs=EXPORT_MM)
            # An outline that is off by 0.05 mm at most is off in area by its length times that.
            difference = abs(Polygon(line).area - Polygon(ring).area)
            assert difference < EXPORT_MM * ring.length
            assert difference < 1e-6 * Polygon(ring).area


def test_every_ring_is_where_it_should_be(written):
    for one in written:
        rings = expected_rings(one.sheet)
        for line, ring in paired(one.lines["CUT-LINES"], rings):
            assert shapely.hausdorff_distance(line, ring) < EXPORT_MM


def test_outlines_and_openings_make_up_the_pieces(written):
    for one in written:
        lines = shapely.MultiLineString(one.lines["CUT-LINES"])
        placed = sum(p.polygon.area for p in one.sheet.placements)
        assert shapely.area(shapely.build_area(lines)) == pytest.approx(placed, rel=1e-6)


def test_everything_is_on_a_layer_of_ours_and_text_on_none_that_is_cut(written):
    for one in written:
        kinds = {}
        for entity in one.document.modelspace():
            kinds.setdefault(entity.dxf.layer, set()).add(entity.dxftype())
        assert set(kinds) <= LAYERS
        line = {"POLYLINE"} if one.version is PlotterFormat.R12 else {"LWPOLYLINE"}
        assert kinds["CUT-LINES"] == line
        assert kinds["ROLL-FRAME"] == line
        assert "TEXT" in kinds["PIECE-LABELS"]
        assert kinds["PIECE-LABELS"] <= line | {"TEXT"}
        assert not one.document.audit().errors


def test_units_are_millimetres_where_the_version_can_say_so(written):
    for one in written:
        if one.version is not PlotterFormat.R12:
            header = one.document.header
            assert (header["$INSUNITS"], header["$MEASUREMENT"]) == (4, 1)
        else:
            assert one.start.startswith(b"999\nAll lengths in this file are millimetres.\n")


def test_x_runs_along_the_roll_within_its_frame(written):
    for one in written:
        (frame,) = one.lines["ROLL-FRAME"]
        stock = one.sheet.sheet
        x0, y0, x1, y1 = frame.bounds
        assert (x0, y0) == (0, 0)
        assert y1 == pytest.approx(stock.width_mm, abs=EXPORT_MM)
        length = stock.length_mm if stock.kind == "offcut" else one.sheet.used_length_mm
        assert x1 == pytest.approx(length, abs=EXPORT_MM)
        cut = shapely.GeometryCollection(one.lines["CUT-LINES"])
        assert shapely.box(*frame.bounds).contains(cut)


def test_each_label_stands_inside_its_piece(written):
    for one in written:
        spots = {}
        for text in one.document.modelspace().query("TEXT"):
            at = text.dxf.align_point if text.dxf.halign else text.dxf.insert
            spots.setdefault(text.dxf.text, []).append(shapely.Point(at.x, at.y))
        for placement in one.sheet.placements:
            label = placement.item.label
            own = spots.get(label, []) + spots.get(label.split()[-1], [])  # or its number alone
            assert any(placement.polygon.contains(spot) for spot in own), label


@pytest.mark.parametrize("job", ["hand", "first steps"])
def test_piece_by_piece_the_lengths_and_areas_hold_too(job, tmp_path):
    plan, rolls = JOBS[job]()
    options = OutputOptions(
        plotter=Plotter(overcut_mm=0.0), has_pictures=False, has_piece_files=True
    )
    made = planned_outputs(plan, rolls, options)
    write_files([f for f in made if f.kind is FileKind.PLOTTER], tmp_path)
    paths = {
        p.stem.removeprefix(safe_name(plan.job.name) + "-"): p
        for p in (tmp_path / "pieces").iterdir()
    }
    assert len(paths) == len(plan.pieces)
    for piece in plan.pieces:
        lines = by_layer(paths["-".join(piece.label.lower().split())])["CUT-LINES"]
        assert len(lines) == 1 + len(piece.cut.interiors)
        length = sum(line.length for line in lines)
        assert length == pytest.approx(piece.cut.length, abs=EXPORT_MM)
        area = shapely.area(shapely.build_area(shapely.MultiLineString(lines)))
        assert area == pytest.approx(piece.cut.area, rel=1e-6)

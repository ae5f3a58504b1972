"""HP-GL/2 of ours, read by ezdxf's interpreter, is the plan's pieces to 0.05 mm.

The interpreter shares no code with the writer. Plotter units are 0.025 mm (HP-GL/2 and HP RTL
Reference Guide, from memory): with two roundings to the nearest unit a point is off by 0.018 mm
at most.
"""

import math
from functools import cache
from pathlib import Path

import pytest
import shapely
from ezdxf.addons.hpgl2.backend import Backend
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter as Reader
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands
from shapely import LineString, Polygon
from shapely.affinity import affine_transform

from core.document.file import load_job
from core.plan.plan import plan_job
from core.roll.rolls import roll_plan
from core.write.outputs import OutputOptions, planned_outputs
from core.write.planned_file import FileKind
from core.write.plotter import Pens, Plotter, PlotterFormat
from helpers.cut_into import cut_into
from helpers.plans import hand_plan, hand_rolls
from helpers.plotted import ring_and_overcut

EXPORT_MM = 0.05
SAMPLES = Path(__file__).parents[2] / "sample_projects"


class Listener(Backend):
    """Keeps what the pen draws, by its number."""

    def __init__(self):
        self.lines: dict[int, list[LineString]] = {}
        self.order: list[int] = []

    def draw_polyline(self, properties, points):
        mm = [(p.x / 40, p.y / 40) for p in points]
        if len(mm) > 1:
            self.lines.setdefault(properties.pen_index, []).append(LineString(mm))
            self.order.append(properties.pen_index)

    def draw_paths(self, *_):
        raise AssertionError("nothing is filled, and no curve is written")


def read(data):
    """What another program finds in a plotter file: lines by pen, whole again, in mm."""
    listener = Listener()
    interpreter = Interpreter(Reader(listener))
    interpreter.run(hpgl2_commands(data))
    assert interpreter.errors == []
    assert interpreter.not_implemented_commands <= {"IN", "DF"}
    return {pen: joined(lines) for pen, lines in listener.lines.items()}, listener.order


def joined(lines):
    """Runs of lines that go on where the one before ended: one command each, one cut."""
    whole: list[list] = []
    for line in lines:
        points = list(line.coords)
        if whole and whole[-1][-1] == points[0]:
            whole[-1] += points[1:]
        else:
            whole.append(points)
    return [LineString(points) for points in whole]


@cache
def sample(name):
    plan = plan_job(load_job(SAMPLES / name).job)
    return plan, roll_plan(plan).rolls


@cache
def hand():
    plan = hand_plan()
    return plan, hand_rolls(plan)


JOBS = {"hand": hand, "trike": lambda: sample("library_trike.lapline")}


def files(job, **wish):
    plan, rolls = JOBS[job]()
    plotter = Plotter(format=PlotterFormat.HPGL, **wish)
    options = OutputOptions(plotter=plotter, has_pictures=False)
    made = planned_outputs(plan, rolls, options)
    return [f for f in made if f.kind is FileKind.PLOTTER]


def sheets(job):
    _, rolls = JOBS[job]()
    return [s for film in rolls.films for s in film.sheets if s.placements]


def rings_of(sheet):
    return [r for p in sheet.placements for r in (p.polygon.exterior, *p.polygon.interiors)]


def check_cuts(lines, rings, overcut_mm=0.5):
    """Each ring is cut once: where it should be, closed, and run on by the overcut."""
    assert len(lines) == len(rings)
    left = list(rings)
    for line in lines:
        ring = min(left, key=lambda r: math.dist(r.bounds, line.bounds))
        left.remove(ring)
        assert shapely.hausdorff_distance(line, LineString(ring.coords)) < EXPORT_MM
        assert line.length == pytest.approx(
            ring.length + overcut_mm, abs=0.02 * len(ring.coords) + 0.05
        )
        assert ring.buffer(EXPORT_MM).contains(line)


@pytest.mark.parametrize("job", JOBS)
def test_every_piece_is_cut_where_it_lies(job):
    for file, sheet in zip(files(job), sheets(job), strict=True):
        lines, order = read(file.data())
        assert set(lines) == {1, 2}
        check_cuts(lines[1], rings_of(sheet))
        assert order == sorted(order, reverse=True), "the pen draws before the knife cuts"


def test_areas_agree_too():
    for file, sheet in zip(files("hand", overcut_mm=0.0), sheets("hand"), strict=True):
        lines, _ = read(file.data())
        areas = sorted(Polygon(line).area for line in lines[1])
        wanted = sorted((Polygon(ring).area, ring.length) for ring in rings_of(sheet))
        for area, (planned, length) in zip(areas, wanted, strict=True):
            assert area == pytest.approx(planned, abs=0.018 * length)


def test_labels_and_marks_stand_inside_the_pieces():
    for file, sheet in zip(files("trike"), sheets("trike"), strict=True):
        lines, _ = read(file.data())
        pieces = shapely.union_all([Polygon(p.polygon.exterior) for p in sheet.placements])
        drawn = shapely.MultiLineString(lines[2])
        assert pieces.buffer(EXPORT_MM).contains(drawn)
        assert drawn.length > 100 * len(sheet.placements)


def test_pens_have_the_numbers_that_they_are_given():
    lines, _ = read(files("hand", pens=Pens(cut=5, draw=3))[0].data())
    assert set(lines) == {3, 5}


def test_mirrored_across_the_feed():
    for file, sheet in zip(files("hand", is_mirrored=True), sheets("hand"), strict=True):
        lines, _ = read(file.data())
        across = sheet.sheet.width_mm
        rings = [affine_transform(r, (1, 0, 0, -1, 0, across)) for r in rings_of(sheet)]
        check_cuts(lines[1], rings)


def test_turned_for_machines_whose_x_runs_across():
    for file, sheet in zip(files("hand", is_turned=True), sheets("hand"), strict=True):
        lines, _ = read(file.data())
        across = sheet.sheet.width_mm
        # A quarter turn counter-clockwise, not a mirror: (x, y) comes to (across - y, x).
        rings = [affine_transform(r, (0, -1, 1, 0, across, 0)) for r in rings_of(sheet)]
        check_cuts(lines[1], rings)


@pytest.mark.parametrize("is_turned", [False, True])
def test_coordinates_start_at_the_origin_and_keep_in_the_sheet(is_turned):
    for file, sheet in zip(files("trike", is_turned=is_turned), sheets("trike"), strict=True):
        lines, _ = read(file.data())
        everything = shapely.MultiLineString([x for some in lines.values() for x in some])
        x0, y0, x1, y1 = everything.bounds
        along, across = (y1, x1) if is_turned else (x1, y1)
        assert min(x0, y0) >= 0
        assert along <= file.drawings[0].extent[2]
        assert across <= sheet.sheet.width_mm


def test_sections_are_within_the_feed_and_each_starts_at_the_origin():
    found = files("trike", longest_feed_mm=700.0, splits_long_pieces=True)
    assert len(found) > len(sheets("trike"))
    for file in found:
        lines, _ = read(file.data())
        everything = [line for some in lines.values() for line in some]
        x0, _, x1, _ = shapely.MultiLineString(everything).bounds
        assert x0 >= -1.0  # the parts of a piece run on past their joint by a millimetre
        assert x1 <= 701.0


def test_a_cut_closes_and_runs_on_by_the_overcut():
    for file in files("hand", overcut_mm=2.0):
        for shape in file.drawings[0].shapes:
            if shape.layer == "CUT-LINES":
                ring, tail = ring_and_overcut(LineString(shape.runs[0].points), 2.0)
                assert tail.length == pytest.approx(2.0)
                assert ring.is_valid
        lines, _ = read(file.data())
        for line in lines[1]:
            start = shapely.Point(line.coords[0])
            end = shapely.Point(line.coords[-1])
            assert start.distance(end) == pytest.approx(2.0, abs=EXPORT_MM)


def test_relief_cuts_are_notches_or_lines_by_the_knife():
    plan, rolls = cut_into()
    plotter = Plotter(format=PlotterFormat.HPGL, overcut_mm=0.0)
    made = planned_outputs(plan, rolls, OutputOptions(plotter=plotter, has_pictures=False))
    laid = [s for film in rolls.films for s in film.sheets if s.placements]
    files = [f for f in made if f.kind is FileKind.PLOTTER]
    for file, sheet in zip(files, laid, strict=True):
        pens, _ = read(file.data())
        wanted = [
            line
            for p in sheet.placements
            for line in (p.polygon.exterior, *p.polygon.interiors, *p.inner_cuts)
        ]
        assert len(pens[1]) == len(wanted)
        for line in wanted:
            assert min(shapely.hausdorff_distance(line, own) for own in pens[1]) < EXPORT_MM

"""Every DXF entity against analytic lengths and areas; files are made by ezdxf."""

import math
from itertools import pairwise

import ezdxf
import pytest
import shapely
from ezdxf.math import BSpline

from core.errors import Cancelled, ImportFailed
from core.read.outlines import ReadOptions, read_outlines
from core.units import Units
from helpers.outline_measures import area, dense_points, length, panel_area

CURVE_MM = 0.01
VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")


class Sheet:
    """A DXF under way."""

    def __init__(self, folder, version="R2010", units=4):
        self.path = folder / "drawing.dxf"
        self.document = ezdxf.new(version)
        if version == "R12":
            del self.document.header["$INSUNITS"]
        else:
            self.document.header["$INSUNITS"] = units
        self.space = self.document.modelspace()

    def read(self, **options):
        self.document.saveas(self.path)
        return read_outlines(self.path, ReadOptions(**options))

    def only(self, **options):
        (panel,) = self.read(**options).panels
        return panel


@pytest.fixture
def sheet(tmp_path):
    return Sheet(tmp_path)


def circle_ok(panel, radius):
    """A circle off by CURVE_MM at most is off in area by its length times that."""
    assert panel_area(panel) == pytest.approx(
        math.pi * radius**2, abs=CURVE_MM * 2 * math.pi * radius
    )
    assert length(panel.outline) == pytest.approx(2 * math.pi * radius, abs=0.05)
    assert all(node.smooth for node in panel.outline)


@pytest.mark.parametrize("version", VERSIONS)
def test_lines_arcs_and_circles_of_every_version(tmp_path, version):
    sheet = Sheet(tmp_path, version)
    space = sheet.space
    for start, end in pairwise([(200, 0), (0, 0), (0, 100), (200, 100)]):
        space.add_line(start, end)
    space.add_arc((200, 50), 50, -90, 90)
    space.add_circle((60, 50), 20)
    panel = sheet.only()
    assert panel_area(panel) == pytest.approx(
        200 * 100 + math.pi * 50**2 / 2 - math.pi * 20**2, abs=CURVE_MM * 300
    )
    assert [n.smooth for n in panel.outline].count(False) == 2
    assert len(panel.openings) == 1


def test_a_circle_has_few_smooth_nodes(sheet):
    sheet.space.add_circle((5, -7), 120)
    panel = sheet.only()
    circle_ok(panel, 120)
    assert len(panel.outline) <= 6
    assert panel.at == pytest.approx((5 - 120, -7 - 120), abs=CURVE_MM)


def test_a_whole_ellipse_and_half_of_one(sheet):
    sheet.space.add_ellipse((0, 0), major_axis=(60, 80), ratio=0.35)
    sheet.space.add_ellipse(
        (500, 0), major_axis=(100, 0), ratio=0.5, start_param=0, end_param=math.pi
    )
    sheet.space.add_line((400, 0), (600, 0))
    whole, half = sheet.read().panels
    assert panel_area(whole) == pytest.approx(math.pi * 100 * 35, abs=CURVE_MM * 450)
    assert panel_area(half) == pytest.approx(math.pi * 100 * 50 / 2, abs=CURVE_MM * 450)
    assert [n.smooth for n in half.outline].count(False) == 2


def test_bulges_are_arcs(sheet):
    # A slot: two lines of 300 and two half circles of radius 40.
    slot = [(0, 0, 0), (300, 0, 1), (300, 80, 0), (0, 80, 1)]
    sheet.space.add_lwpolyline(slot, format="xyb", close=True)
    panel = sheet.only()
    assert panel_area(panel) == pytest.approx(300 * 80 + math.pi * 40**2, abs=CURVE_MM * 260)
    assert length(panel.outline) == pytest.approx(600 + 2 * math.pi * 40, abs=0.05)
    assert all(n.smooth for n in panel.outline)


@pytest.mark.parametrize("bulge", [0.2, -0.3, 0.6, -1.0])
def test_a_bulge_adds_a_segment_of_a_circle(sheet, bulge):
    side = 200.0
    sheet.space.add_lwpolyline(
        [(0, 0, bulge), (side, 0, 0), (side, 400, 0), (0, 400, 0)], format="xyb", close=True
    )
    angle = 4 * math.atan(abs(bulge))
    radius = side / 2 / math.sin(angle / 2)
    segment = radius**2 / 2 * (angle - math.sin(angle))
    expected = side * 400 + math.copysign(segment, bulge)
    assert panel_area(sheet.only()) == pytest.approx(expected, abs=CURVE_MM * radius * angle)


def test_polylines_of_the_old_kind_have_bulges_too(tmp_path):
    sheet = Sheet(tmp_path, "R12")
    slot = [(0, 0, 0), (300, 0, 1), (300, 80, 0), (0, 80, 1)]
    sheet.space.add_polyline2d(slot, format="xyb", close=True)
    panel = sheet.only(units=Units.MM)
    assert panel_area(panel) == pytest.approx(300 * 80 + math.pi * 40**2, abs=CURVE_MM * 260)


def test_a_polyline_in_space_is_seen_from_above(sheet):
    sheet.space.add_polyline3d([(0, 0, 5), (90, 0, 9), (90, 40, 30), (0, 40, 0)], close=True)
    panel = sheet.only()
    assert panel_area(panel) == pytest.approx(3600)
    assert not any(n.smooth for n in panel.outline)


@pytest.mark.parametrize("degree", [2, 3, 4, 5])
def test_splines_keep_within_the_tolerance(sheet, degree):
    points = [(0, 0), (80, 150), (200, -60), (310, 90), (400, 20), (420, 300), (10, 280)]
    spline = BSpline(points, order=degree + 1)
    sheet.space.add_spline(dxfattribs={"degree": degree}).apply_construction_tool(spline)
    sheet.space.add_line(points[-1], points[0])
    off = off_curve(sheet.only(), spline)
    assert off <= CURVE_MM
    if degree <= 3:  # exact, but for the check itself
        assert off <= 1e-4


def test_a_rational_spline_is_the_circle_that_it_stands_for(sheet):
    # The circle of nine points, weights 1 and cos 45 degrees. Source: Piegl and Tiller, The
    # NURBS Book, 7.5.
    ring = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    half = math.sqrt(0.5)
    spline = sheet.space.add_rational_spline(
        [(150 * x, 150 * y) for x, y in ring], [1, half] * 4 + [1], degree=2,
        knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
    )  # fmt: skip
    spline.closed = True
    circle_ok(sheet.only(), 150)


def test_a_spline_given_by_fit_points_runs_through_them(sheet):
    fit = [(0, 0), (120, 60), (240, 0), (300, 150), (0, 160)]
    sheet.space.add_spline(fit)
    sheet.space.add_line(fit[-1], fit[0])
    panel = sheet.only()
    ring = shapely.LinearRing(
        [(z.real + panel.at[0], z.imag + panel.at[1]) for z in dense_points(panel.outline)]
    )
    assert all(ring.distance(shapely.Point(at)) < CURVE_MM for at in fit)


def off_curve(panel, spline):
    """How far points of a spline are from the panel's outline."""
    ring = dense_points(panel.outline, 2000) + complex(*panel.at)
    line = shapely.LinearRing([(z.real, z.imag) for z in ring])
    spots = [shapely.Point(p.x, p.y) for p in spline.points(spline.params(97))]
    return max(line.distance(spot) for spot in spots)


def test_blocks_nested_scaled_mirrored_and_turned(sheet):
    inner = sheet.document.blocks.new("Lug", base_point=(2, 1))
    inner.add_lwpolyline([(0, 0, 0.5), (30, 0, 0), (30, 20, 0), (0, 20, 0)], format="xyb",
                         close=True)  # fmt: skip
    outer = sheet.document.blocks.new("Bracket", base_point=(-5, 3))
    outer.add_blockref("Lug", (7, 9), dxfattribs={"xscale": -2, "yscale": 2, "rotation": 30})
    sheet.space.add_blockref(
        "Bracket", (100, 200), dxfattribs={"xscale": 1.5, "yscale": -0.5, "rotation": -70}
    )
    panel = sheet.only()
    angle = 4 * math.atan(0.5)
    radius = 15 / math.sin(angle / 2)
    own = 600 + radius**2 / 2 * (angle - math.sin(angle))
    assert panel_area(panel) == pytest.approx(own * 4 * 0.75, abs=0.5)
    corner = place((30, 20))
    assert min(abs(complex(*n.at) + complex(*panel.at) - corner) for n in panel.outline) < 1e-3
    assert panel.name == "Bracket"


def place(point):
    """Where a point of Lug ends up: placed in Bracket, then in the drawing."""

    def insert(z, base, at, xscale, yscale, turn):
        z -= base
        z = complex(z.real * xscale, z.imag * yscale)
        return z * complex(math.cos(math.radians(turn)), math.sin(math.radians(turn))) + at

    z = insert(complex(*point), 2 + 1j, 7 + 9j, -2, 2, 30)
    return insert(z, -5 + 3j, 100 + 200j, 1.5, -0.5, -70)


def test_a_circle_in_a_stretched_block_is_an_ellipse(sheet):
    sheet.document.blocks.new("Eye").add_circle((0, 0), 10)
    sheet.space.add_blockref("Eye", (0, 0), dxfattribs={"xscale": 12, "yscale": -3})
    assert panel_area(sheet.only()) == pytest.approx(math.pi * 120 * 30, abs=CURVE_MM * 520)


def test_rows_and_columns_of_a_block(sheet):
    block = sheet.document.blocks.new("Plate")
    block.add_lwpolyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True)
    sheet.space.add_blockref("Plate", (0, 0)).grid((3, 4), (20, 30))
    panels = sheet.read().panels
    assert len(panels) == 12
    assert {p.at for p in panels} == {(30.0 * x, 20.0 * y) for x in range(4) for y in range(3)}


def test_entities_of_a_mirrored_plane_come_out_where_they_are_seen(sheet):
    # Extruded along -z the plane's x points the other way (DXF reference, arbitrary axis).
    sheet.space.add_circle((40, 10), 25, dxfattribs={"extrusion": (0, 0, -1)})
    panel = sheet.only()
    circle_ok(panel, 25)
    assert panel.at == pytest.approx((-40 - 25, 10 - 25), abs=CURVE_MM)


def test_layer_0_of_a_block_is_the_layer_on_which_it_is_placed(sheet):
    sheet.document.blocks.new("Plate").add_circle((0, 0), 10)
    sheet.space.add_blockref("Plate", (0, 0), dxfattribs={"layer": "PARTS"})
    outlines = sheet.read()
    assert outlines.panel_layers == ("PARTS",)


def test_layers_are_choices_and_hidden_ones_are_not_read_unasked(sheet):
    sheet.document.layers.add("OLD").off()
    sheet.document.layers.add("COLD").freeze()
    for x, layer in enumerate(("NEW", "OLD", "COLD")):
        sheet.space.add_circle((100 * x, 0), 10 + x, dxfattribs={"layer": layer})
    outlines = sheet.read()
    assert [(layer.name, layer.is_shown, layer.is_read) for layer in outlines.layers] == [
        ("NEW", True, True), ("OLD", False, False), ("COLD", False, False),
    ]  # fmt: skip
    assert [p.name for p in outlines.panels] == ["NEW"]
    chosen = sheet.read(layers=("OLD", "COLD"))
    assert [p.name for p in chosen.panels] == ["OLD", "COLD"]
    with pytest.raises(
        ValueError, match=r"no layer named GONE .*Its layers are: NEW, OLD, COLD"
    ):
        sheet.read(layers=("GONE",))


@pytest.mark.parametrize(
    ("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (14, 100.0)]
)
def test_units_are_taken_from_the_file(tmp_path, code, mm):
    sheet = Sheet(tmp_path, units=code)
    sheet.space.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True)
    outlines = sheet.read()
    assert not outlines.is_unit_assumed
    assert panel_area(outlines.panels[0]) == pytest.approx(6 * mm**2)


def test_units_that_the_file_does_not_say_are_told_and_can_be_said(tmp_path):
    sheet = Sheet(tmp_path, units=0)
    sheet.space.add_circle((0, 0), 4)
    assert sheet.read().is_unit_assumed
    assert sheet.read().mm_per_unit == 1.0
    told = sheet.read(units=Units.IN)
    assert not told.is_unit_assumed
    circle_ok(told.panels[0], 4 * 25.4)


def test_what_is_skipped_is_counted_by_kind_with_a_reason(sheet):
    space = sheet.space
    space.add_circle((0, 0), 50)
    space.add_text("one")
    space.add_text("two")
    space.add_mtext("three")
    space.add_point((1, 1))
    space.add_hatch()
    space.add_xline((0, 0), (1, 1))
    space.add_line((500, 0), (600, 0))
    space.add_circle((900, 0), 5, dxfattribs={"invisible": 1})
    space.add_blockref("GONE", (0, 0))
    sheet.document.paperspace().add_line((0, 0), (5, 5))
    skipped = {(s.kind, s.count): s.reason for s in sheet.read().skipped}
    assert skipped["TEXT", 2] == skipped["MTEXT", 1] == "texts are not outlines"
    assert skipped["HATCH", 1] == "a fill, not a line"
    assert skipped["XLINE", 1] == "it has no end"
    assert skipped["POINT", 1]
    assert skipped["CIRCLE", 1] == "it is hidden"
    assert skipped["INSERT", 1] == "its block is not in the file"
    assert skipped["Open line", 1] == "it encloses nothing"
    assert any(kind == "Paper layouts" for kind, _ in skipped)


def test_a_block_that_holds_itself_is_skipped(sheet):
    loop = sheet.document.blocks.new("Loop")
    loop.add_circle((0, 0), 10)
    loop.add_blockref("Loop", (50, 0))
    sheet.space.add_blockref("Loop", (0, 0))
    outlines = sheet.read()
    assert len(outlines.panels) == 1
    assert [s.reason for s in outlines.skipped] == ["its block holds itself"]


def test_a_file_without_lines_is_refused_with_what_it_holds(sheet):
    sheet.space.add_text("only words")
    with pytest.raises(ImportFailed, match=r"no line or curve in it\. .*left out: 1 TEXT"):
        sheet.read()


def test_a_file_that_is_cut_off_is_mended_and_it_says_so(sheet):
    sheet.space.add_circle((0, 0), 40)
    sheet.document.saveas(sheet.path)
    text = sheet.path.read_text()
    end = text.index("ENDSEC", text.index("\nCIRCLE"))
    sheet.path.write_text(text[: end - 4] + " 10\nbroken\n  0\n" + text[end:])
    outlines = read_outlines(sheet.path)
    circle_ok(outlines.panels[0], 40)
    assert "damaged and was mended" in outlines.repairs[0]


def test_a_binary_dxf_is_read(sheet):
    sheet.space.add_circle((0, 0), 40)
    with sheet.path.open("wb") as stream:
        sheet.document.write(stream, fmt="bin")
    circle_ok(read_outlines(sheet.path).panels[0], 40)


def test_other_files_under_the_name_are_refused(tmp_path):
    for content, said in (
        (b"AC1027\0\0\0", "a DWG file under another name"),
        (b"hello\nworld\n", "not a DXF"),
        (b"", "not a DXF"),
        (b"  0\nSECTION\n  2\nHEADER\n  9\n", "broken beyond repair|no line or curve"),
    ):
        path = tmp_path / "odd.dxf"
        path.write_bytes(content)
        with pytest.raises(ImportFailed, match=said):
            read_outlines(path)


class Impatient:
    """Cancels after so many questions."""

    def __init__(self, patience):
        self.patience = patience
        self.told = []

    def tell(self, progress):
        self.told.append(progress)

    def is_cancelled(self):
        self.patience -= 1
        return self.patience < 0


def test_reading_tells_how_far_it_is_and_stops_at_any_time(sheet):
    for i in range(3000):
        sheet.space.add_circle((30 * i, 0), 10)
    sheet.document.saveas(sheet.path)
    patient = Impatient(10**9)
    assert len(read_outlines(sheet.path, None, patient).panels) == 3000
    words = [step.words for step in patient.told]
    assert words[0] == "Reading the file"
    assert {"Placing blocks", "Joining lines", "Sorting outlines"} <= set(words)
    shares = [step.share for step in patient.told if step.share is not None]
    assert shares == sorted(shares)
    for patience in (0, 3, 12, 40):
        with pytest.raises(Cancelled):
            read_outlines(sheet.path, None, Impatient(patience))


def test_outlines_run_counter_clockwise(sheet):
    sheet.space.add_lwpolyline([(0, 0), (0, 50), (70, 50), (70, 0)], close=True)
    sheet.space.add_lwpolyline([(10, 10), (10, 20), (30, 20), (30, 10)], close=True)
    panel = sheet.only()
    assert area(panel.outline) == pytest.approx(3500)
    assert area(panel.openings[0].nodes) == pytest.approx(200)


def test_a_spline_without_clamped_ends_keeps_within_the_tolerance(sheet):
    points = [(0, 0), (100, 0), (150, 90), (60, 180), (-60, 140)]
    ring = BSpline([*points, *points[:3]], order=4, knots=list(range(12)))
    sheet.space.add_spline(dxfattribs={"degree": 3}).apply_construction_tool(ring)
    panel = sheet.only()
    assert off_curve(panel, ring) <= 1e-3
    assert all(n.smooth for n in panel.outline)
    assert len(panel.outline) == 5


def test_a_bulged_polyline_of_a_mirrored_plane(sheet):
    points = [(0, 0, 0.5), (100, 0, 0), (100, 60, 0), (0, 60, 0)]
    sheet.space.add_lwpolyline(
        points, format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1), "elevation": 5}
    )
    angle = 4 * math.atan(0.5)
    radius = 50 / math.sin(angle / 2)
    bow = radius**2 / 2 * (angle - math.sin(angle))
    panel = sheet.only()
    # In its plane the bow bulges outwards, below y = 0; seen from above only x is mirrored.
    assert panel_area(panel) == pytest.approx(6000 + bow, abs=CURVE_MM * 300)
    assert panel.at == pytest.approx((-100, -radius * (1 - math.cos(angle / 2))), abs=CURVE_MM)


@pytest.mark.parametrize("join_mm", [-1.0, 1e6, math.nan])
def test_a_tolerance_beyond_all_sense_is_refused(sheet, join_mm):
    sheet.space.add_circle((0, 0), 40)
    with pytest.raises(ValueError, match="tolerance has to be between"):
        sheet.read(join_mm=join_mm)


def test_what_is_drawn_twice_is_told_and_taken_once(sheet):
    for _ in range(2):
        sheet.space.add_circle((0, 0), 40)
        sheet.space.add_lwpolyline([(100, 0), (200, 0), (200, 90)], close=True)
    sheet.space.add_lwpolyline([(200, 0), (200, 90), (100, 0)], close=True)
    outlines = sheet.read()
    assert len(outlines.panels) == 2
    assert outlines.repairs == (
        "2 lines were drawn twice; one is kept.",
        "1 outline was drawn twice; one is kept.",
    )


def test_outlines_and_openings_that_cross_themselves_are_told_of(sheet):
    sheet.space.add_lwpolyline([(0, 0), (900, 0), (900, 400), (0, 400), (50, -9)], close=True)
    sheet.space.add_lwpolyline([(200, 100), (300, 200), (300, 100), (200, 190)], close=True)
    outlines = sheet.read()
    assert len(outlines.panels[0].openings) == 1
    assert [note.partition(": ")[2] for note in outlines.notes] == [
        "the outline crosses itself; mend it after the import.",
        "an opening crosses itself; mend it after the import.",
    ]


def test_meshes_and_other_solids_are_no_outlines(sheet):
    sheet.space.add_circle((0, 0), 40)
    sheet.space.add_polymesh((3, 3))
    sheet.space.add_3dface([(0, 0), (9, 0), (9, 9)])
    sheet.space.add_circle((0, 0), 0)
    sheet.space.add_line((5, 5), (5, 5))
    reasons = {s.kind: s.reason for s in sheet.read().skipped}
    assert reasons["POLYLINE"] == "a mesh, not a flat outline"
    assert reasons["3DFACE"] == "a solid, not a flat outline"
    assert reasons["CIRCLE"] == reasons["LINE"] == "it has no length"

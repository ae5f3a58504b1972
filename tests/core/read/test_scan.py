"""Scans: read in four formats, mended where it is safe, thinned, chosen from, laid flat."""

import io
import struct
import zipfile

import numpy as np
import pytest
import trimesh
from shapely import Polygon, box

from core.errors import Cancelled, Damaged, GeometryError, ImportFailed, InputError
from core.progress import Silent
from core.read.scan import KINDS, MAX_BYTES, ScanMesh, read_scan, scaled, scan_from_bytes
from core.read.scan_closing import openings_closed
from core.read.scan_decimation import thinned
from core.read.scan_mending import mended, turned_over
from core.read.scan_part import (
    cut_out,
    grown_from,
    loops_of,
    part_of,
    within_lasso,
    within_loop,
)
from core.shape.judging import judge
from core.shape.model import Window
from core.shape.scanned import ScannedMesh, mesh_from_bytes, mesh_to_bytes
from helpers.surfaces import cap, cylinder, disc, grid
from sample_projects.domed_hood import hood_mesh


def as_file(mesh, kind):
    data = trimesh.Trimesh(*mesh, process=False).export(file_type=kind)
    return data.encode() if isinstance(data, str) else data


def as_scan(mesh):
    return ScanMesh(np.asarray(mesh[0], dtype=float), np.asarray(mesh[1], dtype=np.int64))


def area_of(mesh):
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).area


@pytest.fixture(scope="module")
def hood():
    return hood_mesh(14)


@pytest.mark.parametrize("kind", KINDS)
def test_every_format_gives_the_same_surface(hood, kind, tmp_path):
    path = tmp_path / f"hood.{kind.upper()}"
    path.write_bytes(as_file(hood, kind))
    made = mended(read_scan(path), path.name)
    assert made.told == ()
    assert len(made.mesh.triangles) == 6 * 14**2
    assert area_of(made.mesh) == pytest.approx(trimesh.Trimesh(*hood).area, rel=1e-5)
    assert len(loops_of(made.mesh)) == 1


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "data",
    [
        b"solid x\nfacet nor\nendsolid",
        b"PK\x03\x04rubbish",
        b"ply\nformat ascii 1.0\nend_header\n",
    ],
)
def test_rubbish_is_refused(kind, data):
    with pytest.raises(ImportFailed, match=r"part\.x: .*(broken|no triangles)"):
        scan_from_bytes(data, kind, "part.x")


def test_odd_files_are_refused(tmp_path):
    with pytest.raises(ImportFailed, match="STL, OBJ, PLY or 3MF"):
        scan_from_bytes(b"", "doc", "a.doc")
    with pytest.raises(ImportFailed, match="cannot be read"):
        read_scan(tmp_path / "none.stl")
    large = tmp_path / "large.stl"
    with large.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    with pytest.raises(ImportFailed, match="256 MB"):
        read_scan(large)
    lost = struct.pack("<80sI", b"", 1) + struct.pack("<12fH", *[0.0] * 11, np.nan, 0)
    with pytest.raises(ImportFailed, match="lie nowhere"):
        scan_from_bytes(lost, "stl", "a.stl")


def test_an_stl_that_was_cut_off_is_told_from_what_is_no_mesh(hood):
    whole = as_file(hood, "stl")
    with pytest.raises(ImportFailed, match=r"incomplete: 588 of its 1,176 triangles are there"):
        scan_from_bytes(whole[: 84 + 50 * 588 + 20], "stl", "a.stl")
    words = as_file(hood, "stl_ascii")
    assert len(scan_from_bytes(words, "stl", "a.stl").triangles) == 1176
    with pytest.raises(ImportFailed, match="incomplete"):
        scan_from_bytes(words[: len(words) // 2], "stl", "a.stl")
    with pytest.raises(ImportFailed, match="no mesh file"):
        scan_from_bytes(np.random.default_rng(1).bytes(5000), "stl", "a.stl")
    with pytest.raises(ImportFailed, match="empty"):
        scan_from_bytes(b"", "stl", "a.stl")


def test_places_too_far_off_to_be_kept_are_refused(hood):
    far = part_of(as_scan(hood), tolerance_mm=1.0).mesh
    metres = ScannedMesh(far.vertices * 1000, far.triangles, far.at)
    with pytest.raises(GeometryError, match="unit of the file"):
        mesh_to_bytes(metres)


def test_a_3mf_that_would_fill_the_memory_is_refused(monkeypatch):
    monkeypatch.setattr("core.read.scan.MAX_UNPACKED_BYTES", 1000)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b" " * 2000)
    with pytest.raises(ImportFailed, match="unpacks to more"):
        scan_from_bytes(buffer.getvalue(), "3mf", "a.3mf")


def test_a_known_length_gives_the_size(hood):
    inches = ScanMesh(hood[0] / 25.4, hood[1])
    shown = np.ptp(inches.vertices[:, 0])
    assert scaled(inches, shown, np.ptp(hood[0][:, 0])).vertices == pytest.approx(hood[0])
    with pytest.raises(InputError):
        scaled(inches, 0.0, 5.0)


def test_what_is_safe_is_mended_and_told(hood):
    vertices, triangles = hood
    rng = np.random.default_rng(5)
    flipped = triangles.copy()
    some = rng.random(len(flipped)) < 0.3
    flipped[some] = flipped[some][:, [0, 2, 1]]
    doubled = np.vstack((flipped, flipped[:7], [[3, 3, 4]]))
    crumb = np.array([[0, 0, 900.0], [5, 0, 900], [0, 5, 900]])
    soup = np.vstack((vertices[doubled].reshape(-1, 3), crumb))  # no corner is shared
    scan = ScanMesh(soup, np.arange(len(soup)).reshape(-1, 3))
    made = mended(scan, "soup.stl")
    told = " ".join(made.told)
    for words in ("without area", "7 triangles were there twice", "1 loose crumbs"):
        assert words in told
    assert f"{some.sum():,} triangles faced the wrong way" in told
    assert len(made.mesh.triangles) == len(triangles)
    part = part_of(made.mesh, tolerance_mm=1.0)
    whole = judge(part.mesh.network, Window(2, 5)).range_pct
    assert whole == pytest.approx(
        judge(part_of(as_scan(hood), tolerance_mm=1.0).mesh.network, Window(2, 5)).range_pct,
        rel=0.01,
    )


def test_closed_parts_face_outwards():
    ball = trimesh.creation.icosphere(subdivisions=2, radius=50)
    made = mended(ScanMesh(ball.vertices, ball.faces[:, [0, 2, 1]].astype(np.int64)), "b.stl")
    assert "turned inside out" in " ".join(made.told)
    assert trimesh.Trimesh(made.mesh.vertices, made.mesh.triangles).volume > 0
    with pytest.raises(GeometryError, match="closed"):
        part_of(made.mesh, tolerance_mm=1.0)
    assert (turned_over(turned_over(made.mesh)).triangles == made.mesh.triangles).all()


def test_a_torn_scan_is_closed_up_to_a_size_and_its_rim_is_left():
    flat, triangles = disc(20, 100.0)
    vertices = np.column_stack((flat, np.zeros(len(flat))))
    middles = vertices[triangles].mean(axis=1)
    opening = np.hypot(middles[:, 0] - 40, middles[:, 1]) < 22
    # Where holes of one triangle touch in a corner the rim passes it more than once.
    torn = np.random.default_rng(2).random(len(triangles)) < 0.08
    torn &= np.hypot(*middles[:, :2].T) < 80
    scan = ScanMesh(vertices, triangles[~opening & ~torn])
    made, closed = openings_closed(scan, 20.0)
    assert closed > 20
    loops = loops_of(made)
    assert len(loops) == 2  # the rim, and the opening of some 44 mm across
    sound = trimesh.Trimesh(vertices, triangles[~opening], process=False)
    assert area_of(made) == pytest.approx(sound.area, rel=1e-2)
    assert (made.triangles[: len(scan.triangles)] == scan.triangles).all()
    assert len(loops_of(openings_closed(scan, 1e6)[0])) == 1


def test_drawing_many_openings_tells_how_far_it_is_and_can_be_stopped():
    flat, triangles = disc(20, 100.0)
    middles = flat[triangles].mean(axis=1)
    opening = np.hypot(middles[:, 0] - 40, middles[:, 1]) < 22
    scan = as_scan((np.column_stack((flat, np.zeros(len(flat)))), triangles[~opening]))
    shares = []

    class Watched(Silent):
        def tell(self, step):
            shares.append(step.share)

        def is_cancelled(self):
            return 0.0 in shares

    with pytest.raises(Cancelled):
        part_of(scan, tolerance_mm=3.0, progress=Watched())
    assert shares == [0.0]


def test_pinholes_are_closed_and_openings_are_left():
    flat, triangles = disc(20, 100.0)
    vertices = np.column_stack((flat, np.zeros(len(flat))))
    middles = vertices[triangles].mean(axis=1)
    opening = np.hypot(middles[:, 0] - 40, middles[:, 1]) < 22
    pinhole = np.zeros(len(triangles), dtype=bool)
    pinhole[np.argmin(np.hypot(middles[:, 0] + 40, middles[:, 1]))] = True
    made = mended(ScanMesh(vertices, triangles[~opening & ~pinhole]), "d.stl")
    assert made.told == ("1 pinhole was closed.",)
    part = part_of(made.mesh, tolerance_mm=3.0)
    assert len(part.openings) == 1
    assert np.abs(judge(part.mesh.network, Window(2, 5)).laying.strains).max() < 1e-4


def band(twist, count=40):
    """A ring of two rows of points; half a twist joins its ends the other way up."""
    turns = 2 * np.pi * np.arange(count) / count
    rows = []
    for side in (-20.0, 20.0):
        out = 100 + side * np.sin(twist * turns)
        rows.append(
            np.column_stack(
                (out * np.cos(turns), out * np.sin(turns), side * np.cos(twist * turns))
            )
        )
    here = np.arange(count)
    after = (here + 1) % count
    is_over = (here == count - 1) & (twist != 0)
    low, high = np.where(is_over, count, after), np.where(is_over, 0, after + count)
    first = np.column_stack((here, low, high))
    return ScanMesh(
        np.vstack(rows), np.vstack((first, np.column_stack((here, high, here + count))))
    )


def test_a_twisted_ring_is_refused():
    assert len(mended(band(0.0), "ring.stl").mesh.triangles) == 80
    with pytest.raises(ImportFailed, match="one side only"):
        mended(band(0.5), "twisted.stl")


def test_thinning_keeps_within_its_bound_or_refuses():
    dense = as_scan(hood_mesh(60))
    made = thinned(dense, most_mm=0.2, triangles=3000)
    assert len(made.mesh.triangles) < 6000
    assert 0 < made.deviation_mm <= 0.2
    assert thinned(made.mesh, most_mm=0.2, triangles=9000).deviation_mm == 0.0
    with pytest.raises(ImportFailed, match="mm off"):
        thinned(dense, most_mm=1e-6, triangles=100)


def test_growing_stops_at_edges_and_at_a_lean(hood):
    scan = as_scan(hood)
    top = int(np.argmax(scan.vertices[scan.triangles].mean(axis=1)[:, 2]))
    assert grown_from(scan, top).all()
    lean = grown_from(scan, top, lean_deg=30)
    assert 0.3 < lean.mean() < 0.9
    solid = trimesh.creation.box((100, 100, 40)).subdivide().subdivide()
    box_scan = mended(as_scan((solid.vertices, solid.faces)), "box.stl").mesh
    chosen = grown_from(box_scan, 0)
    assert chosen.sum() == len(box_scan.triangles) / 6
    part = part_of(cut_out(box_scan, chosen), tolerance_mm=0.5)
    assert len(part.outline) == 4


def test_a_toothed_rim_gives_a_smooth_outline():
    """Triangles are chosen whole, so the rim of a choice is a saw; the outline is none."""
    flat, triangles = grid(40, 40)
    vertices = np.column_stack((200 * flat, np.zeros(len(flat))))
    scan = ScanMesh(vertices, triangles)
    middles = vertices[triangles].mean(axis=1)
    chosen = middles[:, 0] + middles[:, 1] < 250.0  # cut along a diagonal, by whole triangles
    part = part_of(cut_out(scan, chosen), tolerance_mm=2.0)
    assert len(part.outline) <= 8
    assert Polygon([n.at for n in part.outline]).area == pytest.approx(
        200**2 - 150**2 / 2, rel=0.03
    )


def test_a_lasso_takes_what_is_seen_within_it(hood):
    scan = as_scan(hood)
    seen = np.ones(len(scan.triangles), dtype=bool)
    chosen = within_lasso(scan, scan.vertices[:, :2], box(-120, -120, 120, 120), seen)
    part = part_of(cut_out(scan, chosen), tolerance_mm=25.0)
    assert Polygon([n.at for n in part.outline]).area == pytest.approx(240**2, rel=0.2)
    assert within_loop(scan, loops_of(scan)[0]).all()
    with pytest.raises(ImportFailed, match="Nothing is chosen"):
        cut_out(scan, ~seen)


def test_bytes_are_the_same_again_and_hold_the_same_surface():
    mesh = part_of(as_scan(cap(30)), tolerance_mm=1.0).mesh
    data = mesh_to_bytes(mesh)
    again = mesh_from_bytes(data, "job.lapline: scans/a")
    assert mesh_to_bytes(again) == data
    assert again.network.sides == pytest.approx(mesh.network.sides, abs=1e-3)
    assert again.at == pytest.approx(mesh.at, abs=1e-4)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d[:-1],
        lambda d: d + b"\0",
        lambda d: b"X" + d[1:],
        lambda d: d[:10],
        lambda d: d[:8] + struct.pack("<II", 2**32 - 1, 2**32 - 1) + d[16:],
        lambda d: d[:-12] + struct.pack("<III", 0, 1, 2**31),
        lambda d: d[:-12] + d[-24:-12],
        lambda d: d[:16] + struct.pack("<i", -(2**31)) + d[20:],
    ],
    ids=["cut", "longer", "other", "head", "counts", "corner", "twice", "far away"],
)
def test_spoilt_bytes_are_refused(spoil):
    data = mesh_to_bytes(part_of(as_scan(cylinder(around=6, along=5)), tolerance_mm=1.0).mesh)
    with pytest.raises(Damaged, match=r"scans/a: .*Read the scan in again"):
        mesh_from_bytes(spoil(data), "scans/a")


def test_reading_can_be_stopped(hood):
    class Stopped(Silent):
        def is_cancelled(self):
            return True

    with pytest.raises(Cancelled):
        scan_from_bytes(as_file(hood, "stl"), "stl", "hood.stl", Stopped())
    with pytest.raises(Cancelled):
        mended(as_scan(hood), "hood.stl", Stopped())

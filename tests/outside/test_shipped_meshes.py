"""Meshes that others made: opened, mended, thinned, chosen from, laid flat.

They are samples within the wheel of compas 2.15.1 (2.5 MB, MIT licence, the samples with it;
COMPAS Association). Nothing of that package is imported. What a file should hold is counted by
trimesh (MIT) alone, and layouts are compared with those of libigl (MPL-2.0).
"""

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import trimesh

from core.read.scan import ScanMesh, scaled
from core.read.scan_decimation import thinned
from core.read.scan_panel import open_scan
from core.read.scan_part import cut_out, grown_from, loops_of, part_of
from helpers.igl_layout import assert_laid_as_libigl_does

_SPEC = find_spec("compas")
SAMPLES = Path(_SPEC.origin).parent / "data" / "samples" if _SPEC and _SPEC.origin else None
pytestmark = pytest.mark.skipif(
    SAMPLES is None or not SAMPLES.is_dir(),
    reason="the meshes that compas ships are not installed (pip install 'compas>=2.15')",
)
METRE = 1000.0


def shipped(name):
    return trimesh.load_mesh(SAMPLES / name, process=True)


def opened(name):
    return open_scan(SAMPLES / name)


@pytest.mark.parametrize(
    "name",
    ["cone.stl", "hypar.obj", "mesh.obj", "quadmesh.obj", "tubemesh.obj", "tubemesh.ply"],
)
def test_a_sound_mesh_is_opened_as_it_is(name):
    theirs, scan = shipped(name), opened(name)
    scale = 1.0 if name.endswith("ply") else METRE  # small numbers are taken for metres
    assert all("taken for metres" in what for what in scan.told)
    assert len(scan.mesh.triangles) == len(theirs.faces)
    assert len(scan.mesh.vertices) == len(theirs.vertices)
    ours = trimesh.Trimesh(scan.mesh.vertices, scan.mesh.triangles, process=False)
    assert ours.area == pytest.approx(scale**2 * theirs.area, rel=1e-4)
    assert ours.is_winding_consistent
    assert len(loops_of(scan.mesh)) == len(theirs.outline().entities)
    if theirs.is_watertight:
        assert ours.volume == pytest.approx(scale**3 * theirs.volume, rel=1e-4)


def test_triangles_that_face_the_wrong_way_are_turned():
    scan = opened("faces_reversed.obj")
    assert not shipped("faces_reversed.obj").is_winding_consistent
    assert any("faced the wrong way" in what for what in scan.told)
    ours = trimesh.Trimesh(scan.mesh.vertices, scan.mesh.triangles, process=False)
    assert ours.is_winding_consistent
    assert len(scan.mesh.triangles) == len(shipped("faces.obj").faces)


@pytest.mark.parametrize("name", ["boxes.obj", "cube_ascii.stl"])
def test_where_more_than_two_triangles_meet_the_surface_is_parted_and_told(name):
    scan = opened(name)
    assert any("three or more triangles meet" in what for what in scan.told)
    assert any("choose the one to be covered" in what for what in scan.told)
    # Any of its parts can be covered, however wild the whole is.
    part = cut_out(scan.mesh, grown_from(scan.mesh, 0, edge_deg=20.0))
    assert len(loops_of(part)) == 1
    made = part_of(part, tolerance_mm=0.5)
    assert len(made.mesh.triangles) == len(part.triangles)


def test_the_flat_end_of_a_cone_is_chosen_up_to_its_edge():
    theirs, scan = shipped("cone.stl"), opened("cone.stl")
    facet = max(theirs.facets, key=len)
    normal = theirs.face_normals[facet[0]]
    ours = trimesh.Trimesh(scan.mesh.vertices, scan.mesh.triangles, process=False)
    start = int(np.argmax(ours.face_normals @ normal))
    chosen = grown_from(scan.mesh, start, edge_deg=20.0)
    assert chosen.sum() == len(facet)
    area = ours.area_faces[chosen].sum()
    assert area == pytest.approx(METRE**2 * theirs.area_faces[facet].sum(), rel=1e-6)


def finer(name, times):
    """A shipped mesh with each triangle parted, as a scan of it has many."""
    mesh = shipped(name)
    mesh.merge_vertices(merge_tex=True, merge_norm=True)
    for _ in range(times):
        mesh = mesh.subdivide()
    return ScanMesh(np.array(mesh.vertices), np.array(mesh.faces, dtype=np.int64))


@pytest.mark.parametrize("name", ["hypar.obj", "tubemesh.obj"])
def test_a_mesh_is_thinned_within_its_bound(name):
    dense = finer(name, 2)
    most = 0.002 * dense.size_mm
    thin = thinned(dense, most_mm=most, triangles=len(dense.triangles) // 6)
    assert len(thin.mesh.triangles) < len(dense.triangles) / 2
    # trimesh measures how far each corner of the one lies from the other.
    theirs = trimesh.Trimesh(dense.vertices, dense.triangles, process=False)
    pairs = trimesh.proximity.closest_point_naive(theirs, thin.mesh.vertices[::3])
    assert pairs[1].max() <= thin.deviation_mm + 1e-9
    assert thin.deviation_mm <= most


def test_a_mesh_that_no_thinning_brings_within_its_bound_stays_as_it_is():
    # Between twice and four times as many triangles as are aimed at, and nothing to spare.
    dense = finer("tubemesh.obj", 1)
    thin = thinned(dense, most_mm=0.0, triangles=len(dense.triangles) // 3)
    assert thin.mesh is dense


@pytest.mark.parametrize(
    ("name", "times"),
    [("hypar.obj", 2), ("mesh.obj", 1), ("quadmesh.obj", 1), ("tubemesh.obj", 1)],
)
def test_a_shipped_mesh_is_laid_as_libigl_lays_it(name, times):
    mesh = scaled(finer(name, times), 1.0, 100.0)
    assert_laid_as_libigl_does(mesh.vertices, mesh.triangles)

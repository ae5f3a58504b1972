"""A scan becomes a panel."""

import numpy as np
import pytest
import trimesh
from shapely import Polygon

from core.document.file import JobFile, from_bytes, to_bytes
from core.document.flatten import flatten
from core.errors import Cancelled, ImportFailed
from core.plan.plan import plan_file
from core.read.scan import ScanMesh
from core.read.scan_panel import PanelWish, open_scan, panel_from_scan
from helpers.jobs import job_with, rect_panel
from helpers.surfaces import cap, cylinder

WISH = PanelWish("Lid", "f1", "lid.stl")


def written(tmp_path, points, triangles):
    path = tmp_path / "part.stl"
    trimesh.Trimesh(points, triangles, process=False).export(path)
    return path


def all_of(mesh):
    return np.ones(len(mesh.triangles), dtype=bool)


def test_a_scan_of_small_numbers_is_taken_for_metres(tmp_path):
    points, triangles = cylinder()
    scan = open_scan(written(tmp_path, points / 1000, triangles))
    assert scan.mesh.size_mm == pytest.approx(ScanMesh(points, triangles).size_mm, rel=1e-3)
    assert any("metres" in line for line in scan.told)
    assert not open_scan(written(tmp_path, points, triangles)).told


def test_a_fine_scan_is_thinned_and_it_is_told_how_far_off(tmp_path):
    points, triangles = cylinder(around=200, along=120)
    scan = open_scan(written(tmp_path, points, triangles))
    assert len(scan.mesh.triangles) < len(triangles)
    assert any("Thinned from 48,000" in line for line in scan.told)


def test_what_is_no_scan_is_refused(tmp_path):
    path = tmp_path / "notes.stl"
    path.write_bytes(b"solid nothing")
    with pytest.raises(ImportFailed):
        open_scan(path)


def test_half_a_cylinder_becomes_the_rectangle_of_the_book():
    # Elementary: radius 150 over 180 degrees is pi * 150 = 471.24 across; 400 long.
    mesh = ScanMesh(*cylinder(around=96))
    made = panel_from_scan(job_with([rect_panel("p1", 100, 80)]), mesh, all_of(mesh), WISH)
    panel = made.job.panel(made.panel)
    assert (panel.name, panel.base_film, panel.surface.title) == ("Lid", "f1", "lid.stl")
    left, low, right, top = Polygon(flatten(panel.outline, closed=True)).bounds
    assert (right - left, top - low) == pytest.approx((np.pi * 150, 400), abs=1.5)
    assert panel.at[0] + left > 100
    assert panel.at[1] + low == pytest.approx(0, abs=0.1)


def test_the_panel_is_planned_with_its_scan_and_saved_with_it():
    mesh = ScanMesh(*cap(40.0, rings=8))
    made = panel_from_scan(job_with([]), mesh, all_of(mesh), WISH)
    file = from_bytes(to_bytes(JobFile(made.job, scans={made.file: made.data})), "job")
    (piece,) = plan_file(file).pieces
    # Milnor 1969: no film covers a cap of 40 degrees with less range than 8.61 %.
    assert piece.development.range_pct > 8.0


def test_a_hole_becomes_an_opening():
    points, triangles = cylinder()
    middles = points[triangles].mean(axis=1)
    chosen = np.hypot(middles[:, 0], middles[:, 1] - 200) > 60
    made = panel_from_scan(job_with([]), ScanMesh(points, triangles), chosen, WISH)
    assert len(made.job.panels[0].openings) == 1


def test_a_rim_that_runs_through_the_scan_is_drawn_evenly():
    mesh = ScanMesh(*cap(60.0, rings=24))
    middles = mesh.vertices[mesh.triangles].mean(axis=1)
    chosen = middles[:, 2] > 300 * np.cos(np.radians(40))
    made = panel_from_scan(job_with([]), mesh, chosen, WISH)
    outline = flatten(made.job.panels[0].outline, closed=True)
    away = np.hypot(*(outline - outline.mean(axis=0)).T)
    # The choice ends at a circle; teeth of the triangles are 13 mm high.
    assert len(made.job.panels[0].outline) < 40
    assert np.ptp(away) < 16


def test_nothing_chosen_is_refused_and_a_cancel_ends_it():
    mesh = ScanMesh(*cap(40.0, rings=8))
    with pytest.raises(ImportFailed):
        panel_from_scan(job_with([]), mesh, ~all_of(mesh), WISH)

    class Stop:
        def tell(self, progress):
            pass

        def is_cancelled(self):
            return True

    with pytest.raises(Cancelled):
        panel_from_scan(job_with([]), mesh, all_of(mesh), WISH, Stop())

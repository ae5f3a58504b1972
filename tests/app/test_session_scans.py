"""Scans of a job file: opened, planned with, kept while a panel names them, saved again."""

import numpy as np
import pytest

from app.canvas import clipboard
from app.session import Session
from core.document.edits.copies import copy_panels, panels_left_flat, paste_panels
from core.document.edits.panels import delete_panels
from core.document.edits.surfaces import set_surface
from core.document.file import JobFile, load_job, save_job
from core.document.surface import ScannedSurface
from core.shape.fermi import grid_triangles
from core.shape.scanned import ScannedMesh, mesh_to_bytes
from helpers.jobs import job_with, rect_panel

SCAN = ScannedSurface(file="bent.mesh")


def _bent_sheet() -> bytes:
    x, y = np.meshgrid(np.linspace(0, 200, 9), np.linspace(0, 100, 5), indexing="ij")
    at = np.column_stack([x.ravel(), y.ravel()])
    turn = at[:, 0] / 100
    space = np.column_stack([100 * np.sin(turn), at[:, 1], 100 * np.cos(turn)])
    return mesh_to_bytes(ScannedMesh(vertices=space, triangles=grid_triangles(9, 5), at=at))


@pytest.fixture
def session(qapp) -> Session:
    return Session(lay_out=lambda _plan: None)


def test_a_scan_is_planned_with_and_saved_again(session, tmp_path) -> None:
    job = set_surface(job_with([rect_panel("p1", 200, 100)]), "p1", SCAN)
    path = tmp_path / "bent.lapline"
    save_job(path, JobFile(job, scans={SCAN.file: _bent_sheet()}))
    session.open(path)
    (piece,) = session.plan.pieces
    assert piece.development is not None
    assert session.scan_data(SCAN.file) == _bent_sheet()
    other = tmp_path / "other.lapline"
    session.save(other)
    assert load_job(other) == load_job(path)


def test_an_added_scan_is_saved_only_while_a_panel_names_it(session) -> None:
    session.keep_scan(SCAN.file, _bent_sheet())
    assert session.file.scans == {}
    flat = job_with([rect_panel("p1", 200, 100)])
    session.do("Read a scan", set_surface(flat, "p1", SCAN))
    assert set(session.file.scans) == {SCAN.file}
    (piece,) = session.plan.pieces
    assert piece.development is not None
    session.do("Delete", delete_panels(session.job, ["p1"]))
    assert session.file.scans == {}
    session.undo()
    assert set(session.file.scans) == {SCAN.file}


def test_a_panel_pasted_into_another_job_brings_its_scan(session, qapp, tmp_path) -> None:
    curved = set_surface(job_with([rect_panel("p1", 200, 100)]), "p1", SCAN)
    path = tmp_path / "bent.lapline"
    save_job(path, JobFile(curved, scans={SCAN.file: _bent_sheet()}))
    session.open(path)
    clipboard.put(copy_panels(session.job, session.variant, ["p1"]), session)
    other = Session(lay_out=lambda _plan: None)
    other.do("Draw a plate", job_with([rect_panel("p1", 300, 200)]))
    clip, scans = clipboard.take(other)
    assert panels_left_flat(clip, scans) == ()
    job, (pasted,) = paste_panels(other.job, other.variant, clip, (400.0, 0.0), scans)
    other.do("Paste a panel", job)
    assert other.job.panel(pasted).surface == SCAN
    assert [p.development is not None for p in other.plan.pieces] == [False, True]
    assert other.file.scans == {SCAN.file: _bent_sheet()}
    other.undo()
    assert other.file.scans == {}


@pytest.mark.parametrize("held", ["another", "broken"])
def test_a_scan_that_is_not_the_panels_stays_away(session, qapp, held) -> None:
    other = Session(lay_out=lambda _plan: None)
    scan = _bent_sheet() if held == "another" else b"LAPMESH1 and no more"
    session.keep_scan(SCAN.file, scan)
    if held == "another":
        other.keep_scan(SCAN.file, _bent_sheet()[:-12] + _bent_sheet()[-24:-12])
    curved = set_surface(job_with([rect_panel("p1", 200, 100)]), "p1", SCAN)
    clipboard.put(copy_panels(curved, "v1", ["p1"]), session)
    clip, scans = clipboard.take(other)
    assert panels_left_flat(clip, scans) == ("Panel p1",)

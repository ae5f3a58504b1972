"""A measured part in space: a shape with its lengths, told as no more than that."""

import dataclasses

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint
from PySide6.QtTest import QTest

from app.solid.part_window import PartWindow
from core.document.edits.surfaces import with_reading
from core.document.file import load_job
from core.document.surface import ReadingKind, ReadingPlace
from core.plan.lookup import drawn_plans
from core.plan.plan import plan_job
from core.plan.strain_map import strain_map
from core.progress import Silent
from helpers.gui import SAMPLES

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
LONG_MS = 60_000


@pytest.fixture(scope="module")
def dome():
    """The sample's measured dome, its plan and its strain."""
    job = load_job(SAMPLES / "curved_parts.lapline").job
    plan = drawn_plans(plan_job(job))["p1"]
    return job, plan, strain_map(plan, job, Silent())


def test_a_measured_part_is_seen_with_films_strain_and_honest_words(qtbot, qapp, dome):
    job, plan, strain = dome
    part = PartWindow("Parcel dome", None)
    qtbot.addWidget(part)
    part.show_plan(plan, job, None)
    part.show_strain(strain)
    part.show()
    assert part.note.isHidden()
    qtbot.waitUntil(lambda: part.view.is_fine, timeout=LONG_MS)
    assert "not how it stands" in part.note.text()
    assert "one shape" in part.note.text()
    middle = part.view.rect().center()
    slate = part.view.grab().toImage().pixelColor(middle)
    assert slate.blue() > slate.red()
    part.buttons["strain"].click()
    qtbot.waitUntil(lambda: part.view.is_fine, timeout=LONG_MS)
    for step in (QPoint(0, 0), QPoint(3, 2)):
        QTest.mouseMove(part.view, middle + step)
    assert "tretches" in part.legend.words
    assert not part.legend.geometry().intersects(part.view.geometry())
    # Edges are smooth in a window of this size, too: finer pixels are blended to the window's.
    assert part.view.raster.size[0] == 2 * part.view.width()
    # Another outline: the same look at another shape; readings that are missing: none.
    camera = part.view.camera
    narrower = dataclasses.replace(plan, outline=plan.outline.buffer(-40))
    with qtbot.waitSignal(part.shapes.found, timeout=LONG_MS):
        part.show_plan(narrower, job, None)
    assert part.view.camera is camera
    surface = job.panel("p1").surface
    gap = with_reading(surface, ReadingPlace(ReadingKind.LENGTH, 1, 1), ())
    panels = tuple(replace(p, surface=gap) if p.id == "p1" else p for p in job.panels)
    with qtbot.waitSignal(part.shapes.refused, timeout=LONG_MS):
        part.show_plan(plan, replace(job, panels=panels), None)
    assert part.view.camera is None
    assert "left shoulder from station 2" in part.view.words
    part.close()

"""Measuring over a part: by the keyboard, undone, stored in the panel."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.measured.readings import format_readings, parse_readings
from app.measured.window import MeasureWindow
from app.session import Session
from app.shapes import Shapes
from core.document.edits.locks import set_locked
from core.document.edits.surfaces import set_surface, with_reading
from core.document.job import Units
from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    missing_places,
    places,
)
from core.errors import InputError

CONTROL = Qt.KeyboardModifier.ControlModifier

# The offscreen screen has no size hints.
pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)


def test_readings_are_lengths_parted_by_semicolons():
    assert parse_readings("412; 41.4 cm;", Units.MM) == (412.0, 414.0)
    assert parse_readings("  ", Units.MM) == ()
    assert format_readings((412.0, 414.5), Units.MM) == "412; 414.5"
    for wrong in ("0", "-3", "12; wide", ";".join(["1"] * 13)):
        with pytest.raises(InputError):
            parse_readings(wrong, Units.MM)
    assert parse_readings("0; 2", Units.MM, may_be_zero=True) == (0.0, 2.0)
    with pytest.raises(InputError, match="not below zero"):
        parse_readings("-1", Units.MM, may_be_zero=True)


@pytest.fixture
def measuring(qtbot, qapp, job_path) -> MeasureWindow:
    """The measuring of the first panel."""
    session = Session()
    with qtbot.waitSignal(session.rolls_changed, check_params_cb=None):
        session.open(job_path)
    measuring = MeasureWindow(session, Shapes(session), "p1")
    qtbot.addWidget(measuring)
    measuring.show()
    qtbot.waitExposed(measuring)
    measuring.activateWindow()
    qtbot.waitUntil(lambda: QApplication.focusWidget() in measuring.table.fields.values())
    return measuring


def surface_of(measuring):
    return measuring._session.job.panel("p1").surface


def type_on(text):
    field = QApplication.focusWidget()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def test_enter_leads_from_reading_to_reading(measuring):
    assert surface_of(measuring) is None
    for text in ("150; 152", "90", "91", "150"):
        type_on(text)
    surface = surface_of(measuring)
    assert isinstance(surface, MeasuredSurface)
    assert surface.offsets[0] == ((150.0, 152.0), (90.0,), (91.0,), (150.0,))
    assert "5 of" in measuring.now.text()
    assert len(missing_places(surface)) == 20 + 20 - 4


def test_each_reading_is_a_step_that_can_be_taken_back(measuring):
    type_on("150")
    type_on("90")
    QTest.keyClick(measuring, Qt.Key.Key_Z, CONTROL)
    assert surface_of(measuring).offsets[0][:2] == ((150.0,), ())
    QTest.keyClick(measuring, Qt.Key.Key_Z, CONTROL)
    assert surface_of(measuring) is None
    assert not measuring.flat.isEnabled()


def test_what_is_not_a_length_is_told_and_the_cursor_stays(measuring):
    field = QApplication.focusWidget()
    type_on("wide")
    assert QApplication.focusWidget() is field
    assert "not understood" in measuring.problem.text()
    assert surface_of(measuring) is None
    field.selectAll()
    type_on("150")
    assert not measuring.problem.isVisible()


def test_stations_and_lines_are_chosen_and_what_was_read_stays(measuring):
    type_on("150")
    measuring.stations.setValue(4)
    assert surface_of(measuring).stations == 4
    assert surface_of(measuring).offsets[0][0] == (150.0,)
    measuring.lines.pick(3)
    assert surface_of(measuring).lines == 3
    assert surface_of(measuring).offsets[0][0] == (150.0,)
    assert len(measuring.table.fields) == len(list(places(surface_of(measuring))))


def test_length_and_width_alone_are_taken(measuring):
    measuring.lines.pick(0)
    assert surface_of(measuring) is None  # nothing was read yet
    measuring.table.go_to(next(iter(measuring.table.fields)))
    type_on("640")
    type_on("330")
    surface = surface_of(measuring)
    assert (surface.length, surface.width) == ((640.0,), (330.0,))
    assert surface.stations == 0


def test_a_tight_tape_may_run_over_the_mark(measuring):
    measuring.table.go_to(ReadingPlace(ReadingKind.FIRST_BESIDE))
    assert "tight tape passes the spine's mark" in measuring.now.text()
    type_on("0")
    type_on("3; 4")
    surface = surface_of(measuring)
    assert (surface.first_beside, surface.last_beside) == ((0.0,), (3.0, 4.0))


def test_the_panel_can_be_flat_again(measuring):
    type_on("150")
    measuring.flat.click()
    assert surface_of(measuring) is None
    assert measuring._session.undo_text.endswith("flat again")


def test_the_picture_shows_every_reading(measuring):
    for place in list(places(measuring.surface))[::4]:
        measuring.table.go_to(place)
        assert not measuring.picture.grab().isNull()
    measuring.table.go_to(list(places(measuring.surface))[-1])
    assert "diagonal" in measuring.now.text()


def test_it_closes_when_its_panel_goes(measuring):
    type_on("150")
    assert measuring.isVisible()
    measuring._session.new()
    assert not measuring.isVisible()


def test_readings_that_do_not_fit_are_told_before_all_is_measured(qtbot, measuring):
    for text in ("150; 170", "90", "91", "80"):
        type_on(text)
    fields = list(measuring.table.fields.values())
    qtbot.waitUntil(lambda: fields[0].property("look") == "doubtful")
    assert "differ by 20 mm" in fields[0].toolTip()
    assert "no further out" in fields[3].toolTip()
    assert "differ by 20" in measuring.card.text.text()
    assert fields[4].property("look") != "doubtful"  # still to be measured


def test_what_is_refused_is_told_until_something_is_taken(measuring):
    session = measuring._session
    type_on("150")
    session.do("Lock", set_locked(session.committed_job, ["p1"], locked=True))
    type_on("90")
    assert measuring.problem.isVisible()
    assert "is locked" in measuring.problem.text()
    assert surface_of(measuring).offsets[0][1] == ()
    session.undo()
    type_on("91")
    assert not measuring.problem.isVisible()


def test_more_stations_lead_to_the_first_reading_that_is_missing(measuring):
    session = measuring._session
    grid = measuring.surface
    for place in places(grid):
        if place.kind in (ReadingKind.OFFSET, ReadingKind.LENGTH):
            grid = with_reading(grid, place, (100.0 + 50.0 * (place.line in (0, 4)),))
    session.do("Measure", set_surface(session.committed_job, "p1", grid))
    measuring.stations.setValue(9)
    assert measuring.now.text().startswith("41 of 76: along the left rim from station 5 to 6")
    measuring.table.go_to(ReadingPlace(ReadingKind.TO_LEFT))
    assert measuring.now.text().startswith("Check 3 of 4: the diagonal")


def test_all_columns_and_row_names_are_in_sight_at_the_least_size(measuring):
    measuring.resize(measuring.minimumSize())
    QApplication.processEvents()
    seen = measuring._scroll.viewport().rect()
    for place in (
        ReadingPlace(ReadingKind.OFFSET, 0, 4),
        ReadingPlace(ReadingKind.OFFSET, 0, 0),
    ):
        field = measuring.table.fields[place]
        corner = field.mapTo(measuring._scroll.viewport(), field.rect().topRight())
        assert seen.left() <= corner.x() <= seen.right()
    assert measuring.size() == measuring.minimumSize()

import math

import pytest
from shapely import Polygon

from app.dialogs.film import FilmDialog
from app.dialogs.help import keys_html
from app.dialogs.job_settings import JobSettingsDialog
from app.dialogs.new_panel import NewPanelDialog, free_place
from core.document.film import Film, Grain, Offcut, Roll
from core.document.flatten import flatten
from core.document.job import Units
from core.tolerance import FLATTEN_MM
from helpers.jobs import job_with, rect_panel

JOB = job_with([rect_panel("p1", 600, 300)])


@pytest.mark.parametrize("radius", ["0", "12", "40"])
def test_a_rounded_rectangle_has_the_area_of_the_book(qtbot, qapp, radius):
    # a b - (4 - pi) r^2: a rectangle whose corners are quarter circles.
    dialog = NewPanelDialog(JOB, None)
    qtbot.addWidget(dialog)
    for field, text in (
        (dialog.across, "300"),
        (dialog.upright, "200"),
        (dialog.radius, radius),
    ):
        field.setText(text)
    dialog.accept()
    r = float(radius)
    area = Polygon(flatten(dialog.panel.outline, closed=True)).area
    exact = 300 * 200 - (4 - math.pi) * r**2
    assert area == pytest.approx(exact, abs=1e-9 + FLATTEN_MM * 2 * math.pi * r)


def test_a_new_panel_stands_clear_of_the_others():
    assert free_place(job_with([])) == (0.0, 0.0)
    assert free_place(JOB)[0] > 600


def test_a_radius_that_does_not_fit_is_refused_in_the_dialog(qtbot, qapp):
    dialog = NewPanelDialog(JOB, None)
    qtbot.addWidget(dialog)
    dialog.upright.setText("50")
    dialog.radius.setText("25.5")
    dialog.accept()
    assert dialog.panel is None
    assert "do not fit" in dialog.problem.text()
    dialog.radius.setText("25")
    dialog.accept()
    assert dialog.panel is not None


@pytest.mark.parametrize(
    ("field", "text", "told"),
    [
        ("across", "wide", "Width"),
        ("across", "0", "Width"),
        ("radius", "-1", "Corner radius"),
        ("name", " ", "Name"),
    ],
)
def test_what_is_not_usable_is_named(qtbot, qapp, field, text, told):
    dialog = NewPanelDialog(JOB, None)
    qtbot.addWidget(dialog)
    getattr(dialog, field).setText(text)
    dialog.accept()
    assert dialog.panel is None
    assert dialog.problem.text().startswith(told)


def test_a_film_is_read_back_as_it_was(qtbot, qapp):
    film = Film(
        id="f9",
        name="Weave",
        colour="#102030",
        rank=4,
        grain=Grain.QUARTER_TURN,
        price_per_m=12.5,
        stock=(
            Roll(id="r1", length_mm=2500.0, note="new"),
            Offcut(id="k1", length_mm=700.0, width_mm=300.0),
        ),
    )
    dialog = FilmDialog(film, JOB, "Film", None)
    qtbot.addWidget(dialog)
    dialog.accept()
    assert dialog.film == film


def test_stock_that_is_not_usable_is_named_by_its_row(qtbot, qapp):
    dialog = FilmDialog(JOB.films[0], JOB, "Film", None)
    qtbot.addWidget(dialog)
    dialog.stock.add_offcut()
    row = dialog.stock.table.rowCount() - 1
    dialog.stock.table.item(row, 1).setText("none")
    dialog.accept()
    assert f"row {row + 1}" in dialog.problem.text()
    dialog.stock.table.item(row, 1).setText("2 ft")
    dialog.accept()
    assert dialog.film.stock[-1].length_mm == pytest.approx(609.6)  # 1 ft = 304.8 mm exactly


def test_settings_of_a_job_are_read_in_its_old_units(qtbot, qapp):
    dialog = JobSettingsDialog(JOB, None)
    qtbot.addWidget(dialog)
    dialog.lap.setText("1/2 in")
    dialog.units.setCurrentIndex(2)
    dialog.gap.setText("4")
    dialog.tries.setValue(2)
    dialog.tails.setText("15 cm")
    dialog.accept()
    assert dialog.job.units is Units.IN
    own = dialog.job.settings
    assert (own.lap_mm, own.gap_mm, own.tries) == (12.7, 4.0, 2)
    assert own.tape_tail_mm == 150.0


def test_the_list_of_keys_names_every_key(blank_window):
    html = keys_html(blank_window.actions_by_id)
    for name, action in blank_window.actions_by_id:
        if not action.shortcut().isEmpty():
            assert action.text().replace("…", "") in html, name

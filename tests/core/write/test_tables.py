"""Tables, read back by Python's csv and by openpyxl."""

import csv
import io
from dataclasses import replace

import openpyxl
import pytest
from msgspec.structs import replace as changed

from core.document.film import Offer
from core.roll.rolls import roll_plan
from core.write.table import Table, table_csv, workbook
from core.write.work_tables import piece_table, work_tables
from helpers.plans import hand_plan, hand_rolls


def read(table: Table) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table_csv(table).decode(), newline="")))


def hand_tables() -> dict[str, Table]:
    plan = hand_plan()
    return {table.name: table for table in work_tables(plan, hand_rolls(plan))}


def test_the_piece_table_has_a_row_a_piece():
    plan = hand_plan()
    rows = read(piece_table(plan, hand_rolls(plan)))
    assert [r["Id"] for r in rows] == [p.id for p in plan.pieces]
    second = rows[1]
    assert second["Piece"] == "Side board left 2"
    assert (second["Film"], second["Lay order"], second["Side"]) == ("Grün / fern", "2", "left")
    assert (second["Along the flow (mm)"], second["Across the flow (mm)"]) == (
        "260.0",
        "420.0",
    )
    assert float(second["Area (mm2)"]) == pytest.approx(plan.pieces[1].cut.area, abs=1)
    assert (second["Seams"], second["Tries"], second["Sheets"]) == ("s1", "1", "buy")


def test_the_film_table_has_a_row_a_sheet_that_is_cut():
    rows = read(hand_tables()["Films"])
    assert [(r["Film"], r["Sheet"], r["Pieces"]) for r in rows] == [
        ("Chalk white", "r1", "2"),
        ("Grün / fern", "buy", "2"),
    ]
    assert rows[0]["Sheet length (mm)"] == "2500.0"
    assert rows[1]["Sheet length (mm)"] == "", "film to buy has no length yet"


def test_the_buying_table_counts_in_the_shops_steps_and_counts_tails_of_tape():
    plan = hand_plan()
    film = changed(plan.job.films[1], price_per_m=20.0, buy_step_mm=500.0)
    job = changed(plan.job, films=(plan.job.films[0], film), currency="EUR")
    rolls = hand_rolls(plan)
    (table,) = (t for t in work_tables(replace(plan, job=job), rolls) if t.name == "To buy")
    film_row, tape_row = read(table)
    needed = rolls.films[1].sheets[0].used_length_mm
    assert float(film_row["Needed (mm)"]) == pytest.approx(needed, abs=0.05)
    assert (film_row["To buy (mm)"], film_row["Price"]) == ("1000.0", "20.0")
    # Two runs of 520 mm (one a side), each with a tail of 100 mm at both ends.
    assert float(tape_row["Needed (mm)"]) == 2 * (520.0 + 200.0)


def test_widths_and_retakes_have_tables_of_the_same_figures():
    plan = hand_plan()
    offers = (Offer(width_mm=760.0, price_per_m=9.0), Offer(width_mm=300.0, price_per_m=1.0))
    film = changed(plan.job.films[1], price_per_m=20.0, offers=offers)
    plan = replace(plan, job=changed(plan.job, films=(plan.job.films[0], film)))
    rolls = roll_plan(plan).rolls
    tables = {table.name: table for table in work_tables(plan, rolls)}
    widths = read(tables["Widths on offer"])
    assert [(r["Width (mm)"], r["Laid out"]) for r in widths] == [
        ("300.0", ""),
        ("760.0", ""),
        ("1000.0", "yes"),
    ]
    assert widths[0]["Left over (mm)"] == "too narrow for a piece"
    assert {r["Compared as"] for r in widths} == {"laid out at once"}
    retakes = [r for r in read(tables["Retakes"]) if r["Film"] == film.name]
    assert [r["Retakes"] for r in retakes if r["Planned"]] == ["0"]
    (to_buy, _) = read(tables["To buy"])
    planned = next(r for r in retakes if r["Planned"])
    for column in ("Needed (mm)", "To buy (mm)", "Price"):
        assert planned[column] == to_buy[column] == widths[-1][column]


def test_a_workbook_has_the_same_tables_with_numbers_as_numbers():
    tables = list(hand_tables().values())
    book = openpyxl.load_workbook(io.BytesIO(workbook(tables)))
    assert book.sheetnames == ["Pieces", "Films", "To buy", "Retakes", "Cutting tape"]
    for table in tables:
        values = list(book[table.name].iter_rows(values_only=True))
        assert values[0] == table.head
        for row, cells in zip(values[1:], table.rows, strict=True):
            assert row == tuple(None if cell == "" else cell for cell in cells)


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@sum", "\t=1", "\r=1"])
def test_no_name_is_a_formula_in_a_spreadsheet(name):
    table = Table("Names", ("name", "mm"), ((name, -4.5),))
    rows = list(csv.reader(io.StringIO(table_csv(table).decode(), newline="")))
    assert rows[1] == [f"'{name}", "-4.5"]
    sheet = openpyxl.load_workbook(io.BytesIO(workbook([table])))["Names"]
    assert sheet["A2"].data_type == "s"
    assert sheet["B2"].value == -4.5


def test_equal_tables_give_equal_bytes():
    tables = list(hand_tables().values())
    assert workbook(tables) == workbook(tables)


def test_control_characters_and_other_scripts_leave_a_readable_workbook():
    table = Table("Names", ("name",), (("Türgriff \x07 部品",),))
    sheet = openpyxl.load_workbook(io.BytesIO(workbook([table])))["Names"]
    assert "部品" in str(sheet["A2"].value)

"""Tables for spreadsheets: as comma-separated values, or several as one workbook.

Names in a job are anybody's: a text that begins with ``=``, ``+``, ``-`` or ``@`` must not be
taken for a formula. In a workbook it is stored as text; in CSV, which cannot say so, an
apostrophe goes before it.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

Cell = str | int | float
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_MADE = datetime(2000, 1, 1, tzinfo=UTC)
"""Written into every workbook, so that the same tables give the same bytes."""
_WIDEST = 60


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its name, the heads of its columns, its rows."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def table_csv(table: Table) -> bytes:
    """Return a table as comma-separated values (RFC 4180), UTF-8."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(table.head)
    writer.writerows([_plain(cell) for cell in row] for row in table.rows)
    return stream.getvalue().encode()


def workbook(tables: Sequence[Table]) -> bytes:
    """Return tables as one workbook (Office Open XML), a sheet each."""
    import xlsxwriter  # noqa: PLC0415 - seldom needed

    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, {"in_memory": True})
    book.set_properties({"created": _MADE, "author": "", "comments": ""})
    bold = book.add_format({"bold": True, "bottom": 1})
    for table in tables:
        sheet = book.add_worksheet(table.name)
        for column, title in enumerate(table.head):
            sheet.write_string(0, column, title, bold)
            cells = [row[column] for row in table.rows]
            for row, cell in enumerate(cells, 1):
                if isinstance(cell, str):
                    if cell:
                        sheet.write_string(row, column, cell)
                else:
                    sheet.write_number(row, column, cell)
            width = max(len(str(text)) for text in (title, *cells))
            sheet.set_column(column, column, min(width, _WIDEST) + 2)
        sheet.freeze_panes(1, 0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
    book.close()
    return buffer.getvalue()


def _plain(cell: Cell) -> str:
    """Return a cell's text, which no spreadsheet takes for a formula."""
    text = str(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(_FORMULA_STARTS) else text

"""An R12 file, printed to PDF by LibreCAD's command line, has the sizes that were drawn.

LibreCAD reads DXF by code of its own (libdxfrw); its PDF is measured by pdfplumber. Skipped
where it is not installed (Debian: librecad).
"""

import os
import shutil
import subprocess

import pdfplumber
import pytest

from core.write.check_square import SQUARE_MM, check_square
from core.write.plotter import Plotter, PlotterFormat
from core.write.plotter_files import plotter_data, plotter_drawing

PROGRAM = shutil.which("librecad")
POINT_MM = 25.4 / 72
PDF_MM = 0.05
"""Qt rounds what it prints to its own resolution."""
RED, GREEN, CYAN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 1.0, 1.0)
"""The layers' colours: cut lines, labels, centre marks (AutoCAD colour index 1, 3 and 4)."""


@pytest.mark.skipif(PROGRAM is None, reason="LibreCAD is not installed")
@pytest.mark.parametrize("has_arcs", [False, True], ids=["polylines", "arcs"])
@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_the_check_square_is_100_mm_in_another_program(version, has_arcs, tmp_path):
    plotter = Plotter(format=PlotterFormat(version), has_arcs=has_arcs)
    drawing, made = tmp_path / "square.dxf", tmp_path / "square.pdf"
    drawing.write_bytes(plotter_data(plotter_drawing(check_square(), plotter), plotter))
    command = [PROGRAM, "dxf2pdf", "-p", "160x160", "-f", "0,0,0,0", "-s", "1", "-o"]
    subprocess.run(
        [*command, str(made), str(drawing)],
        check=True,
        capture_output=True,
        timeout=60,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)},
    )
    with pdfplumber.open(made) as pdf:
        (page,) = pdf.pages
        by_colour = {}
        for item in (*page.lines, *page.curves):
            by_colour.setdefault(item["stroking_color"], []).append(item)
    assert set(by_colour) >= {RED, GREEN, CYAN}
    cut = by_colour[RED]
    width = max(i["x1"] for i in cut) - min(i["x0"] for i in cut)
    height = max(i["bottom"] for i in cut) - min(i["top"] for i in cut)
    assert width * POINT_MM == pytest.approx(SQUARE_MM, abs=PDF_MM)
    assert height * POINT_MM == pytest.approx(SQUARE_MM, abs=PDF_MM)

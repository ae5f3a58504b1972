"""Renders the picture of docs/plotter-files.md: one section of a roll as the plotter gets it.

Run from the top of the clone: ``.venv/bin/python docs/render_plotter_pictures.py``
"""

import sys
from pathlib import Path

import resvg_py

TOP = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TOP))

from core.document.file import load_job  # noqa: E402
from core.plan.plan import plan_job  # noqa: E402
from core.roll.rolls import roll_plan  # noqa: E402
from core.write.cut_svg import drawing_to_cut_svg  # noqa: E402
from core.write.outputs import OutputOptions, planned_outputs  # noqa: E402
from core.write.plotter import Plotter  # noqa: E402
from core.write.typeface import FAMILY, font_files  # noqa: E402

PICTURES = Path(__file__).parent / "pictures"
WIDTH_PX = 1100
FEED_MM = 900.0
_LINE = 'stroke-width="2"'


def main(folder: Path = PICTURES) -> None:
    """Render the first section of the trike's first film into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    plan = plan_job(load_job(TOP / "sample_projects" / "library_trike.lapline").job)
    plotter = Plotter(longest_feed_mm=FEED_MM, splits_long_pieces=True)
    options = OutputOptions(plotter=plotter, has_pictures=False)
    (drawing,) = planned_outputs(plan, roll_plan(plan).rolls, options)[0].drawings
    svg = drawing_to_cut_svg(drawing)
    svg = svg.replace('stroke-width="0.1"', _LINE).replace(
        "<title>", '<rect width="100%" height="100%" fill="#ffffff"/><title>', 1
    )
    png = resvg_py.svg_to_bytes(
        svg_string=svg,
        width=WIDTH_PX,
        dpi=96,
        skip_system_fonts=True,
        font_files=font_files(),
        font_family=FAMILY,
    )
    (folder / "plotter-section.png").write_bytes(bytes(png))


if __name__ == "__main__":
    main()

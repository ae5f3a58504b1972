"""Renders the pictures of docs/paper-templates.md and docs/at-the-bench.md: pages of paper.

Run from the top of the clone: ``.venv/bin/python docs/render_paper_pictures.py``
"""

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(TOP))

from msgspec.structs import replace as changed  # noqa: E402

from core.document.file import load_job  # noqa: E402
from core.document.job import BlankCut, Job  # noqa: E402
from core.document.panel import Trim  # noqa: E402
from core.plan.plan import plan_job  # noqa: E402
from core.roll.rolls import roll_plan  # noqa: E402
from core.write.bench_pages import bench_pages  # noqa: E402
from core.write.bench_plan import bench_plan  # noqa: E402
from core.write.drawing import Drawing, Layer, Look, Purpose, Shape, closed_run  # noqa: E402
from core.write.hand_cut import hand_cut_pages  # noqa: E402
from core.write.placed import Placed, put_together  # noqa: E402
from core.write.png import drawing_to_png  # noqa: E402
from core.write.templates import template_pages  # noqa: E402

SAMPLES = TOP / "sample_projects"
PICTURES = Path(__file__).parent / "pictures"
WIDTH_PX = 1440
_GAP_MM = 8.0
_TABLE = Layer("table", Purpose.PICTURE)
_PAPER = Look(fill="#ffffff", stroke="#c9c7c0", width_mm=0.4)


def main(folder: Path = PICTURES) -> None:
    """Render everything into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    trike = load_job(SAMPLES / "library_trike.lapline").job
    plan = plan_job(trike)
    lid = next(p for p in plan.panels if plan.job.panel(p.of).name == "Lid")
    save(folder / "paper-template.png", template_pages(plan, lid)[:3])
    bench = bench_pages(bench_plan(plan, roll_plan(plan).rolls))
    page = next(p for p in bench if p.name == "Lid")
    save(folder / "paper-bench-sheet.png", [bench[0], page])
    by_hand = plan_job(on_part(trike))
    save(
        folder / "paper-hand-cutting.png", hand_cut_pages(by_hand, roll_plan(by_hand).rolls)[:1]
    )


def on_part(job: Job) -> Job:
    """Return the job with all pieces trimmed on the part, and cut with a straight edge."""
    return changed(
        job,
        panels=tuple(changed(p, trim=Trim.ON_PART) for p in job.panels),
        settings=changed(job.settings, blank_cut=BlankCut.STRAIGHT),
    )


def save(path: Path, pages: Sequence[Drawing]) -> None:
    """Lay pages side by side on a table, and take a picture."""
    x, placed = _GAP_MM, []
    for page in pages:
        _, _, width, height = page.extent
        sheet = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
        paper = Shape(_TABLE.name, (closed_run(sheet),), look=_PAPER)
        placed += [
            Placed(Drawing("", page.extent, (_TABLE,), (paper,)), (x, _GAP_MM)),
            Placed(page, (x, _GAP_MM)),
        ]
        x += width + _GAP_MM
    tall = max(page.extent[3] for page in pages) + 2 * _GAP_MM
    table = replace(put_together("", (x, tall), placed), background="#e9e7e1")
    path.write_bytes(drawing_to_png(table, WIDTH_PX))


if __name__ == "__main__":
    main()

"""The verb ``lapline import``: panels from a drawing file into a job.

It is registered by ``core.cli``, which knows the exit codes. Everything heavy is imported
inside, so that help and mistakes answer at once.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from core.units import Units

if TYPE_CHECKING:
    from core.document.job import Job
    from core.document.panel import Panel
    from core.read.outlines import ReadOptions

NEW_FILM = "#c9ccc6"
Drawing = Annotated[Path, typer.Argument(metavar="FILE", help="A DXF, SVG or PDF drawing.")]
Into = Annotated[
    Path,
    typer.Option("--into", metavar="JOB", help="The .lapline job; made when it is not there."),
]
Unit = Annotated[
    Units | None, typer.Option("--units", help="What it is drawn in; else as the file says.")
]
Layers = Annotated[
    list[str] | None,
    typer.Option("--layer", metavar="NAME", help="A layer to read, may be repeated; else all "
                 "that are not hidden."),
]  # fmt: skip
Tolerance = Annotated[
    float,
    typer.Option("--tolerance", metavar="MM", min=0.0, max=1000.0, help="Join ends within it."),
]


def register(app: typer.Typer, put: Callable[[str], None]) -> None:
    """Add the verb to a command.

    Args:
        app: gets the verb.
        put: prints a line.
    """

    @app.command("import")
    def import_outlines(
        file: Drawing,
        *,
        into: Into,
        units: Unit = None,
        layer: Layers = None,
        tolerance: Tolerance = 0.1,
    ) -> int:
        """Import the outlines of a drawing as panels."""
        from core.read.outlines import ReadOptions  # noqa: PLC0415 - see the module

        options = ReadOptions(units, tuple(layer) if layer else None, tolerance)
        for line in _import(file, into, options):
            put(line)
        return 0


def _import(file: Path, into: Path, options: "ReadOptions") -> list[str]:
    """Do it, and return what there is to say."""
    from core.document.file import JobFile, load_job, save_job  # noqa: PLC0415
    from core.errors import ImportFailed  # noqa: PLC0415
    from core.read.into_job import import_sentence, to_panels  # noqa: PLC0415
    from core.read.outlines import read_outlines  # noqa: PLC0415

    held = load_job(into) if into.exists() else JobFile(_new_job(into.stem))
    found = read_outlines(file, options)
    if found.is_unit_assumed:
        raise ImportFailed(
            "The file does not say its unit.",
            where=str(file),
            mend="Add --units mm, cm or in.",
        )
    job = to_panels(held.job, found)
    save_job(into, JobFile(job, held.photos))
    fresh = job.panels[len(held.job.panels) :]
    left_out = [f"Left out: {s.count} × {s.kind}: {s.reason}" for s in found.skipped]
    said = [*found.notes, *found.repairs, *left_out]
    return [*map(_panel_line, fresh), *said, f"{import_sentence(len(fresh))}: saved in {into}"]


def _panel_line(panel: "Panel") -> str:
    from core.document.flatten import flatten  # noqa: PLC0415

    points = flatten(panel.outline, closed=True)
    width, height = (points.max(axis=0) - points.min(axis=0)).tolist()
    count = len(panel.openings)
    holes = f", {count} opening{'' if count == 1 else 's'}" if count else ""
    return f"{panel.id} {panel.name}: {width:.1f} × {height:.1f} mm{holes}"


def _new_job(name: str) -> "Job":
    from core.document.film import Film  # noqa: PLC0415
    from core.document.job import Job  # noqa: PLC0415
    from core.document.variant import Variant  # noqa: PLC0415

    film = Film(id="f1", name="Base film", colour=NEW_FILM)
    return Job(name=name, films=(film,), variants=(Variant(id="v1", name="First"),))

"""The verbs of stock and money: ``lapline buy`` and ``lapline shelf``."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from core.cli_options import AsJson, File, VariantName
from core.progress import Step

FINE, STOPPED = 0, 1

PackSeconds = Annotated[
    float,
    typer.Option(
        "--pack",
        metavar="S",
        min=0.0,
        max=3600.0,
        help="Pack every width on offer for so many seconds before they are compared.",
    ),
]
Say = Callable[..., None]
SayJson = Callable[[dict[str, Any]], None]


class _Spoken:
    """Says on a terminal how far long work is; nobody stops it but by ending the command."""

    def tell(self, progress: object, /) -> None:
        """Say the words of a step."""
        if isinstance(progress, Step) and sys.stderr.isatty():
            typer.echo(progress.words, err=True)

    def is_cancelled(self) -> bool:
        """Return False."""
        return False


def register(app: typer.Typer, say: Say, say_json: SayJson) -> None:
    """Add the verbs to the command."""

    @app.command()
    def buy(
        file: File,
        *,
        variant: VariantName = None,
        pack: PackSeconds = 0.0,
        as_json: AsJson = False,
    ) -> int:
        """Show what to buy of each film, at which width, and what the job costs."""
        from core.document.file import load_job  # noqa: PLC0415 - see core/cli.py
        from core.plan.plan import plan_file  # noqa: PLC0415
        from core.roll.buying import buying_list  # noqa: PLC0415
        from core.roll.costs import costs  # noqa: PLC0415
        from core.roll.left_out import stops  # noqa: PLC0415
        from core.roll.rolls import roll_plan  # noqa: PLC0415
        from core.roll.width_search import pack_widths, with_packed  # noqa: PLC0415
        from core.write.buying_report import buying_lines, buying_values  # noqa: PLC0415
        from core.write.json_report import finding_values  # noqa: PLC0415
        from core.write.text_report import finding_lines  # noqa: PLC0415

        plan = plan_file(load_job(file), variant)
        rolls = roll_plan(plan).rolls
        stopping = stops(plan, rolls)
        packed = {}
        for found in pack_widths(plan, rolls, pack, _Spoken()) if pack else ():
            packed[found.fingerprint] = found
            rolls = with_packed(plan, rolls, found)
        buying, table = buying_list(plan, rolls, packed=packed), costs(plan, rolls)
        if as_json:
            values = buying_values(plan, buying, table)
            say_json({**values, "findings": finding_values(stopping)})
        else:
            say(*buying_lines(plan, buying, table), *finding_lines(plan, stopping))
        return STOPPED if stopping else FINE

    @app.command()
    def shelf(
        *,
        file: Annotated[
            Path | None,
            typer.Option("--file", metavar="SHELF", help="Its file; else this user's own."),
        ] = None,
        as_json: AsJson = False,
    ) -> int:
        """Show the rolls and offcuts that all jobs share."""
        import msgspec  # noqa: PLC0415 - see core/cli.py

        from core.document.shelf_file import ShelfFile  # noqa: PLC0415
        from core.write.shelf_report import shelf_lines  # noqa: PLC0415

        store = ShelfFile(file)
        found = store.read()
        if as_json:
            say_json({"file": str(store.path), **msgspec.to_builtins(found)})
        else:
            say(*shelf_lines(found, str(store.path)))
        return FINE

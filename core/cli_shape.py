"""The verb ``lapline shape``: will every piece of a curved panel lay?

It is registered by ``core.cli``, which knows the exit codes. Everything heavy is imported
inside, so that help and mistakes answer at once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from core.cli_options import AsJson, File, VariantName

if TYPE_CHECKING:
    from core.plan.model import Finding, JobPlan


@dataclass(frozen=True)
class Ways:
    """How a verb plans a file, puts lines and JSON, and tells its exit code."""

    plan: "Callable[[Path, str | None], JobPlan]"
    put: Callable[..., None]
    put_json: Callable[[dict[str, Any]], None]
    code: "Callable[[tuple[Finding, ...]], int]"


def register(app: typer.Typer, ways: Ways) -> None:
    """Add the verb to the command."""

    @app.command("shape")
    def shape(file: File, *, variant: VariantName = None, as_json: AsJson = False) -> int:
        """Tell of every piece on a curved panel whether it lays, needs warmth, or a seam."""
        from core.plan.shape_check import shape_report  # noqa: PLC0415
        from core.write.shape_report import shape_lines, shape_values  # noqa: PLC0415

        planned = ways.plan(file, variant)
        report = shape_report(planned)
        if as_json:
            ways.put_json(shape_values(planned, report))
        else:
            ways.put(*shape_lines(planned, report))
        return ways.code((*planned.findings, *report.findings))

"""The ``lapline`` command: plan, roll, write, picture, import.

Exit codes: 0 fine, 1 findings that stop the job, 2 bad input (one line on stderr). The JSON is
documented in docs/command-line.md. Everything heavy is imported inside the verbs, so that help
and mistakes answer at once.
"""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from core.cli_import import register as register_import
from core.cli_options import AsJson, File, Seconds, VariantName
from core.cli_shape import Ways
from core.cli_shape import register as register_shape
from core.cli_stock import register as register_stock
from core.cli_write import Desk
from core.cli_write import register as register_write

if TYPE_CHECKING:
    from core.plan.model import Finding, JobPlan
    from core.roll.model import FilmRolls
    from core.roll.rolls import RollReport

FINE, STOPPED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130

app = typer.Typer(
    name="lapline",
    help="Plan a colour change in adhesive film.",
    epilog="The window: lapline [FILE], or lapline window [FILE].",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def run(argv: list[str]) -> int:
    """Run the command with arguments and return its exit code; nothing is raised."""
    from core.errors import LaplineError  # noqa: PLC0415 - see the module's docstring

    try:
        code = app(args=argv or ["--help"], prog_name="lapline", standalone_mode=False)
    except typer.TyperException as error:
        return _refuse(f"{error.format_message()} (lapline --help says more)")
    except LaplineError as error:
        return _refuse(error.sentence())
    except (KeyboardInterrupt, typer.Abort):
        sys.stderr.write("lapline: stopped\n")
        return INTERRUPTED
    except SystemExit as error:
        return error.code if isinstance(error.code, int) else BAD_INPUT
    return code if isinstance(code, int) else FINE


@app.command()
def plan(file: File, *, variant: VariantName = None, as_json: AsJson = False) -> int:
    """Show regions, pieces, lay order, tape and lap lengths, findings."""
    from core.write.bench_shape import shape_findings  # noqa: PLC0415
    from core.write.json_report import plan_values  # noqa: PLC0415
    from core.write.text_report import plan_lines  # noqa: PLC0415

    planned = _plan(file, variant)
    findings = (*planned.findings, *shape_findings(planned))
    if as_json:
        _print_json(plan_values(planned, findings))
    else:
        _print(*plan_lines(planned, findings))
    return _code(findings)


@app.command()
def roll(
    file: File,
    *,
    seconds: Seconds = None,
    variant: VariantName = None,
    as_json: AsJson = False,
) -> int:
    """Show where every piece lies on which roll, and what length each film takes."""
    from core.write.json_report import roll_values  # noqa: PLC0415
    from core.write.text_report import finding_lines, roll_lines  # noqa: PLC0415

    planned = _plan(file, variant)
    report = _rolls(planned, seconds)
    findings = (*planned.findings, *report.findings)
    if as_json:
        _print_json(roll_values(report.rolls, planned, findings))
    else:
        _print(*roll_lines(planned, report.rolls), *finding_lines(planned, findings))
    return _code(findings)


@app.command()
def picture(
    file: File,
    *,
    to: Annotated[Path, typer.Option("--to", metavar="PNG-or-SVG", help="The picture's file.")],
    panel: Annotated[
        str | None,
        typer.Option("--panel", metavar="ID", help="One panel (p3, p3L or its name)."),
    ] = None,
    variant: VariantName = None,
) -> int:
    """Draw the scheme of a panel, or of all."""
    from core.errors import InputError  # noqa: PLC0415
    from core.write.atomic import write_file  # noqa: PLC0415
    from core.write.pictures import panel_picture_png, panel_picture_svg  # noqa: PLC0415
    from core.write.scheme import find_panels  # noqa: PLC0415
    from core.write.text_report import finding_lines  # noqa: PLC0415

    kind = to.suffix.lower()
    if kind not in (".png", ".svg"):
        raise InputError("A picture is a .png or .svg file.", where=str(to))
    planned = _plan(file, variant)
    panels = None if panel is None else {p.id for p in find_panels(planned, panel)}
    make = panel_picture_png if kind == ".png" else panel_picture_svg
    made = make(planned, panels)
    write_file(to, made.encode() if isinstance(made, str) else made)
    if planned.is_stopped:
        _print_error(*finding_lines(planned))
        return STOPPED
    return FINE


def _plan(file: Path, variant: str | None) -> "JobPlan":
    from core.document.file import load_job  # noqa: PLC0415
    from core.plan.plan import plan_file  # noqa: PLC0415

    return plan_file(load_job(file), variant)


def _rolls(
    planned: "JobPlan", seconds: float | None, *, seconds_a_film: float = 0.0
) -> "RollReport":
    """Return the rolls: kept nests as they are, the others tightened if time is given.

    With ``seconds_a_film`` they are laid to be cut: no time is spent where a finding stops it.
    """
    from core.roll.left_out import stops  # noqa: PLC0415
    from core.roll.rolls import roll_plan, tighten  # noqa: PLC0415

    report = roll_plan(planned)
    open_films = [
        film.film
        for film in report.rolls.films
        if any(s.placements and s.engine != "kept" for s in film.sheets)
    ]
    if seconds is None:
        seconds = seconds_a_film * len(open_films)
    if not seconds or planned.is_stopped or (seconds_a_film and stops(planned, report.rolls)):
        return report
    return tighten(planned, open_films, seconds, _progress(planned), lambda: False)


def _progress(planned: "JobPlan") -> "Callable[[FilmRolls], None]":
    """Return what is called on every better nest: a line on stderr, if that is a terminal."""
    from core.roll.wording import length_to_buy, told_mm  # noqa: PLC0415

    def show(film: "FilmRolls") -> None:
        if sys.stderr.isatty():
            units = planned.job.units
            length = length_to_buy(told_mm(film.used_lengths_mm, units), units)
            _print_error(f"{planned.job.film(film.film).name}: {length}")

    return show


def _code(findings: "tuple[Finding, ...]") -> int:
    return STOPPED if any(f.severity.value == "stop" for f in findings) else FINE


def _print_json(values: dict[str, Any]) -> None:
    """Print JSON; floats keep all their digits."""
    import json  # noqa: PLC0415

    _print(json.dumps(values, ensure_ascii=False, allow_nan=False))


def _print(*lines: str) -> None:
    _put(sys.stdout, lines)


def _print_error(*lines: str) -> None:
    _put(sys.stderr, lines)


def _put(stream: Any, lines: tuple[str, ...]) -> None:
    """Write lines; what a narrow terminal's encoding lacks becomes a question mark.

    A reader that has had enough (as ``head`` may) is no mistake: the rest goes nowhere.
    """
    text = "".join(f"{line}\n" for line in lines)
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        stream.write(text.encode(encoding, errors="replace").decode(encoding))
        stream.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _refuse(message: str) -> int:
    _print_error(f"lapline: {' '.join(message.split())}")
    return BAD_INPUT


register_import(app, _print)
register_shape(app, Ways(_plan, _print, _print_json, _code))
register_stock(app, _print, _print_json)
register_write(app, Desk(_plan, _rolls, _print, _print_error, _code, STOPPED))

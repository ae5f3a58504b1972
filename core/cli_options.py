"""Options that verbs of the command share, and options in groups.

A verb with many options takes them in groups: frozen dataclasses whose fields are declared as a
verb's parameters are. On the command line each field is an option of its own.
"""

import inspect
from collections.abc import Callable
from dataclasses import MISSING, Field, fields
from pathlib import Path
from typing import Annotated, Any

import typer

File = Annotated[Path, typer.Argument(metavar="FILE", help="The job, a .lapline file.")]
VariantName = Annotated[
    str | None, typer.Option("--variant", metavar="NAME", help="Its variant; else the first.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON (docs/command-line.md).")]
Seconds = Annotated[
    float | None,
    typer.Option(
        "--seconds", metavar="S", min=0.0, max=86400.0, help="Time to nest in, for all films."
    ),
]


def with_options(act: Callable[..., int], *groups: type[Any]) -> Callable[..., int]:
    """Return a function that takes the fields of all groups, for the command to register.

    Args:
        act: is called with a value of each group, in order.
        groups: dataclasses without fields of one name.
    """

    def verb(**given: object) -> int:
        return act(
            *(group(**{f.name: given[f.name] for f in fields(group)}) for group in groups)
        )

    all_fields = [field for group in groups for field in fields(group)]
    verb.__annotations__ = {field.name: field.type for field in all_fields} | {"return": int}
    verb.__doc__ = act.__doc__
    # What typer reads the options from, see the documentation of inspect.signature.
    verb.__signature__ = inspect.Signature([_parameter(f) for f in all_fields])  # type: ignore[attr-defined]
    return verb


def _parameter(field: Field[Any]) -> inspect.Parameter:
    return inspect.Parameter(
        field.name,
        inspect.Parameter.KEYWORD_ONLY,
        default=inspect.Parameter.empty if field.default is MISSING else field.default,
        annotation=field.type,
    )

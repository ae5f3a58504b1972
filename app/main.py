"""The ``lapline`` command: without a verb the window, with one the command line.

Qt is loaded only for the window, so that verbs start fast and run where Qt cannot.
"""

import os
import sys
from collections.abc import Mapping
from pathlib import Path

NO_SCREEN = (
    "lapline: there is no screen to show the window on (neither DISPLAY nor WAYLAND_DISPLAY is "
    "set); use a verb instead: lapline --help"
)
USAGE = "usage: lapline window [FILE]"


def main(argv: list[str] | None = None) -> int:
    """Run the command and return its exit code."""
    words = sys.argv[1:] if argv is None else argv
    if not _is_for_window(words):
        from core.cli import run  # noqa: PLC0415 - the window does not need the command line

        return run(words)
    rest = words[1:] if words[:1] == ["window"] else words
    if rest[:1] in (["--help"], ["-h"]):
        print(f"{USAGE}\n\nOpen the window, with a job when a file is given.")  # noqa: T201
        return 0
    if len(rest) > 1 or (rest and rest[0].startswith("-")):
        print(USAGE, file=sys.stderr)  # noqa: T201
        return 2
    if not has_screen(os.environ, sys.platform):
        print(NO_SCREEN, file=sys.stderr)  # noqa: T201
        return 2
    from app.start import run_window  # noqa: PLC0415 - verbs never load Qt

    return run_window(Path(rest[0]) if rest else None)


def has_screen(environment: Mapping[str, str], platform: str) -> bool:
    """Whether a window can be shown; Qt would end the process where it cannot."""
    if not platform.startswith("linux"):
        return True
    names = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return any(environment.get(name) for name in names)


def _is_for_window(words: list[str]) -> bool:
    if not words or words[0] == "window":
        return True
    return len(words) == 1 and words[0].lower().endswith(".lapline")


if __name__ == "__main__":
    sys.exit(main())

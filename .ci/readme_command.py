"""Prints one of the README's two commands, so that what is run is what is written there.

Usage: ``python3 .ci/readme_command.py main`` or ``test``.
"""

import re
import sys
from pathlib import Path

README = Path(__file__).resolve().parents[1] / "README.md"


def commands(text: str) -> dict[str, str]:
    """Return the commands in the fenced blocks marked with their name, by that name."""
    found = re.findall(r"<!-- command: (\w+) -->\n```sh\n(.+?)\n```", text, flags=re.DOTALL)
    return dict(found)


if __name__ == "__main__":
    sys.stdout.write(commands(README.read_text(encoding="utf-8"))[sys.argv[1]] + "\n")

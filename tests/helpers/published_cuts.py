"""Published rectangles to be cut from one sheet, with the shortest length known for them."""

import json
from dataclasses import dataclass
from pathlib import Path

DATA = Path(__file__).parents[1] / "data" / "straight_cuts" / "published.json"


@dataclass(frozen=True)
class Published:
    """Rectangles that fill a strip without waste.

    Attributes:
        shortest: no layout of any kind is shorter.
        by_straight_cuts: whether straight cuts reach that; None where the source does not say.
    """

    name: str
    source: str
    width: float
    shortest: float
    by_straight_cuts: bool | None
    sides: tuple[tuple[float, float], ...]


def published_cuts() -> list[Published]:
    """All instances of the file, their sources in full."""
    content = json.loads(DATA.read_text(encoding="utf-8"))
    return [
        Published(
            name=i["name"],
            source=content["sources"][i["source"]],
            width=float(i["width"]),
            shortest=float(i["shortest"]),
            by_straight_cuts=i["by_straight_cuts"],
            sides=tuple((float(a), float(b)) for a, b in i["sides"]),
        )
        for i in content["instances"]
    ]

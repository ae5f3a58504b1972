"""The kinds of line on a paper template, told apart by dashes and width as well as colour."""

from enum import Enum
from typing import NamedTuple

from core.write.drawing import Look


class _Pen(NamedTuple):
    colour: str
    width_mm: float
    dash_mm: tuple[float, ...]
    words: str


class TemplateLine(Enum):
    """What a line on a template stands for."""

    CUT = _Pen("#000000", 0.6, (), "outline: cut here")
    RELIEF = _Pen("#000000", 0.6, (2.4, 1.2), "relief cut: cut first; its sides meet when laid")
    TRIM = _Pen("#8a4b00", 0.5, (7.0, 1.5, 1.0, 1.5, 1.0, 1.5), "film ends; outside is grip")
    RIM = _Pen("#1253a4", 0.4, (3.0, 1.8), "rim; outside is edge turn")
    SEAM = _Pen("#b3121d", 0.5, (5.0, 1.4, 0.8, 1.4), "seam")
    LAP = _Pen("#3f7d58", 0.18, (), "lap: runs on beneath")
    CENTRE = _Pen("#5c636b", 0.2, (12.0, 2.0, 2.0, 2.0), "centre line")
    TICK = _Pen("#000000", 0.4, (), "match tick")
    MARK = _Pen("#5c636b", 0.3, (0.8, 0.8), "bolt, damage or other mark")

    @property
    def look(self) -> Look:
        """How it is drawn."""
        pen = self.value
        return Look(
            stroke=pen.colour, width_mm=pen.width_mm, dash_mm=pen.dash_mm, is_round=False
        )

    @property
    def words(self) -> str:
        """What the legend says of it."""
        return self.value.words

"""Free spots on a picture: where discs and lines of text stand without covering each other."""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.write.typeface import text_width_mm

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Lower left corner, then upper right one."""
Segment = tuple[Point, Point]
Boxes = NDArray[np.float64]
"""Shape (n, 4)."""

_PITCH = 1.75
"""From one line of a block to the next, in heights of its capitals."""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of text at a spot; an upright block is read from its right side.

    Attributes:
        height: of its capitals.
    """

    lines: tuple[str, ...]
    centre: Point
    height: float
    is_upright: bool = False

    @property
    def box(self) -> Box:
        """What it covers."""
        w, h = block_size(self.lines, self.height)
        if self.is_upright:
            w, h = h, w
        x, y = self.centre
        return (x - w / 2, y - h / 2, x + w / 2, y + h / 2)

    def base_points(self) -> Iterator[tuple[str, Point]]:
        """Yield each line with the middle of its base line."""
        for k, line in enumerate(self.lines):
            rise = ((len(self.lines) - 1) / 2 - k) * _PITCH * self.height - self.height / 2
            x, y = self.centre
            yield line, (x - rise, y) if self.is_upright else (x, y + rise)


def block_size(lines: Iterable[str], height: float) -> tuple[float, float]:
    """Return width and height of a block of lines, with a little room around."""
    held = list(lines)
    width = max(text_width_mm(line, height, is_bold=True) for line in held)
    return width + 0.6 * height, (_PITCH * (len(held) - 1) + 1.7) * height


@dataclass
class Taken:
    """What of a picture is covered already.

    Attributes:
        boxes: discs, texts.
        segments: lines, level or upright, that no text may cross, and discs had better not.
        edges: lines that no text may cross. Both are given before the first look.
    """

    boxes: list[Box] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    edges: list[Segment] = field(default_factory=list)

    def is_free(self, spot: Box) -> bool:
        """Whether nothing lies on a spot."""
        return not any(_overlap(spot, b) for b in self.boxes)

    def is_off_lines(self, spot: Box) -> bool:
        """Whether no line runs through a spot."""
        b = self._all_lines
        is_met = (b[:, 0] < spot[2]) & (b[:, 2] > spot[0])
        is_met &= (b[:, 1] < spot[3]) & (b[:, 3] > spot[1])
        return not is_met.any()

    @cached_property
    def _all_lines(self) -> Boxes:
        return _boxes_of([*self.segments, *self.edges])

    @cached_property
    def _segment_boxes(self) -> Boxes:
        return _boxes_of(self.segments)

    def lines_near(self, at: Point, reach: float, own: Segment) -> int:
        """Return how many other lines are nearer to a point than ``reach``."""
        b = self._segment_boxes
        dx = np.maximum(np.maximum(b[:, 0] - at[0], at[0] - b[:, 2]), 0.0)
        dy = np.maximum(np.maximum(b[:, 1] - at[1], at[1] - b[:, 3]), 0.0)
        is_other = (b != _boxes_of([own])).any(axis=1)
        return int(((dx * dx + dy * dy < reach * reach) & is_other).sum())

    def block_in(
        self,
        room: Box,
        ways: Iterable[tuple[str, ...]],
        heights: Iterable[Sequence[float]],
        step: float,
        near: Point | None = None,
    ) -> Block | None:
        """Take the spot for a block in a room, as large as can be.

        Args:
            room: where it is to stand.
            ways: how its text may be broken into lines.
            heights: of its capitals, in groups, largest first: a text is upright where no
                height of a group lets it lie level.
            step: how far apart spots are tried.
            near: the spot that is liked best; None for the middle.
        """
        held = list(ways)
        liked = near or ((room[0] + room[2]) / 2, (room[1] + room[3]) / 2)
        for group in heights:
            for is_upright in (False, True):
                for height, lines in itertools.product(group, held):
                    spots = _spots(room, lines, height, step, is_upright=is_upright)
                    for at in sorted(spots, key=lambda p: math.dist(p, liked)):
                        found = Block(lines, at, height, is_upright)
                        if self.is_free(found.box) and self.is_off_lines(found.box):
                            self.boxes.append(found.box)
                            return found
        return None


def _spots(
    room: Box, lines: tuple[str, ...], height: float, step: float, *, is_upright: bool
) -> list[Point]:
    w, h = block_size(lines, height)
    if is_upright:
        w, h = h, w
    xs = _places(room[0] + w / 2, room[2] - w / 2, step)
    ys = _places(room[1] + h / 2, room[3] - h / 2, step)
    return [(x, y) for x in xs for y in ys]


def _places(low: float, high: float, step: float) -> list[float]:
    """Return places between two ends, evenly spread about the middle; none where none fits."""
    if high < low:
        return []
    count = min(int((high - low) / step / 2), 20)
    middle = (low + high) / 2
    stride = (high - low) / 2 / count if count else 0.0
    return [middle + k * stride for k in range(-count, count + 1)]


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _boxes_of(segments: Sequence[Segment]) -> Boxes:
    """Return the boxes around lines: shape (n, 4)."""
    ends = np.array(segments, dtype=float).reshape(-1, 2, 2)
    return np.concatenate((ends.min(axis=1), ends.max(axis=1)), axis=1)

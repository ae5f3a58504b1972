"""Where one looks from: a parallel projection that is turned, moved and zoomed.

View axes: x to the right, y up, z towards the eye. Pixels: y down.
"""

from dataclasses import dataclass, replace

import numpy as np

from core.shape.model import Points

TURN_DEG_PER_PX = 0.4
FILL = 0.86
"""Share of the window that a part takes when it is shown whole."""
ASIDE_DOWN, ASIDE_RIGHT = 0.75, 0.4
"""How far beside a part one looks from, against the distance over it."""
NEAREST, FARTHEST = 60.0, 0.15
"""Bounds of the zoom, against the part shown whole."""


@dataclass(frozen=True, eq=False)
class Camera:
    """One way of looking at a part.

    Attributes:
        turn: shape (3, 3): rows are the view's axes in the part's frame.
        centre: the place of the part in the middle of the window, mm.
        px_per_mm: scale.
        size: width and height of the window in pixels.
        whole_px_per_mm: the scale at which the part is shown whole.
    """

    turn: Points
    centre: Points
    px_per_mm: float
    size: tuple[int, int]
    whole_px_per_mm: float

    def project(self, points: Points) -> tuple[Points, Points]:
        """Return where points, shape (n, 3), are seen in pixels, and how near they are, mm."""
        seen = (points - self.centre) @ self.turn.T
        width, height = self.size
        at = np.empty((len(points), 2))
        at[:, 0] = width / 2 + seen[:, 0] * self.px_per_mm
        at[:, 1] = height / 2 - seen[:, 1] * self.px_per_mm
        return at, seen[:, 2]

    def turned(self, right_px: float, down_px: float) -> "Camera":
        """Turn as if the part were rolled under the pointer."""
        yaw = np.radians(right_px * TURN_DEG_PER_PX)
        pitch = np.radians(down_px * TURN_DEG_PER_PX)
        about_y = np.array(
            [[np.cos(yaw), 0, np.sin(yaw)], [0, 1, 0], [-np.sin(yaw), 0, np.cos(yaw)]]
        )
        about_x = np.array(
            [
                [1, 0, 0],
                [0, np.cos(pitch), -np.sin(pitch)],
                [0, np.sin(pitch), np.cos(pitch)],
            ]
        )
        turn = about_x @ about_y @ self.turn
        # Many small turns must not shear the part: back to the nearest rotation.
        u, _, v = np.linalg.svd(turn)
        return replace(self, turn=u @ v)

    def moved(self, right_px: float, down_px: float) -> "Camera":
        """Shift the part with the pointer."""
        step = np.array([-right_px, down_px, 0.0]) / self.px_per_mm
        return replace(self, centre=self.centre + step @ self.turn)

    def zoomed(self, factor: float, at_px: tuple[float, float] | None = None) -> "Camera":
        """Come nearer by a factor; the place under ``at_px`` stays where it is."""
        low, high = (self.whole_px_per_mm * k for k in (FARTHEST, NEAREST))
        scale = float(np.clip(self.px_per_mm * factor, low, high))
        right, down = 0.0, 0.0
        if at_px is not None:
            right, down = at_px[0] - self.size[0] / 2, at_px[1] - self.size[1] / 2
        off = np.array([right, -down, 0.0]) * (1 / self.px_per_mm - 1 / scale)
        return replace(self, px_per_mm=scale, centre=self.centre + off @ self.turn)

    def resized(self, size: tuple[int, int]) -> "Camera":
        """Return the same look in a window of another size."""
        factor = min(size[0] / self.size[0], size[1] / self.size[1])
        return replace(
            self,
            size=size,
            px_per_mm=self.px_per_mm * factor,
            whole_px_per_mm=self.whole_px_per_mm * factor,
        )


def from_aside(normal: Points, up: Points) -> Points:
    """Return from where a part is seen so that its curvature shows: from below and the right.

    Args:
        normal: direction from the part to an eye that sees it flat.
        up: what points upwards there, square to ``normal``.
    """
    towards, upright = normal / np.linalg.norm(normal), up / np.linalg.norm(up)
    right = np.cross(upright, towards)
    aside = ASIDE_RIGHT * right - ASIDE_DOWN * upright
    return np.asarray(towards + aside)


def facing(points: Points, normal: Points, up: Points, size: tuple[int, int]) -> Camera:
    """Return a camera that shows points whole.

    Args:
        points: shape (n, 3), at least one.
        normal: direction from the part to the eye.
        up: what is to point upwards in the window; it is made square to ``normal``.
        size: width and height of the window in pixels.

    Degenerate input: where ``up`` runs along ``normal``, another is taken.
    """
    towards = _unit(normal, np.array([0.0, 0.0, 1.0]))
    upright = _unit(up - (up @ towards) * towards, _square_to(towards))
    turn = np.stack([np.cross(upright, towards), upright, towards])
    low, high = points.min(axis=0), points.max(axis=0)
    centre = (low + high) / 2
    reach = np.abs((points - centre) @ turn.T).max(axis=0)
    wide, tall = max(reach[0], 1e-6), max(reach[1], 1e-6)
    scale = FILL * min(size[0] / wide, size[1] / tall) / 2
    return Camera(turn, centre, float(scale), size, float(scale))


def _unit(vector: Points, otherwise: Points) -> Points:
    length = float(np.linalg.norm(vector))
    return vector / length if length > 1e-9 else otherwise


def _square_to(towards: Points) -> Points:
    axis = np.eye(3)[int(np.argmin(np.abs(towards)))]
    off = axis - (axis @ towards) * towards
    return np.asarray(off / np.linalg.norm(off))

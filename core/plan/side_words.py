"""The sides of a panel in the bench's words: front and rear along the flow, left and right."""

import numpy as np
from shapely import Polygon

_OUTER = 0.3
"""The outer share of a panel's box on either side is called by that side."""
_SWAP = {"left": "right", "right": "left"}

Spot = tuple[float, float]


def rim_words(panel: Polygon, flow_deg: float | None, at: Spot) -> str:
    """Return which rim a place lies by: "rear left rim"; "" in the middle.

    Sides are seen along the flow, or as drawn without one.
    """
    angle = np.radians(flow_deg or 0.0)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    ring = np.asarray(panel.exterior.coords) @ turn.T
    low, high = ring.min(axis=0), ring.max(axis=0)
    along, across = (np.array(at) @ turn.T - low) / (high - low)
    if flow_deg is None:
        names = (("left", "right"), ("lower", "upper"))
        words = [_side(across, names[1]), _side(along, names[0])]
    else:
        # Along the flow, the front is where air comes from, and left lies to its left.
        words = [_side(along, ("front", "rear")), _side(across, ("right", "left"))]
    named = [word for word in words if word]
    return f"{' '.join(named)} rim" if named else ""


def _side(share: float, names: tuple[str, str]) -> str:
    if share < _OUTER:
        return names[0]
    return names[1] if share > 1 - _OUTER else ""


def swapped(words: str) -> str:
    """Return words with left and right changed over, for the mirrored of a pair."""
    return " ".join(_SWAP.get(word, word) for word in words.split(" "))

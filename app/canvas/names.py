"""Which panel names are shown: one that lies on another panel or name is left out.

A name hangs below its panel's lower left corner and keeps its size, so seen from afar names
grow over their neighbours. They come back when there is room.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Boxes = NDArray[np.float64]
"""Shape (n, 4): left, top, right, bottom in pixels, y down."""


def names_with_room(panels: Boxes, plates: Boxes, always: Sequence[bool]) -> list[bool]:
    """Return which names are shown.

    Args:
        panels: the panels' bounds.
        plates: the names' grounds, one a panel.
        always: names that are shown whatever they cover, and that push others away.
    """
    on_panel: NDArray[np.bool_] = _overlaps(plates, panels)
    np.fill_diagonal(on_panel, val=False)
    is_covering = np.any(on_panel, axis=1).tolist()
    on_name: NDArray[np.bool_] = _overlaps(plates, plates)
    shown = list(always)
    for i in range(len(plates)):
        if not shown[i] and not is_covering[i]:
            shown[i] = not any(shown[k] for k in np.flatnonzero(on_name[i]) if k != i)
    return shown


def _overlaps(a: Boxes, b: Boxes) -> NDArray[np.bool_]:
    result: NDArray[np.bool_] = (
        (a[:, None, 0] < b[None, :, 2])
        & (a[:, None, 2] > b[None, :, 0])
        & (a[:, None, 1] < b[None, :, 3])
        & (a[:, None, 3] > b[None, :, 1])
    )
    return result

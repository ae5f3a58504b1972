"""What the two sides of a line are called by somebody who looks at the panel.

A line's own left and right follow the way it was drawn, which nobody remembers.
"""

from core.document.path import Path


def side_names(nodes: Path) -> tuple[str, str]:
    """Return what lies on a line's own left and on its right: upper, lower, left or right.

    Args:
        nodes: the line's, y up. Its run is that from the first to the last one.

    Degenerate input: a line whose ends meet counts as running to the right.

    >>> from core.document.path import straight_path
    >>> side_names(straight_path([(0.0, 0.0), (100.0, 20.0)]))
    ('upper', 'lower')
    >>> side_names(straight_path([(0.0, 100.0), (10.0, 0.0)]))
    ('right', 'left')
    """
    (x0, y0), (x1, y1) = nodes[0].at, nodes[-1].at
    across, up = x1 - x0, y1 - y0
    if abs(across) >= abs(up):
        return ("upper", "lower") if across >= 0 else ("lower", "upper")
    return ("left", "right") if up > 0 else ("right", "left")

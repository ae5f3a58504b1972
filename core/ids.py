"""Typed ids. Ids are short and stable: a letter for the kind and a number, such as ``s3``.

Panels ``p``, films ``f``, openings ``o``, marks ``m``, variants ``v``, rolls ``r``, offcuts
``k``, photos ``g``, guides ``h`` and dimensions ``d`` are unique in a job. Seams ``s``, stripes
``t``, inlays ``i``, relief cuts ``e``, paint spots ``c`` and runs ``u`` are unique in their
variant: one made like another shares its lines. Nodes ``n`` are unique in their path; so are
joints ``j``, the nodes at which a run is parted between two panels.
"""

from collections.abc import Iterable
from typing import NewType

FilmId = NewType("FilmId", str)
PanelId = NewType("PanelId", str)
CopyId = NewType("CopyId", str)
"""One physical panel: ``p3``; of a pair ``p3L`` and ``p3R``; of several ``p3.1``, ``p3.2``."""
OpeningId = NewType("OpeningId", str)
MarkId = NewType("MarkId", str)
NodeId = NewType("NodeId", str)
EdgeId = NewType("EdgeId", str)
"""An edge is named after the node that it starts from, within its ring."""
LineId = NewType("LineId", str)
"""A seam, stripe, inlay or relief cut."""
SpotId = NewType("SpotId", str)
PhotoId = NewType("PhotoId", str)
VariantId = NewType("VariantId", str)
StockId = NewType("StockId", str)
RegionId = NewType("RegionId", str)
"""Named after the line sides around it; unique in a job plan: ``p3L.s1L-s2R``."""
PieceId = NewType("PieceId", str)
"""A piece has the id of its (main) region."""


def next_id(prefix: str, taken: Iterable[str]) -> str:
    """Return the first free id above all that are taken.

    >>> next_id("s", ["s1", "s4", "p9"])
    's5'
    """
    tails = (t.removeprefix(prefix) for t in taken if t.startswith(prefix))
    return f"{prefix}{max((int(t) for t in tails if t.isdigit()), default=0) + 1}"

"""Whether the bytes of an STL file are all there: what copying or a full disk cut off is told.

A binary file says how many triangles it has, 50 bytes each after a head of 84; a text file
ends with its closing word.
"""

import struct

import numpy as np

from core.errors import ImportFailed

_HEAD = struct.Struct("<80xI")
_TRIANGLE_BYTES = 50
_LOOKED_AT = 500
_LONGEST_NORMAL = 1.01


def check_stl(data: bytes, where: str) -> None:
    """Refuse an STL file that is empty, cut off, or none.

    Raises:
        ImportFailed: with what is the matter.
    """
    if not data:
        raise ImportFailed("The file is empty.", where=where, mend="Save or copy it again.")
    if data.lstrip()[:5].lower() == b"solid" and b"facet" in data[:2000].lower():
        end = data[-2000:].rstrip().lower()
        if b"endsolid" not in end and not end.endswith(b"endfacet"):
            raise _incomplete("The file is incomplete: it ends within a triangle.", where)
        return
    if len(data) < _HEAD.size:
        return
    (count,) = _HEAD.unpack_from(data)
    have = (len(data) - _HEAD.size) // _TRIANGLE_BYTES
    if have >= count > 0:
        return
    if count and _are_triangles(data, have):
        raise _incomplete(
            f"The file is incomplete: {have:,} of its {count:,} triangles are there.", where
        )
    if count and b"facet" not in data[:2000].lower():
        raise ImportFailed(
            "This is no mesh file.", where=where, mend="Choose an STL, OBJ, PLY or 3MF file."
        )


def _incomplete(what: str, where: str) -> ImportFailed:
    return ImportFailed(what, where=where, mend="Save or copy it again.")


def _are_triangles(data: bytes, have: int) -> bool:
    """Whether what follows the head are triangles: their normals are of length one, or zero."""
    count = min(have, _LOOKED_AT)
    rows = np.frombuffer(data, np.uint8, count * _TRIANGLE_BYTES, _HEAD.size)
    normals = rows.reshape(count, _TRIANGLE_BYTES)[:, :12].copy().view("<f4")
    with np.errstate(all="ignore"):
        lengths = np.linalg.norm(normals.astype(np.float64), axis=1)
    return bool((lengths <= _LONGEST_NORMAL).all())

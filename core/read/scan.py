"""Scans: triangle meshes of parts from STL, OBJ, PLY and 3MF files.

A file is read whole or refused; what was mended in it is told (scan_mending.py). Files do not
say how long their unit is, or not reliably: they are taken for millimetres until a known length
is given.
"""

import io
import logging
import struct
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh
from numpy.typing import NDArray

from core.document.places import quoted
from core.errors import ImportFailed, InputError
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.limits import BROKEN
from core.read.scan_stl import check_stl
from core.shape.model import Triangles

MAX_BYTES = 256 * 2**20
MAX_UNPACKED_BYTES = 1024 * 2**20
MAX_TRIANGLES = 3_000_000
KINDS = ("stl", "obj", "ply", "3mf")
_BROKEN = (
    *BROKEN,
    NotImplementedError,
    EOFError,
    OSError,
    SyntaxError,  # what XML readers raise
    StopIteration,
    MemoryError,
    struct.error,
    zipfile.BadZipFile,
)


@dataclass(frozen=True, eq=False)
class ScanMesh:
    """A mesh in space.

    Attributes:
        vertices: shape (n, 3), mm.
        triangles: shape (m, 3), vertex numbers.
    """

    vertices: NDArray[np.float64]
    triangles: Triangles

    @property
    def size_mm(self) -> float:
        """The diagonal of the box round it."""
        return float(np.linalg.norm(np.ptp(self.vertices, axis=0)))


def read_scan(path: Path, progress: Progress | None = None) -> ScanMesh:
    """Read a scan file as it is.

    Raises:
        ImportFailed: no file of these kinds, too large, broken, or without triangles.
    """
    where = path.name
    try:
        if path.stat().st_size > MAX_BYTES:
            raise ImportFailed(
                "It is larger than 256 MB.", where=where, mend="Save it with fewer triangles."
            )
        data = path.read_bytes()
    except OSError as error:
        raise ImportFailed(
            f"It cannot be read ({error.strerror}).", where=where, mend="Choose another file."
        ) from error
    return scan_from_bytes(data, path.suffix.lstrip(".").lower(), where, progress)


def scan_from_bytes(
    data: bytes, kind: str, where: str, progress: Progress | None = None
) -> ScanMesh:
    """Read the bytes of a scan file.

    Args:
        data: the file's content.
        kind: one of KINDS.
        where: the file's name, for refusals.
        progress: told and asked now and then.

    Raises:
        ImportFailed: as read_scan.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    if kind not in KINDS:
        raise ImportFailed(
            f"A scan cannot be read from a {quoted(kind)} file.",
            where=where,
            mend="Save it as STL, OBJ, PLY or 3MF.",
        )
    progress.tell(Step("Reading the scan"))
    if kind == "3mf":
        _check_zip(data, where)
    if kind == "stl":
        check_stl(data, where)
    vertices, triangles = _loaded(data, kind, where)
    stop_if_cancelled(progress)
    if not len(triangles) or triangles.min() < 0 or triangles.max() >= len(vertices):
        raise ImportFailed("It holds no triangles.", where=where, mend="Save it as a mesh.")
    if len(triangles) > MAX_TRIANGLES:
        raise ImportFailed(
            "It holds more than 3 million triangles.",
            where=where,
            mend="Save it with fewer triangles.",
        )
    named = np.zeros(len(vertices), dtype=bool)
    named[triangles] = True
    if not np.isfinite(vertices[named]).all() or np.abs(vertices[named]).max() > 1e6:
        raise ImportFailed(
            "Some of its points lie nowhere, or a kilometre away.",
            where=where,
            mend="Save it again, in millimetres.",
        )
    return ScanMesh(vertices=np.nan_to_num(vertices), triangles=triangles)


def scaled(mesh: ScanMesh, shown_mm: float, true_mm: float) -> ScanMesh:
    """Return a mesh on which a length that shows as one number is another.

    Raises:
        InputError: a length that is not above zero.
    """
    if not (shown_mm > 0 and true_mm > 0 and np.isfinite(true_mm / shown_mm)):
        raise InputError("A length must be above zero.", mend="Measure between two places.")
    return ScanMesh(vertices=mesh.vertices * (true_mm / shown_mm), triangles=mesh.triangles)


def _loaded(data: bytes, kind: str, where: str) -> tuple[NDArray[np.float64], Triangles]:
    logging.getLogger("trimesh").setLevel(logging.CRITICAL)  # what is wrong is said by us
    try:
        with np.errstate(all="ignore"):
            scene = trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False)
            mesh = scene.to_mesh()
        vertices = np.array(mesh.vertices, dtype=np.float64).reshape(-1, 3)
        triangles = np.array(mesh.faces, dtype=np.int64).reshape(-1, 3)
        _let_go(mesh, *scene.geometry.values())
    except _BROKEN as error:
        raise ImportFailed(
            "It is broken, or no mesh.", where=where, mend="Save it again, as a mesh."
        ) from error
    return vertices, triangles


def _let_go(*shapes: object) -> None:
    """Empty meshes, which hang in rings: their triangles would stay until those are found."""
    for shape in shapes:
        if isinstance(shape, trimesh.Trimesh):
            shape.vertices, shape.faces = np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)


def _check_zip(data: bytes, where: str) -> None:
    """Refuse what would fill the memory when it is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            total = sum(info.file_size for info in archive.infolist())
    except _BROKEN as error:
        raise ImportFailed("It is broken.", where=where, mend="Save it again.") from error
    if total > MAX_UNPACKED_BYTES:
        raise ImportFailed(
            "It unpacks to more than 1 GB.", where=where, mend="Save it with fewer triangles."
        )

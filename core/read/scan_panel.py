"""A scan opened, and the part of it that becomes a panel of a job."""

import math
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import numpy as np
import shapely
from msgspec.structs import replace
from shapely import Polygon

from core.document.edits.ids import taken_ids
from core.document.edits.panels import add_panel
from core.document.flatten import flatten
from core.document.job import Job
from core.document.panel import Opening, Panel
from core.document.placing import place_panel, turned
from core.document.surface import ScannedSurface
from core.ids import FilmId, OpeningId, PanelId, next_id
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.scan import ScanMesh, read_scan, scaled
from core.read.scan_decimation import thinned
from core.read.scan_mending import areas_of, mended, neighbours
from core.read.scan_part import Chosen, ScannedPart, cut_out, part_of
from core.shape.scanned import mesh_to_bytes

DEVIATION_SHARE = 5e-4
"""A scan may be thinned so far that it leaves itself by this share of its size."""
OUTLINE_MM, OUTLINE_SHARE = 0.6, 1e-3
"""How far the outline may leave the corners of a rim, at least and by the part's size."""
TOOTH_SHARE = 0.45
"""Half a tooth, and a little for uneven ones, as a share of a triangle's side."""
SMALL, TINY = 15.0, 0.05
SPACE_MM = 150.0


@dataclass(frozen=True, eq=False)
class OpenedScan:
    """A scan that can be chosen from.

    Attributes:
        mesh: mended and thinned, in millimetres as far as could be told.
        told: what was done, a sentence each.
    """

    mesh: ScanMesh
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PanelWish:
    """What a panel made of a scan is to be: its name, its base film, the scan's file name."""

    name: str
    film: str
    title: str = ""


@dataclass(frozen=True, eq=False)
class ScannedPanel:
    """A job with a panel made of a scan, and the scan's bytes by the name of their file."""

    job: Job
    panel: str
    file: str
    data: bytes


def open_scan(path: Path, progress: Progress | None = None) -> OpenedScan:
    """Read a scan, mend it, and thin it to what can be worked with.

    Files do not say their unit. What is no larger than 15 of it is taken for metres, since
    nothing smaller than 15 mm is covered; the user can say otherwise.

    Raises:
        ImportFailed: no scan, broken, or nothing left of it.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    raw = read_scan(path, progress)
    told: list[str] = []
    if TINY < raw.size_mm < SMALL:
        raw = scaled(raw, 1.0, 1000.0)
        told.append("Its numbers are small: they are taken for metres.")
    whole = mended(raw, path.name, progress)
    stop_if_cancelled(progress)
    thin = thinned(whole.mesh, most_mm=DEVIATION_SHARE * whole.mesh.size_mm, progress=progress)
    told += whole.told
    if len(thin.mesh.triangles) < len(whole.mesh.triangles):
        told.append(
            f"Thinned from {len(whole.mesh.triangles):,} to {len(thin.mesh.triangles):,}"
            f" triangles, nowhere more than {max(thin.deviation_mm, 0.01):.2f} mm off."
        )
    return OpenedScan(thin.mesh, tuple(told))


def panel_from_scan(
    job: Job,
    mesh: ScanMesh,
    chosen: Chosen,
    wish: PanelWish,
    progress: Progress | None = None,
) -> ScannedPanel:
    """Cut a part out of a scan, lay it flat, and add it to a job as a panel.

    Args:
        job: gets the panel, right of those that are there.
        mesh: the scan, in millimetres.
        chosen: which of its triangles are to be covered.
        wish: what the panel is to be.
        progress: told and asked on the way.

    Raises:
        ImportFailed: nothing was chosen.
        GeometryError: the part cannot be laid flat in one piece, with the reason.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    progress.tell(Step("Laying the part flat"))
    own_mesh = cut_out(mesh, chosen)
    part = part_of(
        own_mesh, tolerance_mm=_tolerance_mm(mesh, chosen, own_mesh), progress=progress
    )
    data = mesh_to_bytes(part.mesh)
    file = f"{sha256(data).hexdigest()[:20]}.mesh"
    taken = taken_ids(job)
    own = next_id("p", taken)
    fresh = _panel(wish, own, part, file, taken)
    placed = _beside(job, _upright(fresh))
    return ScannedPanel(add_panel(job, placed), own, file, data)


def _tolerance_mm(mesh: ScanMesh, chosen: Chosen, part: ScanMesh) -> float:
    """Return how far the outline may leave the rim's corners.

    A rim that runs through the scan is a row of teeth as large as its triangles; the outline
    runs evenly between them.
    """
    fine = max(OUTLINE_MM, OUTLINE_SHARE * part.size_mm)
    pairs, _, _ = neighbours(mesh.triangles)
    if not (chosen[pairs[:, 0]] != chosen[pairs[:, 1]]).any():
        return fine
    side = math.sqrt(4 / math.sqrt(3) * float(areas_of(part.vertices, part.triangles).mean()))
    return max(fine, TOOTH_SHARE * side)


def _panel(wish: PanelWish, own: str, part: ScannedPart, file: str, taken: set[str]) -> Panel:
    openings = []
    names = set(taken)
    for path in part.openings:
        name = next_id("o", names)
        names.add(name)
        openings.append(Opening(id=OpeningId(name), nodes=path))
    return Panel(
        id=PanelId(own),
        name=wish.name,
        outline=part.outline,
        openings=tuple(openings),
        base_film=FilmId(wish.film),
        surface=ScannedSurface(file=file, title=wish.title),
    )


def _upright(panel: Panel) -> Panel:
    """Turn a panel so that the narrowest box round it stands straight, its long side level."""
    shape = Polygon(flatten(panel.outline, closed=True))
    box = shapely.get_coordinates(shape.minimum_rotated_rectangle)
    sides = np.diff(box[:3], axis=0)
    along = sides[int(np.argmax(np.hypot(*sides.T)))]
    angle_deg = math.degrees(math.atan2(along[1], along[0]))
    straight = (angle_deg + 90.0) % 180.0 - 90.0
    middle = shape.centroid
    return place_panel(panel, turned((middle.x, middle.y), -straight))


def _beside(job: Job, panel: Panel) -> Panel:
    """Place a panel to the right of all others."""
    left, low, _, _ = Polygon(flatten(panel.outline, closed=True)).bounds
    rights = [
        p.at[0] + float(np.max(flatten(p.outline, closed=True)[:, 0])) for p in job.panels
    ]
    x = max(rights) + SPACE_MM - left if rights else -left
    return replace(panel, at=(round(x, 1), round(-low, 1)))

"""From a tracing on a flat photo to a panel of the job, with the photo as its ground."""

import hashlib
import math
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace as changed

from core.document.edits.ids import free_id, taken_ids
from core.document.edits.panels import add_panel
from core.document.edits.paths import translate_path
from core.document.edits.photos import add_photo
from core.document.job import Job
from core.document.panel import Mark, Opening, Panel
from core.document.path import Path
from core.document.photo import Photo
from core.errors import EditRefused
from core.ids import next_id
from core.read.photo import stored_bytes
from core.read.photo_flat import FlatPhoto
from core.read.photo_scale import PhotoScale
from core.read.photo_trace import Tracing, ring_bounds

Place = tuple[float, float]
_AROUND_MM = 60.0
"""So much of the photo around the panel is kept."""


@dataclass(frozen=True, slots=True)
class PanelWish:
    """What a person says of the panel that a tracing becomes."""

    name: str
    base_film: str
    edge_turn_mm: float = 10.0
    is_pair: bool = False
    at: Place = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class TracedPanel:
    """A job with the traced panel, and the photo's name and bytes for its file."""

    job: Job
    panel: str
    file: str
    data: bytes


def add_traced_panel(
    job: Job,
    tracing: Tracing,
    flat: FlatPhoto,
    scale: PhotoScale,
    wish: PanelWish,
    *,
    title: str = "",
) -> TracedPanel:
    """Return the job with a panel of the tracing and the photo as its ground.

    Args:
        job: the job.
        tracing: with an outline.
        flat: the photo that it was traced on.
        scale: of that photo.
        wish: what the panel is called and made of.
        title: name of the photo's file.

    Raises:
        EditRefused: there is no outline, or the job refuses the panel.
        KeyError: the job has no film of that id.
    """
    if not tracing.outline:
        raise EditRefused("There is no outline yet.", mend="Find it, or draw it on the photo.")
    left, bottom, right, top = ring_bounds(tracing.outline)
    panel_id = free_id(job, "p")
    taken = [*taken_ids(job), panel_id]
    panel = Panel(
        id=panel_id,
        name=wish.name,
        outline=translate_path(tracing.outline, -left, -bottom),
        base_film=wish.base_film,
        openings=_openings(tracing, taken, (left, bottom)),
        marks=_marks(tracing, taken, (left, bottom)),
        edge_turn_mm=wish.edge_turn_mm,
        is_pair=wish.is_pair,
        at=wish.at,
    )
    m = _AROUND_MM
    ground = flat.cropped((left - m, bottom - m, right + m, top + m))
    added = add_panel(job, panel)
    data = stored_bytes(ground.pixels)
    photo = _photo(added, panel_id, ground, (left, bottom), title)
    # Its name tells it from a photo that undo may bring back under the same id.
    photo = changed(photo, file=f"{photo.id}-{hashlib.sha256(data).hexdigest()[:8]}.jpg")
    error = outline_error_mm(scale, tracing.outline)
    photo = _with_error(photo, error, math.hypot(right - left, top - bottom))
    return TracedPanel(add_photo(added, photo), panel_id, photo.file, data)


def outline_error_mm(scale: PhotoScale, outline: Path) -> float:
    """Return the largest error, with 95 % certainty, of lengths across an outline."""
    left, bottom, right, top = ring_bounds(outline)
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return scale.worst_error_mm(corners)


def _photo(job: Job, panel: str, ground: FlatPhoto, origin: Place, title: str) -> Photo:
    height, width = ground.pixels.shape[:2]
    one = free_id(job, "g")
    s = ground.mm_px
    return Photo(
        id=one,
        file=f"{one}.jpg",
        title=title[:200],
        width_px=width,
        height_px=height,
        to_mm=(
            *(s, 0.0, ground.left_mm - origin[0]),
            *(0.0, -s, ground.top_mm - origin[1]),
            *(0.0, 0.0, 1.0),
        ),
        error_mm=0.0,
        error_over_mm=0.0,
        panel=panel,
    )


def _with_error(photo: Photo, error_mm: float, over_mm: float) -> Photo:
    return changed(photo, error_mm=round(error_mm, 3), error_over_mm=round(over_mm, 1))


def _openings(tracing: Tracing, taken: list[str], origin: Place) -> tuple[Opening, ...]:
    made = []
    for path in tracing.openings:
        one = next_id("o", taken)
        taken.append(one)
        made.append(Opening(id=one, nodes=translate_path(path, -origin[0], -origin[1])))
    return tuple(made)


def _marks(tracing: Tracing, taken: list[str], origin: Place) -> tuple[Mark, ...]:
    made = []
    for mark in tracing.marks:
        one = next_id("m", taken)
        taken.append(one)
        path = tuple((x - origin[0], y - origin[1]) for x, y in mark.path)
        made.append(Mark(id=one, kind=mark.kind, path=path, radius_mm=mark.radius_mm))
    return tuple(made)

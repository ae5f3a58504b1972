"""What of a shape is too small for a plotter: narrow places, short steps, tight rounds.

A knife that trails behind its axis tears thin film there or cuts the corner. How small is too
small is the machine's word; the user gives it with the plotter.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from core.plan.model import Finding, JobPlan, Severity
from core.write.cut_starts import CORNER_DEG
from core.write.plotter import Plotter

Points = NDArray[np.float64]

_ROUND_DEG = 45.0
"""A bend that turns by less than this in all is no round."""
_MITRE = 12.0
"""Corners are given back up to this, so that a plain corner is no narrow place."""


class Small(StrEnum):
    """What is too small."""

    STRIP = "a strip of film"
    SLOT = "an opening or a slot"
    STEP = "a step"
    ROUND = "a round"


@dataclass(frozen=True, slots=True)
class SmallFeature:
    """Something too small.

    Attributes:
        at: a place on it.
        size_mm: length of a step, radius of a round; for a strip or a slot what it is narrower
            than.
    """

    what: Small
    at: tuple[float, float]
    size_mm: float


def small_features(shape: Polygon, least_mm: float) -> tuple[SmallFeature, ...]:
    """Return what of a shape is smaller than the machine cuts well.

    Args:
        shape: what is cut.
        least_mm: narrowest width, shortest step and least radius; 0 finds nothing.

    Degenerate input: an empty shape has no features.
    """
    if least_mm <= 0.0 or shape.is_empty:
        return ()
    found = list(_narrow(shape, least_mm, Small.STRIP))
    x0, y0, x1, y1 = shape.bounds
    room = 2 * least_mm
    around = box(x0 - room, y0 - room, x1 + room, y1 + room)
    found += _narrow(around.difference(shape), least_mm, Small.SLOT)
    for ring in (shape.exterior, *shape.interiors):
        points = shapely.get_coordinates(ring)[:-1]
        found += _steps(points, least_mm)
        found += _rounds(points, least_mm)
    return tuple(found)


def _narrow(area: BaseGeometry, least: float, what: Small) -> Iterator[SmallFeature]:
    """Yield where an area is narrower than ``least``: what opening it by a disc takes away.

    Sharp tips are given back by mitred corners.
    """
    half = least / 2
    eroded = shapely.buffer(area, -half, join_style="mitre", mitre_limit=_MITRE)
    opened = shapely.buffer(eroded, half * 1.02, join_style="mitre", mitre_limit=_MITRE)
    for part in shapely.get_parts(shapely.difference(area, opened)):
        if part.area < least * half:
            continue
        spot = part.representative_point()
        yield SmallFeature(what, (spot.x, spot.y), least)


def _steps(ring: Points, least: float) -> Iterator[SmallFeature]:
    """Yield stretches between two corners that are shorter than ``least``."""
    segments, lengths, turns = _measured(ring)
    corners = np.flatnonzero(np.abs(turns) > CORNER_DEG)
    if len(corners) < 2:
        return
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    total = float(ends[-1])
    away = np.diff(np.append(ends[corners], ends[corners[0]] + total))
    for i in np.flatnonzero(away < least):
        middle = ring[corners[i]] + segments[corners[i]] / 2
        yield SmallFeature(Small.STEP, (float(middle[0]), float(middle[1])), float(away[i]))


def _rounds(ring: Points, least: float) -> Iterator[SmallFeature]:
    """Yield bends of many points whose radius is below ``least``."""
    _, lengths, turns = _measured(ring)
    reach = (lengths + np.roll(lengths, 1)) / 2
    radius = reach / np.maximum(np.radians(np.abs(turns)), 1e-9)
    is_tight = (radius < least) & (np.abs(turns) > 1.0) & (np.abs(turns) <= CORNER_DEG)
    if is_tight.all() or not is_tight.any():
        groups = [np.arange(len(ring))] if is_tight.any() else []
    else:
        start = int(np.flatnonzero(~is_tight)[0])
        order = np.roll(np.arange(len(ring)), -start)
        cuts = np.flatnonzero(np.diff(is_tight[order].astype(int))) + 1
        groups = [g for g in np.split(order, cuts) if is_tight[g[0]]]
    for group in groups:
        if abs(float(turns[group].sum())) >= _ROUND_DEG:
            x, y = ring[group[len(group) // 2]].tolist()
            yield SmallFeature(Small.ROUND, (x, y), float(np.median(radius[group])))


def _measured(ring: Points) -> tuple[Points, Points, Points]:
    """Return segments, their lengths, and by how many degrees the ring turns at each point."""
    segments = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(segments[:, 0], segments[:, 1])
    angles = np.arctan2(segments[:, 1], segments[:, 0])
    turns = (angles - np.roll(angles, 1) + math.pi) % (2 * math.pi) - math.pi
    return segments, lengths, np.degrees(turns)


def plotter_findings(plan: JobPlan, plotter: Plotter) -> tuple[Finding, ...]:
    """Return a warning for each piece that has something too small for the plotter."""
    return tuple(_findings(plan, plotter.min_feature_mm))


def _findings(plan: JobPlan, least: float) -> Iterator[Finding]:
    for piece in plan.pieces:
        found = small_features(piece.cut_but_reliefs, least)
        if found:
            yield Finding(
                "N521",
                Severity.WARNING,
                f"{piece.label}: {_words(found, least)}: too small for the plotter, which cuts "
                f"{least:g} mm and more. Widen it or cut it by hand.",
                piece.panel,
                found[0].at,
            )


def _words(found: Sequence[SmallFeature], least: float) -> str:
    first = found[0]
    is_narrow = first.what in (Small.STRIP, Small.SLOT)
    size = f"narrower than {least:g} mm" if is_narrow else f"of {first.size_mm:.1f} mm"
    more = f", and {len(found) - 1} more" if len(found) > 1 else ""
    return f"{first.what.value} {size}{more}"

"""Keeping a panel symmetric: what an edit does to one half is done to the other.

The outline's nodes come in twins (``kept_rings``). So do openings and marks: each has its image
about the axis, or is its own. What is added gets its image, what is moved or deleted takes it
along.
"""

from collections.abc import Collection, Iterable, Sequence
from math import dist
from typing import Generic, TypeVar

from msgspec.structs import replace

from core.document.kept_rings import (
    kept_ring,
    mirror_of,
    renamed,
    twins_of,
)
from core.document.measures import ring_middle, ring_size
from core.document.panel import Mark, Opening, Panel, Symmetry
from core.document.path import Path, Point
from core.document.placing import place_mark, place_opening, place_ring, unit_at
from core.document.symmetry import symmetric_ring
from core.errors import EditRefused
from core.ids import next_id
from core.tolerance import JOIN_MM

T = TypeVar("T", bound=Opening | Mark)


def keep_symmetric(before: Panel, after: Panel, taken: Collection[str] = ()) -> Panel:
    """Return a panel after an edit, with the half that was changed mirrored onto the other.

    Nodes keep their ids. A node on the axis stays on it. Openings and marks follow where they
    are symmetric themselves or are each other's image; one that is new gets its image, and one
    that is deleted takes it along. A panel without a kept symmetry, or one whose axis the edit
    has set, is returned as it is.

    Args:
        before: the panel before the edit.
        after: the panel after it.
        taken: ids of the job, so that images get others.

    Raises:
        EditRefused: the half that was changed cannot be mirrored.
    """
    axis = after.symmetry
    if axis is None or (
        axis == before.symmetry
        and after.outline == before.outline
        and after.openings == before.openings
        and after.marks == before.marks
    ):
        return after
    made = after
    if axis == before.symmetry:
        made = replace(
            after,
            outline=kept_ring(before.outline, after.outline, axis),
            openings=_Openings(axis).kept(before.openings, after.openings, taken),
            marks=_Marks(axis).kept(before.marks, after.marks, taken),
        )
    # What no twins can be found for any more is let go of, rather than kept only in name.
    return made if is_symmetric(made.outline, axis) else replace(made, symmetry=None)


def is_symmetric(ring: Path, axis: Symmetry, within_mm: float = JOIN_MM) -> bool:
    """Whether a ring's nodes and handles come in twins about an axis."""
    return twins_of(ring, ring, mirror_of(axis), within_mm) is not None


def axis_ends(panel: Panel) -> tuple[Point, Point] | None:
    """Return the ends of the axis of a panel as it is drawn: a little beyond the outline."""
    axis = panel.symmetry
    if axis is None:
        return None
    along = unit_at(axis.angle_deg)
    middle = complex(*ring_middle(panel.outline)) - complex(*axis.through)
    at = complex(*axis.through) + along * (along.conjugate() * middle).real
    width, height = ring_size(panel.outline)
    half = 0.54 * (abs(along.real) * width + abs(along.imag) * height) * along
    return (at.real - half.real, at.imag - half.imag), (
        at.real + half.real,
        at.imag + half.imag,
    )


class _Belongings(Generic[T]):
    """Openings, or marks, of a panel that is kept symmetric."""

    prefix: str

    def __init__(self, axis: Symmetry) -> None:
        self.axis, self.mirror = axis, mirror_of(axis)

    def kept(
        self, before: tuple[T, ...], after: tuple[T, ...], taken: Collection[str]
    ) -> tuple[T, ...]:
        """Return what there is after an edit, images of each other where they were before."""
        if after == before:
            return after
        made = {a.id: a for a in after}
        self._let_follow(made, before, after)
        known = {b.id for b in before}
        names = {*taken, *known, *made}
        for new in after:
            if new.id not in known and not self._has_image(new, after):
                for one in self.with_image(new, next_id(self.prefix, names)):
                    made[one.id] = one
                    names.add(one.id)
        return tuple(made.values())

    def _let_follow(
        self, made: dict[str, T], before: tuple[T, ...], after: Iterable[T]
    ) -> None:
        """Let the twins of what was deleted or changed follow, unless they were changed too."""
        now = {a.id: a for a in after}
        for old in before:
            twin = self._twin(old, before)
            is_free = twin is not None and now.get(twin.id) == twin
            if old.id not in now:
                if twin is not None and is_free and not self._has_image(twin, after):
                    del made[twin.id]
            elif not self.is_moved(old, now[old.id]):
                continue
            elif self.is_image(old, old):
                made[old.id] = self.centred(old, now[old.id])
            elif twin is not None and is_free:
                made[twin.id] = self.following(old, now[old.id], twin)

    def _twin(self, one: T, among: Iterable[T]) -> T | None:
        others = (other for other in among if other.id != one.id)
        return next((other for other in others if self.is_image(one, other)), None)

    def _has_image(self, one: T, among: Iterable[T]) -> bool:
        return self.is_image(one, one) or self._twin(one, among) is not None

    def is_image(self, one: T, other: T) -> bool:
        """Whether two are each other's image, or one its own."""
        raise NotImplementedError

    def is_moved(self, old: T, new: T) -> bool:
        """Whether an edit did what an image has to follow."""
        raise NotImplementedError

    def centred(self, old: T, new: T) -> T:
        """Return one that was its own image made so again."""
        raise NotImplementedError

    def following(self, old: T, new: T, twin: T) -> T:
        """Return the image of one that was changed, in the place of its twin."""
        raise NotImplementedError

    def with_image(self, new: T, name: str) -> Sequence[T]:
        """Return a new one with its image, which gets a name, or made its own image."""
        raise NotImplementedError


class _Openings(_Belongings[Opening]):
    prefix = "o"

    def is_image(self, one: Opening, other: Opening) -> bool:
        return twins_of(one.nodes, other.nodes, self.mirror, JOIN_MM) is not None

    def is_moved(self, old: Opening, new: Opening) -> bool:
        return (old.nodes, old.turn_mm) != (new.nodes, new.turn_mm)

    def centred(self, old: Opening, new: Opening) -> Opening:
        return replace(new, nodes=kept_ring(old.nodes, new.nodes, self.axis))

    def following(self, old: Opening, new: Opening, twin: Opening) -> Opening:
        twins = twins_of(old.nodes, twin.nodes, self.mirror, JOIN_MM) or {}
        image = place_ring(new.nodes, self.mirror)
        known = {i: t for i, t in twins.items() if i in {n.id for n in image}}
        return replace(twin, nodes=renamed(image, (), known), turn_mm=new.turn_mm)

    def with_image(self, new: Opening, name: str) -> Sequence[Opening]:
        offs = [_off(n.at, self.axis) for n in new.nodes]
        if min(offs) >= -JOIN_MM or max(offs) <= JOIN_MM:
            return new, replace(place_opening(new, self.mirror), id=name)
        # One across the axis: the half with more of it counts.
        keeps_left = max(offs) > -min(offs)
        through, angle = self.axis.through, self.axis.angle_deg
        try:
            nodes = symmetric_ring(new.nodes, through, angle, keeps_left=keeps_left)
        except EditRefused:
            return (new,)
        return (replace(new, nodes=nodes),)


class _Marks(_Belongings[Mark]):
    prefix = "m"

    def is_image(self, one: Mark, other: Mark) -> bool:
        return (one.kind, one.radius_mm) == (other.kind, other.radius_mm) and any(
            _is_along(self._image(one.path), path) for path in (other.path, other.path[::-1])
        )

    def is_moved(self, old: Mark, new: Mark) -> bool:
        return (old.path, old.radius_mm, old.kind) != (new.path, new.radius_mm, new.kind)

    def centred(self, old: Mark, new: Mark) -> Mark:
        image = self._image(new.path)
        if not _is_along(self._image(old.path), old.path):
            image = image[::-1]
        middle = tuple(
            ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in zip(new.path, image, strict=True)
        )
        return replace(new, path=middle)

    def following(self, old: Mark, new: Mark, twin: Mark) -> Mark:
        path = self._image(new.path)
        if not _is_along(self._image(old.path), twin.path):
            path = path[::-1]
        return replace(new, id=twin.id, path=path, note=twin.note)

    def with_image(self, new: Mark, name: str) -> Sequence[Mark]:
        return new, replace(place_mark(new, self.mirror), id=name)

    def _image(self, path: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple(self.mirror.point(p) for p in path)


def _is_along(one: Sequence[Point], other: Sequence[Point]) -> bool:
    return len(one) == len(other) and all(
        dist(a, b) <= JOIN_MM for a, b in zip(one, other, strict=True)
    )


def _off(at: Point, axis: Symmetry) -> float:
    """Return how far a place is left of an axis."""
    gap = complex(*at) - complex(*axis.through)
    return (unit_at(axis.angle_deg).conjugate() * gap).imag

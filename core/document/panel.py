"""Panels: the parts to be covered, drawn flat."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from core.document.choices import Difficulty, Tries
from core.document.path import Coord, Id, Length, Name, Path, Point
from core.document.surface import Surface


class MarkKind(StrEnum):
    """Something on a panel that matters to the plan."""

    BOLT = "bolt"
    RECESS = "recess"
    DAMAGE = "damage"
    BADGE = "badge"
    RIDGE = "ridge"


class Trim(StrEnum):
    """How a panel's pieces get their shape."""

    PRE_CUT = "pre_cut"
    ON_PART = "on_part"


class Mark(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A bolt, recess, damage, badge or sharp ridge.

    Attributes:
        path: one point for a spot of ``radius_mm``; more for a line (a ridge) of that
            half-width.
    """

    id: Id
    kind: MarkKind
    path: Annotated[tuple[Point, ...], Meta(min_length=1)]
    radius_mm: Length = 5.0
    note: Name = ""


class Opening(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A hole in a panel; ``turn_mm`` of film is turned into it (0: cut flush)."""

    id: Id
    nodes: Annotated[Path, Meta(min_length=2)]
    turn_mm: Length = 0.0
    name: Name = ""


class Symmetry(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The axis that a panel is kept symmetric about: a point of it and its angle to x."""

    through: Point
    angle_deg: Coord


Task = Annotated[str, Meta(min_length=1, max_length=200)]
"""One line of what is to be done at the bench."""


class Panel(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One removable part, or one side of it, drawn flat in millimetres, y up.

    Attributes:
        outline: closed ring of nodes.
        base_film: film of every region that nothing else colours.
        edge_turn_mm: film turned round every edge that has no turn of its own.
        flow_deg: direction in which air and water run over the part, degrees counter-clockwise
            from x; None where it does not matter.
        count: how many alike are on the vehicle (pairs, when ``is_pair``).
        is_pair: left as drawn, and a right one mirrored.
        at: where the panel's origin stands on the canvas.
        tries: how many times each piece may have to be cut; None goes by difficulty.
        difficulty: how hard its pieces are to lay; None leaves it to the plan.
        is_locked: neither it nor what is drawn on it is to be changed.
        is_hidden: left out of the canvas; it is planned and cut all the same.
        symmetry: the axis about which edits of one half are mirrored; None: halves are free.
        surface: how the part is curved, measured or scanned; None: it is flat.
        preparation: what is to be done before film is laid, in order; None: the usual tasks.
    """

    id: Id
    name: Name
    outline: Annotated[Path, Meta(min_length=2)]
    base_film: Id
    openings: tuple[Opening, ...] = ()
    marks: tuple[Mark, ...] = ()
    edge_turn_mm: Length = 10.0
    flow_deg: Coord | None = None
    count: Annotated[int, Meta(ge=1, le=100)] = 1
    is_pair: bool = False
    at: Point = (0.0, 0.0)
    trim: Trim = Trim.PRE_CUT
    tries: Tries | None = None
    difficulty: Difficulty | None = None
    is_locked: bool = False
    is_hidden: bool = False
    symmetry: Symmetry | None = None
    surface: Surface | None = None
    preparation: Annotated[tuple[Task, ...], Meta(max_length=40)] | None = None

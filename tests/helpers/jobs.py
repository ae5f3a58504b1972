"""Small jobs and panels, for everybody's tests.

A rectangle's corners are n1 (0, 0), n2 (w, 0), n3 (w, h), n4 (0, h): edge n1 is the bottom, n2
the right, n3 the top, n4 the left one.
"""

import math
from collections.abc import Sequence
from typing import Any

from core.document.film import Film, Roll
from core.document.job import Job
from core.document.lines import Inlay, PaintSpot, Relief, Seam, SeamRule, Stripe
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.path import Node, Path, straight_path
from core.document.variant import Scheme, Variant

Points = Sequence[tuple[float, float]]
COLOURS = ("#24507a", "#e3a72f", "#7a8a3c", "#b9c4c9", "#5b2a4e")
QUARTER = 4 * (math.sqrt(2) - 1) / 3
"""Handle length of a cubic Bezier for a quarter of a unit circle (error 0.027 %)."""


def path(points: Points) -> Path:
    """A path of corner nodes n1, n2, ..."""
    return straight_path([(float(x), float(y)) for x, y in points])


def circle_path(x: float, y: float, radius: float) -> Path:
    """A circle of four smooth nodes, counter-clockwise from the right."""
    k, r = QUARTER * radius, radius
    around = (((r, 0), (0, k)), ((0, r), (-k, 0)), ((-r, 0), (0, -k)), ((0, -r), (k, 0)))
    return tuple(
        Node(
            id=f"n{i}",
            at=(x + dx, y + dy),
            smooth=True,
            before=(-float(hx), -float(hy)),
            after=(float(hx), float(hy)),
        )
        for i, ((dx, dy), (hx, hy)) in enumerate(around, 1)
    )


def rect_panel(id: str, w: float, h: float, **kw: Any) -> Panel:  # noqa: A002
    """A rectangle from (0, 0); base film f1 and an edge turn of 0 unless said otherwise."""
    return poly_panel(id, [(0, 0), (w, 0), (w, h), (0, h)], **kw)


def poly_panel(id: str, points: Points, **kw: Any) -> Panel:  # noqa: A002
    """A panel of corners."""
    fields = {"name": f"Panel {id}", "base_film": "f1", "edge_turn_mm": 0.0, **kw}
    return Panel(id=id, outline=path(points), **fields)


def disc_panel(id: str, radius: float, **kw: Any) -> Panel:  # noqa: A002
    """A disc about (0, 0)."""
    fields = {"name": f"Panel {id}", "base_film": "f1", "edge_turn_mm": 0.0, **kw}
    return Panel(id=id, outline=circle_path(0, 0, radius), **fields)


def film(id: str, *, rank: int = 0, **kw: Any) -> Film:  # noqa: A002
    """A film with one roll of 10 m."""
    number = int(id[1:])
    fields: dict[str, Any] = {
        "name": f"Film {id}",
        "colour": COLOURS[number % len(COLOURS)],
        "stock": (Roll(id=f"r{number}", length_mm=10_000.0),),
        **kw,
    }
    return Film(id=id, rank=rank, **fields)


def films(count: int = 3) -> tuple[Film, ...]:
    """Films f1, f2, ... of rank 0, 1, ..."""
    return tuple(film(f"f{i}", rank=i - 1) for i in range(1, count + 1))


def seam(id: str, points: Points, *, rule: SeamRule | None = None, **kw: Any) -> Seam:  # noqa: A002
    return Seam(id=id, nodes=path(points), rule=rule or SeamRule(), **kw)


def stripe(
    id: str,  # noqa: A002
    points: Points,
    width: float | tuple[float, float] = 40.0,
    film: str = "f2",
    *,
    rule: SeamRule | None = None,
    **kw: Any,
) -> Stripe:
    start, end = width if isinstance(width, tuple) else (width, width)
    return Stripe(
        id=id,
        nodes=path(points),
        start_width_mm=float(start),
        end_width_mm=float(end),
        film=film,
        rule=rule or SeamRule(),
        **kw,
    )


def inlay(id: str, points: Points, film: str = "f2", *, rule: SeamRule | None = None) -> Inlay:  # noqa: A002
    return Inlay(id=id, nodes=path(points), film=film, rule=rule or SeamRule())


def relief(id: str, points: Points, **kw: Any) -> Relief:  # noqa: A002
    return Relief(id=id, nodes=path(points), **kw)


def spot(id: str, x: float, y: float, film: str = "f2") -> PaintSpot:  # noqa: A002
    return PaintSpot(id=id, at=(float(x), float(y)), film=film)


def hole(id: str, x: float, y: float, radius: float, *, turn_mm: float = 0.0) -> Opening:  # noqa: A002
    return Opening(id=id, nodes=circle_path(x, y, radius), turn_mm=turn_mm)


def bolt(id: str, x: float, y: float, radius: float = 5.0) -> Mark:  # noqa: A002
    return Mark(id=id, kind=MarkKind.BOLT, path=((float(x), float(y)),), radius_mm=radius)


def scheme(panel: str, *things: Seam | Stripe | Inlay | PaintSpot | Relief) -> Scheme:
    """A scheme of whatever is given, sorted by kind."""
    return Scheme(
        panel=panel,
        seams=tuple(t for t in things if isinstance(t, Seam)),
        stripes=tuple(t for t in things if isinstance(t, Stripe)),
        inlays=tuple(t for t in things if isinstance(t, Inlay)),
        spots=tuple(t for t in things if isinstance(t, PaintSpot)),
        reliefs=tuple(t for t in things if isinstance(t, Relief)),
    )


def job_with(
    panels: Sequence[Panel] = (),
    schemes: Sequence[Scheme] = (),
    films: Sequence[Film] | None = None,
    **kw: Any,
) -> Job:
    """A job of one variant, v1, "As drawn"; films f1 to f3 unless said otherwise."""
    return Job(
        name=kw.pop("name", "Test job"),
        films=tuple(films) if films is not None else globals()["films"](),
        panels=tuple(panels),
        variants=(Variant(id="v1", name="As drawn", schemes=tuple(schemes)),),
        **kw,
    )


def two_tone_job() -> Job:
    """A rectangle of 400 x 200 with a seam across the middle; its right half painted in f2."""
    halves = scheme("p1", seam("s1", [(200, 0), (200, 200)]), spot("c1", 300, 100))
    return job_with([rect_panel("p1", 400, 200)], [halves])

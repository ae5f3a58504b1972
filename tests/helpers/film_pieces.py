"""Pieces, problems and layouts for the tests of core/roll, built without planning."""

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely import Polygon, box, orient_polygons
from shapely.affinity import rotate

from core.document.accepted_nest import AcceptedNest
from core.document.film import Film, Offcut, Roll
from core.document.job import Job, Settings
from core.document.variant import Variant
from core.ids import CopyId, FilmId, PanelId, PieceId
from core.plan.cutting import CutSpec
from core.plan.model import JobPlan, PanelPlan, Piece
from core.roll.model import Item
from core.roll.problem import FilmProblem, film_problems

BENCHMARKS = Path(__file__).parents[3] / "shared" / "nesting"
"""Open strip-packing instances; tests that read them skip where the folder is absent."""
SPEC = CutSpec(
    is_blank=False,
    inside_radius_mm=0.0,
    grip_mm=0.0,
    blank_step_mm=5.0,
    grain_deg=0.0,
    tick_spacing_mm=250.0,
)


def a_film(id: str = "f1", **kw: object) -> Film:  # noqa: A002
    """A film 1000 mm wide with a margin of 10, no grain and no stock unless said otherwise."""
    fields: dict[str, object] = {
        "name": f"Film {id}",
        "colour": "#24507a",
        "roll_width_mm": 1000.0,
        "edge_margin_mm": 10.0,
        **kw,
    }
    return Film(id=id, **fields)


def no_number_shape() -> Polygon:
    """A triangle with a corner that is not a number, which shapely warns of."""
    with np.errstate(invalid="ignore"):
        return Polygon([(0, 0), (math.nan, 10), (10, 0)])


def rolls(*lengths_mm: float) -> tuple[Roll, ...]:
    """Rolls r1, r2, ... of these lengths."""
    return tuple(Roll(id=f"r{i}", length_mm=float(v)) for i, v in enumerate(lengths_mm, 1))


def offcut(id: str, length_mm: float, width_mm: float) -> Offcut:  # noqa: A002
    return Offcut(id=id, length_mm=float(length_mm), width_mm=float(width_mm))


def piece(
    id: str,  # noqa: A002
    shape: Polygon,
    *,
    film: str = "f1",
    tries: int = 1,
    flow_deg: float = 0.0,
) -> Piece:
    """A piece whose cut shape is the polygon itself."""
    return Piece(
        id=PieceId(id),
        panel=CopyId("p1"),
        label=f"Piece {id}",
        regions=(),
        film=FilmId(film),
        order=1,
        final=shape,
        tries=tries,
        flow_deg=flow_deg,
        spec=SPEC,
        seam_paths=(),
    )


def plan_of(
    pieces: Iterable[Piece],
    films: Sequence[Film],
    *,
    gap_mm: float = 5.0,
    nests: tuple[AcceptedNest, ...] = (),
) -> JobPlan:
    """A job plan of one panel that holds the pieces."""
    variant = Variant(id="v1", name="As drawn")
    job = Job(
        name="Rolls",
        films=tuple(films),
        variants=(variant,),
        settings=Settings(gap_mm=gap_mm),
        nests=nests,
    )
    panel = PanelPlan(
        id=CopyId("p1"),
        of=PanelId("p1"),
        name="Lid",
        side=None,
        is_mirrored=False,
        outline=box(0, 0, 1, 1),
        extended=box(0, 0, 1, 1),
        regions=(),
        stretches=(),
        pieces=tuple(pieces),
        tape_runs=(),
        findings=(),
    )
    return JobPlan(job, variant, (panel,))


def problem_of(
    shapes: Iterable[Polygon],
    film: Film | None = None,
    *,
    gap_mm: float = 5.0,
    tries: int = 1,
    flow_deg: float = 0.0,
) -> FilmProblem:
    """The problem of one film with a piece g1, g2, ... for each shape."""
    pieces = [
        piece(f"g{i}", s, tries=tries, flow_deg=flow_deg) for i, s in enumerate(shapes, 1)
    ]
    return film_problems(plan_of(pieces, [film or a_film()], gap_mm=gap_mm))[0]


def items(shapes: Iterable[Polygon], angles_deg: tuple[float, ...] | None = None) -> list[Item]:
    """Items g1, g2, ... that may take the turns given."""
    return [
        Item(PieceId(f"g{i}"), 1, CopyId("p1"), f"Piece g{i}", s, angles_deg)
        for i, s in enumerate(shapes, 1)
    ]


def panel_like_shapes(count: int, seed: int) -> list[Polygon]:
    """Lids, bands, gussets and slanted boards of some hundred corners."""
    rng = np.random.default_rng(seed)
    makers = (_lid, _band, _gusset, _board)
    return [orient_polygons(makers[int(rng.integers(4))](rng)) for _ in range(count)]


def _lid(rng: np.random.Generator) -> Polygon:
    t = np.linspace(0, 2 * math.pi, int(rng.integers(100, 400)), endpoint=False)
    wave = 0.25 * rng.uniform() * np.sin(2 * t + rng.uniform(0, 6))
    r = 1 + wave + 0.15 * np.sin(3 * t + rng.uniform(0, 6)) + 0.05 * np.sin(5 * t)
    w, h = rng.uniform(75, 300), rng.uniform(50, 200)
    return Polygon(np.column_stack((w * r * np.cos(t), h * r * np.sin(t))))


def _band(rng: np.random.Generator) -> Polygon:
    t = np.linspace(0, rng.uniform(0.6, 2.2), int(rng.integers(50, 200)))
    inner = rng.uniform(200, 500)
    outer = inner + rng.uniform(40, 120)
    arc = np.column_stack((np.cos(t), np.sin(t)))
    return Polygon(np.concatenate((inner * arc, outer * arc[::-1])))


def _gusset(rng: np.random.Generator) -> Polygon:
    tip = (rng.uniform(0, 300), rng.uniform(150, 450))
    corners = [(0, 0), (rng.uniform(200, 700), rng.uniform(0, 80)), tip]
    return Polygon(corners).buffer(20, quad_segs=int(rng.integers(8, 32)))


def _board(rng: np.random.Generator) -> Polygon:
    board = box(0, 0, rng.uniform(80, 800), rng.uniform(60, 300))
    return rotate(board.buffer(15, quad_segs=int(rng.integers(6, 25))), rng.uniform(0, 90))


def benchmark_instance(name: str) -> tuple[list[Item], float, float]:
    """An open instance, scaled to a width of 1000: items, that width, the pieces' area."""
    data = json.loads((BENCHMARKS / f"{name}.json").read_text())
    scale = 1000.0 / data["strip_height"]
    found = []
    for kind in data["items"]:
        ring = np.array(kind["shape"]["data"]) * scale
        for copy in range(kind["demand"]):
            angles = tuple(kind["allowed_orientations"])
            id_ = PieceId(f"{kind['id']}.{copy}")
            found.append(Item(id_, 1, CopyId("p1"), str(id_), Polygon(ring), angles))
    return found, 1000.0, sum(i.polygon.area for i in found)


def blanks(
    shapes: Iterable[Polygon], angles_deg: tuple[float, ...] | None = None
) -> list[Item]:
    """Blanks g1, g2, ... that may take the turns given."""
    return [replace(item, is_blank=True) for item in items(shapes, angles_deg)]


def perfect_cut(
    count: int, seed: int, length_mm: int = 3000, width_mm: int = 1500
) -> list[tuple[int, int]]:
    """Sides of blanks cut from one sheet without waste: the larger the sooner it is cut."""
    rng = np.random.default_rng(seed)
    found = [(length_mm, width_mm)]
    while len(found) < count:
        areas = np.array([a * b for a, b in found], dtype=float)
        at = int(rng.choice(len(found), p=areas / areas.sum()))
        along, across = found[at]
        is_across = rng.random() < along / (along + across)
        side = along if is_across else across
        if side < 122:
            continue
        cut = int(rng.integers(60, side - 60))
        found[at : at + 1] = (
            [(cut, across), (along - cut, across)]
            if is_across
            else [(along, cut), (along, across - cut)]
        )
    return found

"""Small plans and rolls built by hand, without planning or nesting: writers judged alone."""

import math

import numpy as np
from shapely import LineString, Polygon, box
from shapely.affinity import scale

from core.document.film import Film, Grain, Offcut, Roll
from core.document.job import Job
from core.document.lines import SeamCut, Side
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.path import straight_path
from core.document.variant import Variant
from core.plan.cutting import CutSpec
from core.plan.model import (
    JobPlan,
    LabelledRing,
    PanelPlan,
    Piece,
    Reason,
    Region,
    Source,
    SourceKind,
    Stretch,
    TapeRun,
)
from core.roll.model import FilmRolls, Item, Missing, Placement, RollPlan, Sheet, SheetPlan

WHITE = Film(
    id="f1",
    name="Chalk white",
    colour="#f2f0e9",
    roll_width_mm=1000.0,
    stock=(Roll(id="r1", length_mm=2500.0), Offcut(id="k1", length_mm=700.0, width_mm=500.0)),
)
GREEN = Film(
    id="f2",
    name="Grün / fern",
    colour="#2f6b4f",
    rank=1,
    roll_width_mm=1000.0,
    grain=Grain.ONE_WAY,
)
SPEC = CutSpec(
    is_blank=False,
    inside_radius_mm=2.0,
    grip_mm=100.0,
    blank_step_mm=5.0,
    grain_deg=0.0,
    tick_spacing_mm=150.0,
)
LAP_MM = 8.0
SEAM_X = 350.0
TURN_MM = 10.0


def hand_job() -> Job:
    """Return a job with one pair: a board 600 × 400 with a round-ish opening and a bolt."""
    panel = Panel(
        id="p1",
        name="Side board",
        outline=straight_path([(0, 0), (600, 0), (600, 400), (0, 400)]),
        base_film="f1",
        openings=(Opening(id="o1", nodes=straight_path(hole_points(500, 200, 60))),),
        marks=(Mark(id="m1", kind=MarkKind.BOLT, path=((60.0, 60.0),)),),
        edge_turn_mm=TURN_MM,
        flow_deg=0.0,
        is_pair=True,
    )
    return Job(
        name="Library trike, one board",
        films=(WHITE, GREEN),
        variants=(Variant(id="v1", name="Two-tone"),),
        panels=(panel,),
    )


def hole_points(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    """Return twelve points on a circle."""
    turns = [2 * math.pi * i / 12 for i in range(12)]
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]


def hand_plan() -> JobPlan:
    """Return the plan of hand_job: a seam at x = 350, green on the right on top, lap 8 mm."""
    job = hand_job()
    copies = (_board("p1L", "left", mirrored=False), _board("p1R", "right", mirrored=True))
    return JobPlan(job=job, variant=job.variants[0], panels=copies)


def _board(copy: str, side: str, *, mirrored: bool) -> PanelPlan:
    def here(shape):
        turned = scale(shape, -1, 1, origin=(0, 0)) if mirrored else shape
        return turned.normalize().reverse() if isinstance(turned, Polygon) else turned

    hole = Polygon(hole_points(500, 200, 60))
    outline = box(0, 0, 600, 400).difference(hole)
    extended = box(-TURN_MM, -TURN_MM, 600 + TURN_MM, 400 + TURN_MM).difference(hole)
    seam = here(LineString([(SEAM_X, -TURN_MM), (SEAM_X, 400 + TURN_MM)]))
    left, right = f"{copy}.s1L", f"{copy}.s1R"
    white = here(extended.intersection(box(-50, -50, SEAM_X, 500)))
    green = here(extended.intersection(box(SEAM_X, -50, 700, 500)))
    under = here(extended.intersection(box(-50, -50, SEAM_X + LAP_MM, 500)))
    flow = 180.0 if mirrored else 0.0
    label = f"Side board {side}"
    return PanelPlan(
        id=copy,
        of="p1",
        name="Side board",
        side=side,
        is_mirrored=mirrored,
        outline=here(outline),
        extended=here(extended),
        regions=(_region(left, "f1", white), _region(right, "f2", green)),
        stretches=(
            Stretch(
                id="s1",
                line="s1",
                top=right,
                under=left,
                top_side=Side.RIGHT,
                reason=Reason.RANK,
                lap_mm=LAP_MM,
                is_full=False,
                cut=SeamCut.CUTTING_TAPE,
                path=seam,
            ),
        ),
        pieces=(
            _piece(left, copy, f"{label} 1", "f1", 1, under, flow, seam),
            _piece(right, copy, f"{label} 2", "f2", 2, green, flow, seam),
        ),
        tape_runs=(TapeRun("s1", "s1", right, seam, seam.length + 100.0),),
        findings=(),
    )


def _region(name: str, film: str, polygon: Polygon) -> Region:
    points = list(polygon.exterior.coords)[:-1]
    sources = tuple(Source(SourceKind.RIM, f"n{i}") for i, _ in enumerate(points, 1))
    return Region(name, film, polygon, (LabelledRing(np.array(points), sources),))


def _piece(name, copy, label, film, order, final, flow, seam) -> Piece:  # noqa: PLR0917
    return Piece(
        id=name,
        panel=copy,
        label=label,
        regions=(name,),
        film=film,
        order=order,
        final=final,
        tries=1,
        flow_deg=flow,
        spec=SPEC,
        seam_paths=(seam,),
    )


def hand_rolls(plan: JobPlan) -> RollPlan:
    """Return rolls of hand_plan, every piece placed by hand."""
    white = [p for p in plan.pieces if p.film == "f1"]
    green = [p for p in plan.pieces if p.film == "f2"]
    roll = Sheet(id="r1", kind="roll", width_mm=1000.0, length_mm=2500.0, margin_mm=10.0)
    buy = Sheet(id="buy", kind="roll", width_mm=1000.0, length_mm=None, margin_mm=10.0)
    return RollPlan(
        films=(
            FilmRolls("f1", (_sheet(roll, white, (0.0, 90.0)),), ()),
            FilmRolls(
                "f2",
                (_sheet(buy, green, (0.0, 180.0)),),
                (Missing("2 pieces need 0.6 m more", 600.0, tuple(map(_item, green))),),
            ),
        )
    )


def _item(piece: Piece) -> Item:
    return Item(piece.id, 1, piece.panel, piece.label, piece.cut, None)


def _sheet(sheet: Sheet, pieces: list[Piece], angles: tuple[float, ...]) -> SheetPlan:
    placements, x = [], 10.0
    for piece, angle in zip(pieces, angles, strict=True):
        level = Placement(_item(piece), angle, 0.0, 0.0).polygon.bounds
        placements.append(Placement(_item(piece), angle, x - level[0], 10.0 - level[1]))
        x += level[2] - level[0] + 5.0
    return SheetPlan(sheet, 5.0, tuple(placements), x + 5.0, "quick")

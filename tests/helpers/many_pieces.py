"""Many pieces on one roll, built without planning: for writers that must keep up."""

import math
from dataclasses import replace

import numpy as np
from shapely import Polygon

from core.plan.model import JobPlan, Piece
from core.roll.model import FilmRolls, Item, Placement, RollPlan, Sheet, SheetPlan
from helpers.plans import hand_plan

COLUMN_MM, ROW_MM = 220.0, 150.0
ROWS = 10


def many_pieces(count: int, seed: int = 7) -> tuple[JobPlan, RollPlan]:
    """Return a plan of rounded pieces, every second with an opening, laid in a random order."""
    plan = hand_plan()
    panel = plan.panels[0]
    rng = np.random.default_rng(seed)
    pieces = tuple(_piece(panel.pieces[0], i, rng) for i in range(count))
    places = rng.permutation(count)
    laid = tuple(
        Placement(
            Item(p.id, 1, p.panel, p.label, p.cut, None),
            0.0,
            120.0 + COLUMN_MM * (k // ROWS),
            85.0 + ROW_MM * (k % ROWS),
        )
        for p, k in zip(pieces, places.tolist(), strict=True)
    )
    length = COLUMN_MM * math.ceil(count / ROWS) + 20.0
    sheet = Sheet(id="r1", kind="roll", width_mm=1520.0, length_mm=None, margin_mm=10.0)
    rolls = FilmRolls("f1", (SheetPlan(sheet, 5.0, laid, length, "quick"),), ())
    plan = replace(plan, panels=(replace(panel, pieces=pieces, stretches=()),))
    return plan, RollPlan((rolls,))


def _piece(pattern: Piece, i: int, rng: np.random.Generator) -> Piece:
    turns = np.linspace(0, 2 * math.pi, 80, endpoint=False)
    wave = 1.0 + 0.06 * np.sin(turns * rng.integers(2, 6))
    size = rng.uniform(0.8, 1.0)
    outer = np.column_stack([95 * np.cos(turns), 65 * np.sin(turns)]) * wave[:, None] * size
    holes = [0.25 * outer[::-1]] if i % 2 else []
    return replace(
        pattern,
        id=f"p1L.{i}",
        label=f"Side board left {i + 1}",
        order=i + 1,
        final=Polygon(outer, holes),
    )

"""Random panels and lines for the laws of a plan: curves, openings, turns and every rule."""

import math
from dataclasses import dataclass

import hypothesis.strategies as st
import numpy as np
from shapely import Polygon

from core.document.film import Film
from core.document.flatten import flatten
from core.document.job import Job, Settings
from core.document.lines import (
    Inlay,
    PaintSpot,
    Seam,
    SeamCut,
    SeamRule,
    Side,
    Stripe,
    Under,
)
from core.document.panel import Opening, Panel, Trim
from core.document.path import Node, Path
from core.document.variant import Scheme, Variant

FILMS = (
    Film(id="f1", name="Base", colour="#203040", rank=0),
    Film(id="f2", name="Accent", colour="#e0a030", rank=1, min_inside_radius_mm=3.0),
    Film(id="f3", name="Weave", colour="#808080", rank=1, min_inside_radius_mm=0.0),
)


@dataclass(frozen=True)
class Recipe:
    """What hypothesis varies; the rest follows from the seed."""

    seed: int
    corners: int
    openings: int
    seams: int
    stripes: int
    inlays: int
    turns: bool


recipes = st.builds(
    Recipe,
    seed=st.integers(0, 2**32 - 1),
    corners=st.integers(3, 9),
    openings=st.integers(0, 2),
    seams=st.integers(0, 5),
    stripes=st.integers(0, 2),
    inlays=st.integers(0, 2),
    turns=st.booleans(),
)


def random_job(recipe: Recipe) -> Job:
    """Return a job of one pair of panels, different for every recipe."""
    rng = np.random.default_rng(recipe.seed)
    panel = _panel(recipe, rng)
    body = Polygon(flatten(panel.outline, closed=True))
    seams = tuple(_seam(f"s{i}", body, rng) for i in range(1, recipe.seams + 1))
    stripes = tuple(_stripe(f"t{i}", body, rng) for i in range(1, recipe.stripes + 1))
    inlays = tuple(_inlay(f"i{i}", body, rng) for i in range(1, recipe.inlays + 1))
    spots = tuple(
        PaintSpot(id=f"c{i}", at=_inside(body, rng), film=_film(rng))
        for i in range(1, int(rng.integers(0, 5)))
    )
    scheme = Scheme(panel="p1", seams=seams, stripes=stripes, inlays=inlays, spots=spots)
    return Job(
        name="Random",
        films=FILMS,
        panels=(panel,),
        variants=(Variant(id="v1", name="One", schemes=(scheme,)),),
        settings=Settings(lap_mm=float(rng.choice([0.0, 5.0, 8.0, 20.0]))),
    )


def _panel(recipe: Recipe, rng: np.random.Generator) -> Panel:
    outline = _blob(recipe.corners, 400.0, rng, smooth=0.5)
    if recipe.turns:
        outline = tuple(
            Node(
                id=n.id, at=n.at, smooth=n.smooth, before=n.before, after=n.after,
                turn_mm=None if n.smooth else float(rng.choice([0.0, 6.0, 15.0])),
            )
            for n in outline
        )  # fmt: skip
    openings = []
    for i in range(recipe.openings):
        angle = math.tau * (i / 2 + rng.uniform(0, 0.2))
        centre = (70 * math.cos(angle), 70 * math.sin(angle))
        ring = _blob(int(rng.integers(3, 6)), 40.0, rng, smooth=0.7, centre=centre)
        turn = float(rng.choice([0.0, 4.0, 60.0]))
        openings.append(Opening(id=f"o{i + 1}", nodes=ring, turn_mm=turn))
    return Panel(
        id="p1",
        name="Random",
        outline=outline,
        openings=tuple(openings),
        base_film="f1",
        edge_turn_mm=float(rng.choice([0.0, 10.0])),
        flow_deg=None if rng.random() < 0.3 else float(rng.uniform(0, 360)),
        is_pair=bool(rng.random() < 0.3),
        trim=Trim.ON_PART if rng.random() < 0.2 else Trim.PRE_CUT,
    )


def _blob(
    corners: int,
    radius: float,
    rng: np.random.Generator,
    *,
    smooth: float,
    centre: tuple[float, float] = (0.0, 0.0),
) -> Path:
    """Return a ring around a centre, star-shaped, some of its nodes smooth."""
    angles = (np.arange(corners) + rng.uniform(-0.25, 0.25, corners)) * (math.tau / corners)
    radii = radius * rng.uniform(0.55, 1.0, corners)
    nodes = []
    for i, (angle, r) in enumerate(zip(angles, radii, strict=True), 1):
        at = (centre[0] + r * math.cos(angle), centre[1] + r * math.sin(angle))
        if rng.random() < smooth:
            reach = r * math.tan(math.tau / corners / 4) * 0.9
            tx, ty = -math.sin(angle) * reach, math.cos(angle) * reach
            node = Node(id=f"n{i}", at=at, smooth=True, before=(-tx, -ty), after=(tx, ty))
        else:
            node = Node(id=f"n{i}", at=at)
        nodes.append(node)
    return tuple(nodes)


def _rule(rng: np.random.Generator) -> SeamRule:
    return SeamRule(
        on_top=rng.choice([None, None, None, None, Side.LEFT, Side.RIGHT]),
        lap_mm=rng.choice([None, None, 0.0, 3.0, 12.0]),
        under=Under.FULL if rng.random() < 0.2 else Under.LAP,
        cut=rng.choice([None, None, SeamCut.BUTT, SeamCut.CUTTING_TAPE]),
    )


def _film(rng: np.random.Generator) -> str:
    return str(rng.choice(["f1", "f2", "f3"]))


def _inside(body: Polygon, rng: np.random.Generator) -> tuple[float, float]:
    x0, y0, x1, y1 = body.bounds
    return float(rng.uniform(x0, x1)), float(rng.uniform(y0, y1))


def _rim_point(body: Polygon, rng: np.random.Generator) -> tuple[float, float]:
    at = body.exterior.interpolate(float(rng.uniform(0, 1)), normalized=True)
    return at.x, at.y


def _course(body: Polygon, rng: np.random.Generator) -> Path:
    """Return an open path across the panel: from rim to rim, from outside, or loose inside."""
    start = _rim_point(body, rng)
    end = _rim_point(body, rng) if rng.random() < 0.8 else _inside(body, rng)
    between = [_inside(body, rng) for _ in range(int(rng.integers(0, 3)))]
    points = [start, *between, end]
    if rng.random() < 0.3:
        points = [(x * 1.3, y * 1.3) for x, y in points]
    nodes = []
    for i, at in enumerate(points, 1):
        bend = tuple(rng.uniform(-60, 60, 2)) if rng.random() < 0.4 else None
        back = (-bend[0], -bend[1]) if bend else None
        nodes.append(Node(id=f"n{i}", at=at, smooth=bend is not None, before=back, after=bend))
    return tuple(nodes)


def _seam(name: str, body: Polygon, rng: np.random.Generator) -> Seam:
    return Seam(id=name, nodes=_course(body, rng), rule=_rule(rng))


def _stripe(name: str, body: Polygon, rng: np.random.Generator) -> Stripe:
    return Stripe(
        id=name,
        nodes=_course(body, rng),
        start_width_mm=float(rng.uniform(0, 90)),
        end_width_mm=float(rng.uniform(5, 90)),
        film=_film(rng),
        rule=_rule(rng),
    )


def _inlay(name: str, body: Polygon, rng: np.random.Generator) -> Inlay:
    ring = _blob(
        int(rng.integers(3, 7)),
        float(rng.uniform(20, 150)),
        rng,
        smooth=0.5,
        centre=_inside(body, rng),
    )
    return Inlay(id=name, nodes=ring, film=_film(rng), rule=_rule(rng))

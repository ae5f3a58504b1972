"""How long planning takes.

Run with ``pytest tests/bench/test_plan_bench.py --benchmark-enable --benchmark-only``. Goals:
recompute after a seam moves, 400 points and 12 seams, under 16 ms; the trike under 150 ms.
"""

import itertools
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from core.document.file import load_job
from core.document.film import Film
from core.document.job import Job
from core.document.lines import PaintSpot, Seam
from core.document.panel import Panel
from core.document.path import straight_path
from core.document.variant import Scheme, Variant
from core.plan import joined_lines, panel_shape, pieces, plan, traced_line
from core.plan.checks import lines as line_checks
from core.plan.checks import pieces as piece_checks
from core.plan.memory import Memory
from core.plan.plan import plan_job

SAMPLES = Path(__file__).parents[2] / "sample_projects"


def large_job(points: int = 400, seams: int = 12) -> Job:
    """A wavy panel with turned edges, cut by seams of sixty points, in two colours."""
    around = np.linspace(0, 2 * np.pi, points, endpoint=False)
    outline = [
        (500 + 480 * np.cos(a) * (1 + 0.05 * np.cos(5 * a)), 400 + 350 * np.sin(a))
        for a in around
    ]
    columns = np.linspace(120, 880, seams)
    up = np.linspace(-50, 850, 60)
    lines = tuple(
        Seam(id=f"s{i}", nodes=straight_path([(x + 10 * np.sin(y / 60), y) for y in up]))
        for i, x in enumerate(columns, 1)
    )
    middles = (columns[1:] + columns[:-1])[::2] / 2
    spots = tuple(
        PaintSpot(id=f"c{i}", at=(float(x), 400.0), film="f2") for i, x in enumerate(middles, 1)
    )
    panel = Panel(
        id="p1", name="Large", outline=straight_path(outline), base_film="f1", flow_deg=0.0
    )
    scheme = Scheme(panel="p1", seams=lines, spots=spots)
    return Job(
        name="Bench",
        films=(
            Film(id="f1", name="Base", colour="#203040"),
            Film(id="f2", name="Accent", colour="#e0a030", rank=1),
        ),
        panels=(panel,),
        variants=(Variant(id="v1", name="One", schemes=(scheme,)),),
    )


def nudged(job: Job, step: int) -> Job:
    """Move one node of the sixth seam, as a drag does frame by frame."""
    (variant,) = job.variants
    (scheme,) = variant.schemes
    seams = list(scheme.seams)
    nodes = list(seams[5].nodes)
    x, y = nodes[30].at
    nodes[30] = replace(nodes[30], at=(x + 0.3 * (step % 7) - 0.9, y))
    seams[5] = replace(seams[5], nodes=tuple(nodes))
    scheme = replace(scheme, seams=tuple(seams))
    return replace(job, variants=(replace(variant, schemes=(scheme,)),))


def tell_p95(benchmark) -> None:
    if benchmark.stats is not None:
        times = benchmark.stats.stats.data
        benchmark.extra_info["p95_ms"] = round(float(np.percentile(times, 95)) * 1e3, 2)
        benchmark.extra_info["median_ms"] = round(float(np.median(times)) * 1e3, 2)


@pytest.fixture
def forget():
    """Return a function that empties every memory of the planner."""
    modules = (joined_lines, panel_shape, pieces, plan, traced_line, line_checks, piece_checks)
    memories = [v for m in modules for v in vars(m).values() if isinstance(v, Memory)]
    assert len(memories) >= 7

    def empty() -> None:
        for memory in memories:
            memory._kept.clear()

    return empty


def test_recompute_after_a_seam_moves(benchmark):
    state = {"job": large_job()}
    steps = itertools.count()
    assert len(plan_job(state["job"]).panels[0].regions) == 13

    def drag():
        state["job"] = nudged(state["job"], next(steps))
        return plan_job(state["job"])

    made = benchmark.pedantic(drag, rounds=120, warmup_rounds=10)
    assert len(made.panels[0].pieces) == 13
    tell_p95(benchmark)


def test_plan_the_large_panel_from_a_cold_memory(benchmark, forget):
    job = large_job()
    made = benchmark.pedantic(plan_job, args=(job,), setup=forget, rounds=20)
    assert len(made.pieces) == 13
    tell_p95(benchmark)


def test_plan_the_whole_trike_from_a_cold_memory(benchmark, forget):
    job = load_job(SAMPLES / "library_trike.lapline").job
    made = benchmark.pedantic(plan_job, args=(job,), setup=forget, rounds=20)
    assert len(made.pieces) > 20
    tell_p95(benchmark)

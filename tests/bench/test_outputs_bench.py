"""How long the outputs of large jobs take, plotter files aside; pages go to the extra info.

Goals, on a machine that does nothing else: all outputs of the library trike within 5 s, a bench
sheet of 168 panels within 10 s, one of 500 pieces on a single panel within 12 s.
"""

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

from core.document.file import load_job
from core.document.panel import Panel
from core.document.path import Node
from core.plan.plan import plan_job
from core.roll.rolls import roll_plan
from core.write.outputs import OutputOptions, planned_outputs
from core.write.planned_file import FileKind
from helpers.jobs import circle_path, hole, job_with, scheme, seam
from helpers.many_pieces import many_pieces

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "library_trike.lapline"
PANELS, ACROSS, PITCH_MM = 168, 12, 400.0


def lobed(lobes):
    """A smooth outline with lobes: a node at each crest and each hollow."""
    count, ring = 2 * lobes, []
    for i in range(count):
        a, r = 2 * math.pi * i / count, 160.0 * (1 + 0.12 * (-1) ** i)
        long = 0.36 * r * 2 * math.pi / count
        step = (-long * math.sin(a), long * math.cos(a))
        back = (-step[0], -step[1])
        at = (r * math.cos(a), r * math.sin(a))
        ring.append(Node(id=f"n{i + 1}", at=at, smooth=True, before=back, after=step))
    return tuple(ring)


def many_panels():
    """504 pieces: panels that differ, each with an opening and two curved seams."""
    panels, schemes = [], []
    for i in range(PANELS):
        opening = replace(hole(f"o{i + 1}", 0, 0, 20), nodes=circle_path(60, 60, 25))
        panels.append(
            Panel(
                id=f"p{i + 1}", name=f"Panel {i + 1}", base_film="f1",
                at=(PITCH_MM * (i % ACROSS), PITCH_MM * (i // ACROSS)),
                outline=lobed(4 + i % 5), openings=(opening,),
            )
        )  # fmt: skip
        waves = [
            [(x, 20 * math.sin(x / 40) + y) for x in range(-230, 231, 20)] for y in (-40, 20)
        ]
        seams = [seam(f"s{i + 1}-{k}", wave) for k, wave in enumerate(waves)]
        schemes.append(scheme(f"p{i + 1}", *seams))
    return plan_job(job_with(panels, schemes))


def written(plan, rolls, kinds):
    made = planned_outputs(plan, rolls, OutputOptions())
    return {f.name: len(f.data()) for f in made if f.kind in kinds}


def pages_of(plan, rolls):
    (sheet,) = [f for f in planned_outputs(plan, rolls) if f.kind is FileKind.BENCH]
    sheet.data()
    return len(sheet.drawings)


def test_all_outputs_of_the_library_trike(benchmark):
    plan = plan_job(load_job(SAMPLE).job)
    rolls = roll_plan(plan).rolls
    sizes = benchmark.pedantic(written, (plan, rolls, tuple(FileKind)), rounds=1)
    benchmark.extra_info["files"] = len(sizes)
    assert len(sizes) > 40


@pytest.mark.parametrize("kind", ["many panels", "one panel"])
def test_a_bench_sheet_of_five_hundred_pieces(benchmark, kind):
    if kind == "many panels":
        plan = many_panels()
        rolls = roll_plan(plan).rolls
    else:
        plan, rolls = many_pieces(500)
    for piece in plan.pieces:  # what a window has long since
        assert piece.cut
        assert piece.ticks is not None
    pages = benchmark.pedantic(pages_of, (plan, rolls), rounds=1)
    benchmark.extra_info["pages"] = pages
    assert len(plan.pieces) >= 500
    assert pages > (PANELS if kind == "many panels" else 10)

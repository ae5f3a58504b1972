"""Whatever is drawn, an operation on an outline gives a sound job or refuses in words."""

from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.document.edits import built_up, outlines
from core.document.file import JobFile, from_bytes, load_job, to_bytes
from core.errors import LaplineError
from core.geometry.path_offset import Corners
from core.plan.keep_colours import split_in_colour
from core.plan.plan import plan_job
from helpers.job_strategies import jobs

SAMPLES = sorted((Path(__file__).parents[2] / "sample_projects").glob("*.lapline"))


def operations(panel, other):
    """Every operation on a panel, each with sizes that may or may not suit it."""
    p = panel.id
    nodes = [n.id for n in panel.outline]
    a, b = nodes[0], nodes[len(nodes) // 2]
    upright = outlines.middle_axis(panel, is_level=False)
    return {
        "mirror": lambda job: outlines.mirror_panel(job, p, upright),
        "turn": lambda job: outlines.rotate_panel(job, p, 33.0),
        "flow": lambda job: outlines.rotate_to_flow(job, p, 90.0),
        "length": lambda job: outlines.scale_to_length(job, p, (a, b), 321.0, is_along=True),
        "size": lambda job: outlines.scale_to_size(job, p, 500.0, 400.0),
        "edge": lambda job: outlines.set_length_of_edge(job, p, p, a, 250.0),
        "round": lambda job: outlines.round_corners(job, p, p, None, 6.0),
        "one": lambda job: outlines.round_corners(job, p, p, [b], 6.0),
        "grow": lambda job: outlines.offset_outline(job, p, 7.0, Corners.SHARP),
        "shrink": lambda job: outlines.offset_outline(job, p, -4.0, Corners.ROUND),
        "straighten": lambda job: outlines.straighten_outline(job, p, p, a, b),
        "simplify": lambda job: outlines.simplify_outline(job, p, p, 0.8)[0],
        "align": lambda job: outlines.align_nodes(job, p, p, [a, b], is_level=True),
        "weld": lambda job: outlines.weld_nodes(job, p, p, a, nodes[1]),
        "split": lambda job: built_up.split_panel(job, p, a, b),
        "symmetric": lambda job: built_up.make_symmetric(job, p, upright, keeps_left=True),
        "join": lambda job: built_up.join_panels(job, p, other),
        "cut away": lambda job: built_up.cut_away(job, p, other),
    }


def sound(job, scans=None):
    return from_bytes(to_bytes(JobFile(job, scans=scans or {})), "again").job == job


@settings(max_examples=25)
@given(jobs(), st.data())
def test_on_shapes_that_mean_nothing(job, data):
    assume(job.panels)
    panel = job.panels[0]
    every = operations(panel, job.panels[-1].id)
    name = data.draw(st.sampled_from(sorted(every)))
    try:
        result = every[name](job)
    except LaplineError:
        return
    assert sound(result)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_on_the_panels_of_the_samples(path):
    file = load_job(path)
    job = file.job
    done = set()
    for panel in job.panels:
        for name, change in operations(panel, job.panels[0].id).items():
            try:
                result = change(job)
            except LaplineError:
                continue
            done.add(name)
            assert sound(result, file.scans)
            assert not plan_job(result).is_stopped, (panel.name, name)
    assert {"mirror", "turn", "size", "grow", "simplify", "split"} <= done


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_cut_panel_of_the_samples_keeps_its_films(path):
    job = load_job(path).job
    before = plan_job(job)
    for panel in job.panels:
        ids = [n.id for n in panel.outline]
        try:
            cut = split_in_colour(job, panel.id, (ids[0], ids[len(ids) // 2]), 0.0)
        except LaplineError:
            continue
        films = [
            {r.film for x in plan.panels if x.of in names for r in x.regions}
            for plan, names in (
                (before, {panel.id}),
                (plan_job(cut), {panel.id, cut.panels[-1].id}),
            )
        ]
        assert films[0] == films[1]

"""From a job to its plan: the one way in to everything in this package.

``plan_job`` is a pure function of frozen values. Each panel's plan is remembered by the
identity of what it was made from, so an edit recomputes the panels that it touched and no
others.
"""

from collections.abc import Mapping
from dataclasses import replace

from shapely import Polygon

from core.document.edits.surfaces import scan_files
from core.document.file import JobFile
from core.document.film import Film
from core.document.job import Job, Settings
from core.document.panel import Panel
from core.document.variant import Scheme, Variant
from core.errors import InputError
from core.ids import FilmId, PanelId
from core.plan.checks.context import Review
from core.plan.checks.review import review_panel
from core.plan.copies import Copy, as_copy, copies_of, place_findings
from core.plan.film_shape import Ground, ground_of
from core.plan.joined_lines import join_lines
from core.plan.memory import Memory
from core.plan.model import JobPlan, PanelPlan
from core.plan.panel_shape import panel_shape
from core.plan.pieces import make_pieces, tape_runs
from core.plan.placed_reliefs import Cuttable, with_reliefs
from core.plan.regions import map_regions
from core.plan.stacking import stack
from core.plan.traced_line import trace_lines
from core.plan.tries import hard_rule, with_choices
from core.shape.model import NO_SCANS, Network

_plans: Memory[PanelPlan] = Memory(400)
_job_plans: Memory[JobPlan] = Memory(8)
_bare_schemes: Memory[Scheme] = Memory(400)


def find_variant(job: Job, name_or_id: str) -> Variant:
    """Return the variant of that name or id; InputError names those there are."""
    for variant in job.variants:
        if name_or_id in {variant.id, variant.name}:
            return variant
    names = ", ".join(f'"{v.name}"' for v in job.variants)
    raise InputError(f'There is no variant "{name_or_id}".', mend=f"There are: {names}.")


def plan_job(
    job: Job, variant: str | None = None, scans: Mapping[str, Network] = NO_SCANS
) -> JobPlan:
    """Return the plan of one variant, by default the first.

    Args:
        job: the job.
        variant: name or id.
        scans: networks of the job's scans, by the name of their file; a panel whose scan is
            not among them is planned as if it were flat.

    Raises:
        InputError: when the job has no such variant.
    """
    chosen = job.variants[0] if variant is None else find_variant(job, variant)
    known = tuple(sorted(scans.items()))
    inputs = (job, chosen, *(network for _, network in known))
    names = tuple(name for name, _ in known)
    return _job_plans.recall(inputs, names, lambda: _plan(job, chosen, scans))


def plan_file(file: JobFile, variant: str | None = None) -> JobPlan:
    """Return the plan of one variant of a job file, its scans read.

    Raises:
        InputError: when the job has no such variant.
        Damaged: a scan in it that is none.
    """
    return plan_job(file.job, variant, networks_in(file.job, file.scans))


def networks_in(job: Job, scans: Mapping[str, bytes]) -> dict[str, Network]:
    """Return the networks of the scans that a job names, as far as they are there.

    Raises:
        Damaged: bytes that are no sound surface.
    """
    named = {name: scans[name] for name in scan_files(job) if name in scans}
    if not named:
        return {}
    from core.shape.surface import scan_networks  # noqa: PLC0415 - flat jobs start without it

    return scan_networks(named)


def _plan(job: Job, variant: Variant, scans: Mapping[str, Network]) -> JobPlan:
    films = {f.id: f for f in job.films}
    schemes = {s.panel: s for s in variant.schemes}
    plans: list[PanelPlan] = []
    for panel in job.panels:
        scheme = schemes.get(panel.id) or _bare(panel)
        ground = ground_of(panel.surface, scans)
        copies = _copies(panel, scheme, films, job.settings, ground)
        plans += [with_choices(copy, variant.pieces) for copy in copies]
    return JobPlan(job, variant, tuple(plans), scans)


def _bare(panel: Panel) -> Scheme:
    return _bare_schemes.recall((panel,), None, lambda: Scheme(panel=panel.id))


def _copies(
    panel: Panel,
    scheme: Scheme,
    films: dict[str, Film],
    settings: Settings,
    ground: Ground | None,
) -> list[PanelPlan]:
    copies = copies_of(panel)
    drawn = plan_panel(panel, scheme, films, settings, ground)
    return [drawn, *(as_copy(drawn, panel, c) for c in copies[1:])]


def plan_panel(
    panel: Panel,
    scheme: Scheme,
    films: dict[str, Film],
    settings: Settings,
    ground: Ground | None = None,
) -> PanelPlan:
    """Return the plan of a panel as drawn: the first of its copies."""
    facts = tuple(
        (f.id, f.rank, f.min_inside_radius_mm, f.bunching_limit_pct, f.stretch_limit_pct)
        for f in films.values()
    )
    # Not the panel as a whole: where it stands on the canvas changes nothing here.
    scan = None if ground is None else ground.scan
    drawn = (panel.outline, panel.openings, panel.marks, scheme, scan)
    traits = (panel.id, panel.name, panel.base_film, panel.edge_turn_mm, panel.flow_deg)
    counts = (panel.count, panel.is_pair, panel.trim, panel.tries, panel.difficulty)
    return _plans.recall(
        drawn,
        (traits, counts, facts, settings, panel.surface),
        lambda: _make(panel, scheme, films, settings, ground),
    )


def _make(
    panel: Panel,
    scheme: Scheme,
    films: dict[str, Film],
    settings: Settings,
    ground: Ground | None,
) -> PanelPlan:
    copy = copies_of(panel)[0]
    shape = panel_shape(panel)
    if shape.outline is None:
        return _stopped(panel, copy)
    traced = join_lines(trace_lines(scheme.dividing_lines, shape), shape)
    mapped = map_regions(panel, copy.id, scheme, shape, traced)
    ranks = {FilmId(f.id): f.rank for f in films.values()}
    stacking = stack(mapped, ranks, panel.flow_deg, settings)
    pieces = make_pieces(panel, copy, mapped.regions, stacking, films, settings)
    pieces, notes = with_reliefs(
        Cuttable(panel, scheme, shape, mapped.regions, stacking.stretches, pieces)
    )
    if ground is not None:
        pieces = tuple(
            replace(p, ground=ground, hard=hard_rule(panel, films[p.film], settings))
            for p in pieces
        )
    review = Review(
        panel, scheme, shape, tuple(traced), mapped, stacking, pieces, films, settings
    )
    return PanelPlan(
        id=copy.id,
        of=PanelId(panel.id),
        name=copy.name_of(panel),
        side=copy.side,
        is_mirrored=False,
        outline=shape.outline,
        extended=shape.extended,
        regions=mapped.regions,
        stretches=stacking.stretches,
        pieces=pieces,
        tape_runs=tape_runs(stacking.stretches, pieces),
        findings=place_findings((*review_panel(review), *notes), copy.id),
    )


def _stopped(panel: Panel, copy: Copy) -> PanelPlan:
    nothing: tuple[()] = ()
    return PanelPlan(
        id=copy.id,
        of=PanelId(panel.id),
        name=copy.name_of(panel),
        side=copy.side,
        is_mirrored=False,
        outline=Polygon(),
        extended=Polygon(),
        regions=nothing,
        stretches=nothing,
        pieces=nothing,
        tape_runs=nothing,
        findings=place_findings(panel_shape(panel).findings, copy.id),
    )

"""What must hold in a job beyond the types of its values: ids, references, widths.

Shapes are not judged here: an outline that crosses itself loads, and the plan says so.
"""

import re
from collections.abc import Collection, Iterable, Iterator

from core.document.edits.ids import iter_job_ids, iter_variant_ids
from core.document.job import Job
from core.document.kept_symmetry import is_symmetric
from core.document.lines import Inlay, Line, Stripe
from core.document.panel import Panel
from core.document.path import Path
from core.document.stock_checks import Problem, iter_stock_problems
from core.document.surface import MeasuredSurface, grid_problem
from core.document.variant import Scheme, Variant

_ID = re.compile(r"[a-z][0-9]+")


def iter_problems(
    job: Job,
    photo_files: Collection[str] | None = None,
    scan_files: Collection[str] | None = None,
) -> Iterator[Problem]:
    """Yield all that does not hold in a job whose values are of the right types.

    Args:
        job: the job.
        photo_files: names of the photos that its file holds; None leaves them unjudged.
        scan_files: names of the scans that it holds; None likewise.
    """
    yield from _iter_odd_text(job)
    yield from _iter_repeats(job)
    films = {film.id for film in job.films}
    for i, panel in enumerate(job.panels):
        here = f"$.panels[{i}]"
        yield from _refer(f"{here}.base_film", panel.base_film, films, "film")
        yield from _iter_repeated_nodes(f"{here}.outline", panel.outline)
        yield from _iter_askew(f"{here}.symmetry", panel)
        yield from _iter_surface(f"{here}.surface", panel, scan_files)
        for j, opening in enumerate(panel.openings):
            yield from _iter_repeated_nodes(f"{here}.openings[{j}].nodes", opening.nodes)
    for i, variant in enumerate(job.variants):
        yield from _iter_variant(job, variant, f"$.variants[{i}]")
    yield from _iter_nests(job, films)
    yield from iter_stock_problems(job)
    yield from _iter_photos(job, photo_files)
    yield from _iter_dimensions(job)


def _iter_askew(here: str, panel: Panel) -> Iterator[Problem]:
    if panel.symmetry and not is_symmetric(panel.outline, panel.symmetry):
        yield Problem(
            here,
            f"The outline of {panel.id} is not symmetric about this axis.",
            "Leave the symmetry out, and make the panel symmetric again.",
        )


def _iter_surface(
    here: str, panel: Panel, scan_files: Collection[str] | None
) -> Iterator[Problem]:
    surface = panel.surface
    if isinstance(surface, MeasuredSurface):
        problem = grid_problem(surface)
        if problem:
            yield Problem(f"{here}.offsets", *problem)
    elif surface and scan_files is not None and surface.file not in scan_files:
        yield Problem(
            f"{here}.file",
            f"The scan {surface.file} is not in the file.",
            "Take a copy of the job with its scans.",
        )


def _iter_dimensions(job: Job) -> Iterator[Problem]:
    """Yield what does not hold in dimensions; a node that is not there hides one, no more."""
    panels = {panel.id for panel in job.panels}
    for i, dimension in enumerate(job.dimensions):
        for name, end in (("start", dimension.start), ("end", dimension.end)):
            here = f"$.dimensions[{i}].{name}"
            if end.panel is not None:
                yield from _refer(f"{here}.panel", end.panel, panels, "panel")
            if (end.owner is None) is not (end.node is None) or (end.owner and not end.panel):
                yield Problem(
                    here, "A node is named by its panel, owner and id.", "Name all three."
                )


def _iter_variant(job: Job, variant: Variant, here: str) -> Iterator[Problem]:
    panels = {panel.id for panel in job.panels}
    drawn: set[str] = set()
    for j, scheme in enumerate(variant.schemes):
        place = f"{here}.schemes[{j}]"
        yield from _refer(f"{place}.panel", scheme.panel, panels, "panel")
        if scheme.panel in drawn:
            yield Problem(
                f"{place}.panel",
                f"The panel {scheme.panel} has two schemes in this variant.",
                "Put their lines together in one.",
            )
        drawn.add(scheme.panel)
        yield from _iter_scheme(job, scheme, place)
        for run in _repeated(s.run for s in scheme.stripes if s.run is not None):
            yield Problem(
                f"{place}.stripes",
                f"The run {run} has two stripes on the panel {scheme.panel}.",
                "Take one of them out of the run.",
            )


def _iter_scheme(job: Job, scheme: Scheme, here: str) -> Iterator[Problem]:
    films = {film.id for film in job.films}
    kinds: dict[str, tuple[Line, ...]] = {
        "seams": scheme.seams,
        "stripes": scheme.stripes,
        "inlays": scheme.inlays,
        "reliefs": scheme.reliefs,
    }
    for kind, lines in kinds.items():
        for i, line in enumerate(lines):
            place = f"{here}.{kind}[{i}]"
            yield from _iter_repeated_nodes(f"{place}.nodes", line.nodes)
            if isinstance(line, Stripe | Inlay):
                yield from _refer(f"{place}.film", line.film, films, "film")
            if isinstance(line, Stripe) and not (line.start_width_mm or line.end_width_mm):
                yield Problem(
                    f"{place}.start_width_mm",
                    "The stripe has no width.",
                    "Give it a width at one end at least.",
                )
    for i, spot in enumerate(scheme.spots):
        yield from _refer(f"{here}.spots[{i}].film", spot.film, films, "film")


def _iter_nests(job: Job, films: set[str]) -> Iterator[Problem]:
    variants = {variant.id for variant in job.variants}
    seen: set[tuple[str, str]] = set()
    for i, nest in enumerate(job.nests):
        here = f"$.nests[{i}]"
        yield from _refer(f"{here}.variant", nest.variant, variants, "variant")
        yield from _refer(f"{here}.film", nest.film, films, "film")
        if (nest.variant, nest.film) in seen:
            yield Problem(
                here,
                f"Two nests are kept for film {nest.film} in variant {nest.variant}.",
                "Take one of them out.",
            )
        seen.add((nest.variant, nest.film))


def _iter_photos(job: Job, photo_files: Collection[str] | None) -> Iterator[Problem]:
    panels = {panel.id for panel in job.panels}
    for i, photo in enumerate(job.photos):
        here = f"$.photos[{i}]"
        yield from _refer(f"{here}.panel", photo.panel, panels, "panel")
        if photo_files is not None and photo.file not in photo_files:
            yield Problem(
                f"{here}.file",
                f"The photo {photo.file} is not in the file.",
                "Take a copy of the job with its photos.",
            )
        a, b, c, d, e, f, g, h, k = photo.to_mm
        if abs(a * (e * k - f * h) - b * (d * k - f * g) + c * (d * h - e * g)) < 1e-12:
            yield Problem(
                f"{here}.to_mm", "The photo has no size on the ground.", "Give it a scale."
            )
    for panel in _repeated(photo.panel for photo in job.photos):
        yield Problem("$.photos", f"Two photos lie under {panel}.", "Take one of them out.")


def _iter_repeats(job: Job) -> Iterator[Problem]:
    """Yield ids that two things have: in the job, and in each variant with it."""
    own = list(iter_job_ids(job))
    for one in _repeated(own):
        yield _twice("$", one)
    for i, variant in enumerate(job.variants):
        ids = list(iter_variant_ids(variant))
        for one in _repeated([*set(own), *ids]):
            yield _twice(f"$.variants[{i}]", one)


def _iter_repeated_nodes(here: str, path: Path) -> Iterator[Problem]:
    for one in _repeated(node.id for node in path):
        yield Problem(here, f"Two nodes have the id {one}.", "Give one another id.")


def _twice(here: str, one: str) -> Problem:
    return Problem(here, f"Two things have the id {one}.", "Give one of them another id.")


def _refer(here: str, wanted: str, known: set[str], kind: str) -> Iterator[Problem]:
    if wanted not in known:
        yield Problem(here, f"There is no {kind} {wanted}.", f"Name a {kind} of the job.")


def _iter_odd_text(job: Job) -> Iterator[Problem]:
    """Yield ids and colours with a line break at their end, which the types let through."""
    for panel in job.panels:
        paths = [panel.outline, *(opening.nodes for opening in panel.openings)]
        yield from _iter_odd_ids(node.id for path in paths for node in path)
    for variant in job.variants:
        yield from _iter_odd_ids(iter_variant_ids(variant))
        for scheme in variant.schemes:
            yield from _iter_odd_ids(n.id for line in scheme.lines for n in line.nodes)
    yield from _iter_odd_ids(iter_job_ids(job))
    for i, film in enumerate(job.films):
        if len(film.colour) != 7:
            yield Problem(
                f"$.films[{i}].colour",
                "A colour is written as # and six digits or letters a to f.",
                "Write it so.",
            )


def _iter_odd_ids(ids: Iterable[str]) -> Iterator[Problem]:
    for one in ids:
        if not _ID.fullmatch(one):
            yield Problem("$", f"The id {one!r} is not usable.", "Use a letter and a number.")


def _repeated(ids: Iterable[str]) -> list[str]:
    seen: set[str] = set()
    again: dict[str, None] = {}
    for one in ids:
        if one in seen:
            again[one] = None
        seen.add(one)
    return list(again)

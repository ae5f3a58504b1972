"""Edits of variants and of their schemes."""

from msgspec.structs import replace

from core.document.edits.accept import accept, refuse_repeated_nodes, refuse_repeats
from core.document.edits.ids import free_id, iter_job_ids, iter_variant_ids
from core.document.job import Job
from core.document.lines import Inlay, PaintSpot, Stripe, line_name
from core.document.variant import Scheme, Variant
from core.errors import EditRefused


def add_variant(job: Job, name: str, *, like: str | None) -> Job:
    """Add a variant at the end; ``like`` names one whose schemes and choices it starts with.

    The schemes are shared, ids of lines included, so nothing needs planning anew.
    """
    _refuse_taken_name(job, name, but="")
    fresh = accept(Variant(id=free_id(job, "v"), name=name))
    if like is not None:
        fresh = replace(job.variant(like), id=fresh.id, name=fresh.name)
    return replace(job, variants=(*job.variants, fresh))


def rename_variant(job: Job, variant: str, name: str) -> Job:
    """Give a variant another name, which no other has."""
    old = job.variant(variant)
    _refuse_taken_name(job, name, but=variant)
    fresh = accept(Variant(id=old.id, name=name))
    return _with_variant(job, replace(old, name=fresh.name))


def delete_variant(job: Job, variant: str) -> Job:
    """Delete a variant and the nests kept for it; the last one is refused."""
    job.variant(variant)
    if len(job.variants) == 1:
        raise EditRefused("A job needs one variant.", mend="Add another first.")
    return replace(
        job,
        variants=tuple(v for v in job.variants if v.id != variant),
        nests=tuple(n for n in job.nests if n.variant != variant),
        cuts=tuple(c for c in job.cuts if c.variant != variant),
    )


def replace_scheme(job: Job, variant: str, scheme: Scheme) -> Job:
    """Put a scheme in the place of the variant's scheme of that panel.

    Degenerate input: a scheme without lines and spots takes the old one away.

    Raises:
        EditRefused: two lines or spots with one id, or a path with two nodes of one id.
        KeyError: no such variant or panel; a stripe, inlay or spot of a film that is not there.
    """
    panel = job.panel(scheme.panel)
    old = job.variant(variant)
    elsewhere = [s for s in old.schemes if s.panel != panel.id]
    for line in scheme.lines:
        refuse_repeated_nodes(line.nodes, f"{panel.name}, {line_name(line)}")
    drawn = Variant(id=old.id, name="", schemes=(*elsewhere, scheme))
    refuse_repeats((*iter_job_ids(job), *iter_variant_ids(drawn)), panel.name)
    for film in films_in(scheme):
        job.film(film)
    schemes = [scheme if s.panel == panel.id else s for s in old.schemes]
    if len(elsewhere) == len(old.schemes):
        schemes.append(scheme)
    if not scheme.lines and not scheme.spots:
        schemes = elsewhere
    return _with_variant(job, replace(old, schemes=tuple(schemes)))


def films_in(scheme: Scheme) -> set[str]:
    """Return the films that a scheme's stripes, inlays and spots name."""
    lines: list[Stripe | Inlay] = [*scheme.stripes, *scheme.inlays]
    return {line.film for line in lines} | {spot.film for spot in scheme.spots}


def find_spot(job: Job, variant: str, spot_id: str) -> tuple[Scheme, PaintSpot]:
    """Return a paint spot with its scheme; KeyError when the variant has none of that id."""
    for scheme in job.variant(variant).schemes:
        for spot in scheme.spots:
            if spot.id == spot_id:
                return scheme, spot
    raise KeyError(spot_id)


def _with_variant(job: Job, fresh: Variant) -> Job:
    return replace(job, variants=tuple(fresh if v.id == fresh.id else v for v in job.variants))


def _refuse_taken_name(job: Job, name: str, *, but: str) -> None:
    if not name.strip():
        raise EditRefused("A variant needs a name.")
    if any(v.name == name and v.id != but for v in job.variants):
        raise EditRefused(f"There is a variant {name} already.", mend="Choose another name.")

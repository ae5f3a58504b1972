"""The sample of curved parts: the parcel dome of the trike, measured with a tape."""

from msgspec.structs import replace

from core.document.film import KIND_LIMITS, Film, FilmKind, Finish, Offcut, Roll
from core.document.job import Job
from core.document.lines import PaintSpot, Seam
from core.document.panel import Panel
from core.document.variant import Scheme, Variant
from sample_projects.parcel_dome import dome_readings
from sample_projects.pencil import drawn

DOME = """M 120 -244 L 540 -244 Q 654 -244 654 -120 L 654 120 Q 654 244 540 244
L 120 244 Q 6 244 6 120 L 6 -120 Q 6 -244 120 -244 Z"""
STRIP = 88.0


def curved_parts() -> Job:
    """Return the job."""
    return Job(
        name="Curved parts",
        currency="EUR",
        films=_films(),
        panels=(_dome(),),
        variants=(
            Variant(id="v1", name="One piece"),
            Variant(id="v2", name="Three strips", schemes=(_strips(),)),
            Variant(id="v3", name="One piece of cast film", schemes=(_cast(),)),
        ),
    )


def _films() -> tuple[Film, ...]:
    slate = Film(
        id="f1",
        name="Slate",
        colour="#4a5560",
        finish=Finish.SATIN,
        price_per_m=11.0,
        stock=(
            Roll(id="r1", length_mm=3000.0),
            Offcut(id="k1", length_mm=800.0, width_mm=700.0),
        ),
    )
    heather = Film(
        id="f2",
        name="Heather",
        colour="#8d6a9f",
        finish=Finish.SATIN,
        rank=1,
        price_per_m=19.0,
        stock=(
            Roll(id="r2", length_mm=2000.0),
            Offcut(id="k2", length_mm=720.0, width_mm=260.0),
        ),
    )
    return _of_kind(slate, FilmKind.POLYMERIC), _of_kind(heather, FilmKind.CAST)


def _of_kind(film: Film, kind: FilmKind) -> Film:
    limits = KIND_LIMITS[kind]
    return replace(
        film,
        kind=kind,
        bunching_limit_pct=limits.bunching_pct,
        stretch_limit_pct=limits.stretch_pct,
        warm_stretch_limit_pct=limits.warm_stretch_pct,
    )


def _dome() -> Panel:
    return Panel(
        id="p1",
        name="Parcel dome",
        outline=drawn(DOME),
        base_film="f1",
        edge_turn_mm=12.0,
        flow_deg=0.0,
        surface=dome_readings(),
    )


def _strips() -> Scheme:
    return Scheme(
        panel="p1",
        seams=tuple(
            Seam(id=f"s{i}", nodes=drawn(f"M -20 {y} L 680 {y}"), name=name)
            for i, (y, name) in enumerate(((-STRIP, "Right"), (STRIP, "Left")), 1)
        ),
        spots=(PaintSpot(id="c1", at=(330.0, 0.0), film="f2"),),
    )


def _cast() -> Scheme:
    return Scheme(panel="p1", spots=(PaintSpot(id="c2", at=(330.0, 0.0), film="f2"),))

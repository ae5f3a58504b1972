"""The sample of curved parts: a dome measured with a tape, and a hood from a scan."""

from msgspec.structs import replace

from core.document.file import JobFile
from core.document.film import KIND_LIMITS, Film, FilmKind, Finish, Offcut, Roll
from core.document.job import Job
from core.document.lines import PaintSpot, Relief, Seam, Stripe
from core.document.panel import Panel
from core.document.variant import Scheme, Variant
from sample_projects.hood_panel import hood_panel, hood_scan
from sample_projects.parcel_dome import dome_readings
from sample_projects.pencil import drawn

DOME = """M 120 -244 L 540 -244 Q 654 -244 654 -120 L 654 120 Q 654 244 540 244
L 120 244 Q 6 244 6 120 L 6 -120 Q 6 -244 120 -244 Z"""
STRIP = 88.0
HOOD_AT = (1210.0, 0.0)
OUTER, OUTERMOST, STRIPE = 150.0, 200.0, 90.0
RIM, END = 300.0, 200.0
"""A relief cut runs from beyond the rim to its inner end, as far across as along."""


def curved_parts() -> JobFile:
    """Return the job with the hood's scan."""
    name, data = hood_scan()
    return JobFile(_job(), scans={name: data})


def _job() -> Job:
    return Job(
        name="Curved parts",
        currency="EUR",
        films=_films(),
        panels=(_dome(), hood_panel("f2", HOOD_AT)),
        variants=(
            Variant(id="v1", name="One piece"),
            Variant(id="v2", name="Three strips", schemes=(_strips(), _hood_strips())),
            Variant(id="v3", name="Cast film, a stripe", schemes=(_cast(), _hood_stripe())),
            Variant(id="v4", name="Cast, cut into", schemes=(_cast(), _hood_cut_into())),
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


def _hood_cut_into() -> Scheme:
    """Four relief cuts from the corners, about a third of the way to the middle."""
    return Scheme(
        panel="p2",
        reliefs=tuple(
            Relief(id=f"e{i}", nodes=drawn(f"M {x * RIM} {y * RIM} L {x * END} {y * END}"))
            for i, (x, y) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)), 1)
        ),
    )


def _hood_strips() -> Scheme:
    return Scheme(
        panel="p2",
        seams=tuple(
            Seam(id=f"s{i}", nodes=drawn(f"M {x} -450 L {x} 450"), name=name)
            for i, (x, name) in enumerate(((-OUTER, "Rear"), (OUTER, "Front")), 3)
        ),
    )


def _hood_stripe() -> Scheme:
    stripe = Stripe(
        id="t1",
        nodes=drawn("M 0 -450 L 0 450"),
        start_width_mm=STRIPE,
        end_width_mm=STRIPE,
        film="f1",
        name="Stripe",
    )
    outer = tuple(
        Seam(id=f"s{i}", nodes=drawn(f"M {x} -450 L {x} 450"), name=name)
        for i, (x, name) in enumerate(((-OUTERMOST, "Rear"), (OUTERMOST, "Front")), 5)
    )
    return Scheme(panel="p2", seams=outer, stripes=(stripe,))

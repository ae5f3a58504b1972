"""The trike sample: fourteen panels, three films, a stripe that runs over three panels."""

from msgspec.structs import replace

from core.document.edits.lines import find_line
from core.document.edits.runs import add_run
from core.document.film import Film, Finish, Grain, Offcut, Offer, Roll
from core.document.job import BlankCut, Job, Settings
from core.document.lines import Inlay, PaintSpot, Seam, SeamCut, SeamRule, Stripe, Under
from core.document.path import Path
from core.document.variant import Scheme, Variant
from sample_projects.pencil import drawn
from sample_projects.trike_panels import (
    ACCENT,
    BASE,
    BRUSHED,
    trike_panels,
)

SWEEP = "M -40 236 C 480 226 1180 194 2040 346"
"""The stripe's centre line on the canvas, from front to rear."""


def library_trike() -> Job:
    """Return the job."""
    return Job(
        name="Library trike",
        currency="EUR",
        films=_films(),
        panels=trike_panels(),
        variants=(_bright(), _quiet()),
        settings=Settings(tape_price_per_m=0.8, blank_cut=BlankCut.PLOTTER),
    )


def _films() -> tuple[Film, ...]:
    base = Film(
        id=BASE,
        name="Deep fjord",
        colour="#1d4650",
        price_per_m=21.5,
        offers=(Offer(width_mm=1220.0, price_per_m=16.8),),
        stock=(
            Roll(id="r1", length_mm=5000.0),
            Offcut(id="k1", length_mm=900.0, width_mm=600.0, note="from the van"),
        ),
    )
    accent = Film(
        id=ACCENT,
        name="Apricot",
        colour="#f2a65a",
        rank=2,
        price_per_m=23.0,
        offers=(Offer(width_mm=1370.0, price_per_m=21.0),),
        stock=(
            Roll(id="r2", length_mm=2500.0),
            Offcut(id="k2", length_mm=700.0, width_mm=450.0),
        ),
    )
    brushed = Film(
        id=BRUSHED,
        name="Brushed pewter",
        colour="#a9a79d",
        finish=Finish.BRUSHED,
        rank=1,
        grain=Grain.TWO_WAY,
        price_per_m=34.0,
        stretch_limit_pct=5.0,
        stock=(
            Roll(id="r3", length_mm=3000.0),
            Offcut(id="k3", length_mm=620.0, width_mm=320.0),
        ),
    )
    return base, accent, brushed


def _bright() -> Variant:
    """The stripe in the accent colour, and a book on the lid."""
    book = drawn(
        """M 560 215 C 600 255 680 262 745 240 L 745 412 C 680 434 600 427 560 387
        C 520 427 440 434 375 412 L 375 240 C 440 262 520 255 560 215 Z"""
    )
    lid = Scheme(
        panel="p4",
        seams=(
            Seam(
                id="s1",
                name="Visor",
                nodes=drawn("M 250 -40 C 190 180 190 440 250 660"),
                rule=SeamRule(cut=SeamCut.CUTTING_TAPE, lap_mm=6.0),
            ),
        ),
        inlays=(
            Inlay(
                id="i1",
                name="Open book",
                nodes=book,
                film=ACCENT,
                rule=SeamRule(under=Under.FULL),
            ),
        ),
        spots=(PaintSpot(id="c1", at=(150.0, 450.0), film=ACCENT),),
    )
    door = Scheme(
        panel="p5",
        seams=(Seam(id="s2", name="Kick plate", nodes=drawn("M -40 150 L 340 150")),),
        spots=(PaintSpot(id="c2", at=(150.0, 70.0), film=BRUSHED),),
    )
    stripes = _stripes(ACCENT, 30.0, 88.0)
    return Variant(id="v1", name="Bright", schemes=(*stripes, lid, door, *_relief()))


def _quiet() -> Variant:
    """A narrower stripe in brushed film, all mudguards in the base colour, no book."""
    guards = (
        Scheme(panel="p9", spots=(PaintSpot(id="c3", at=(320.0, 150.0), film=BASE),)),
        Scheme(panel="p10", spots=(PaintSpot(id="c4", at=(200.0, 70.0), film=BASE),)),
        Scheme(panel="p7", spots=(PaintSpot(id="c5", at=(140.0, 30.0), film=BRUSHED),)),
    )
    door = Scheme(
        panel="p5",
        seams=(Seam(id="s2", name="Kick plate", nodes=drawn("M -40 100 L 340 100")),),
        spots=(PaintSpot(id="c2", at=(150.0, 40.0), film=BRUSHED),),
    )
    stripes = _stripes(BRUSHED, 18.0, 36.0)
    return Variant(id="v2", name="Quieter", schemes=(*stripes, *guards, door, *_relief()))


def _relief() -> tuple[Scheme, ...]:
    """Relief seams of the two domed panels: on each, one across and one that ends on it."""
    fairing = Scheme(
        panel="p6",
        seams=(
            Seam(id="s3", name="Chin", nodes=drawn("M -30 205 C 200 180 420 180 650 205")),
            Seam(id="s4", name="Over the lamp", nodes=drawn("M 310 186.25 L 310 600")),
        ),
    )
    cowl = Scheme(
        panel="p8",
        seams=(
            Seam(id="s5", name="Brow", nodes=drawn("M -30 170 C 120 200 240 200 390 170")),
            Seam(id="s6", name="Spine", nodes=drawn("M 180 -40 L 180 192.5")),
        ),
    )
    return fairing, cowl


def _stripes(film: str, front_mm: float, rear_mm: float) -> tuple[Scheme, ...]:
    """One sweep over three panels; its width grows evenly over the whole length."""
    blank = Job(
        name="Sweep",
        films=_films(),
        panels=trike_panels(),
        variants=(Variant(id="v1", name="Sweep"),),
    )
    sweep = drawn(SWEEP)
    like = Stripe(
        id="t1", nodes=sweep, start_width_mm=front_mm, end_width_mm=rear_mm, film=film
    )
    job, ids = add_run(blank, "v1", sweep, ("p2", "p1", "p3"), like)
    schemes = []
    for number, line_id in enumerate(ids, 1):
        panel, stripe = find_line(job, "v1", line_id)
        assert isinstance(stripe, Stripe)
        even = replace(
            stripe,
            name=f"Sweep {number}",
            nodes=_rounded(stripe.nodes),
            start_width_mm=round(stripe.start_width_mm, 3),
            end_width_mm=round(stripe.end_width_mm, 3),
        )
        schemes.append(Scheme(panel=panel, stripes=(even,)))
    return tuple(schemes)


def _rounded(path: Path) -> Path:
    """Round to a thousandth, so that the file is the same on every machine."""
    return tuple(
        replace(
            node, **{k: _to_thousandth(getattr(node, k)) for k in ("at", "before", "after")}
        )
        for node in path
    )


def _to_thousandth(point: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if point is None else (round(point[0], 3), round(point[1], 3))

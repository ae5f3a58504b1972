"""Hypothesis strategies for whole jobs: valid values, with shapes that mean nothing."""

from typing import Any

from hypothesis import strategies as st

from core.document.accepted_nest import AcceptedNest, FilmCut, KeptPlacement, KeptSheet
from core.document.choices import PieceChoice, Pin, Place
from core.document.film import (
    DamagedStretch,
    Film,
    FilmKind,
    Finish,
    Grain,
    Offcut,
    Offer,
    Roll,
    ShelfPlace,
    Turning,
)
from core.document.job import Job, Settings, Units
from core.document.lines import (
    Inlay,
    PaintSpot,
    Relief,
    Seam,
    SeamCut,
    SeamRule,
    Side,
    Stripe,
    Under,
)
from core.document.panel import Mark, MarkKind, Opening, Panel, Trim
from core.document.path import Node
from core.document.variant import Scheme, Variant

coords = st.floats(-1e6, 1e6)
points = st.tuples(coords, coords)
lengths = st.floats(0, 1e6)
positives = st.floats(0, 1e6, exclude_min=True)
names = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
colours = st.integers(0, 0xFFFFFF).map(lambda n: f"#{n:06x}")


@st.composite
def paths(draw: st.DrawFn, *, least: int = 2) -> tuple[Node, ...]:
    """Paths of up to five nodes, of any shape."""
    numbers = draw(st.lists(st.integers(1, 99), min_size=least, max_size=5, unique=True))
    return tuple(
        Node(
            id=f"n{number}",
            at=draw(points),
            smooth=draw(st.booleans()),
            before=draw(st.none() | points),
            after=draw(st.none() | points),
            turn_mm=draw(st.none() | lengths),
        )
        for number in numbers
    )


rules = st.builds(
    SeamRule,
    on_top=st.none() | st.sampled_from(Side),
    lap_mm=st.none() | lengths,
    under=st.sampled_from(Under),
    cut=st.none() | st.sampled_from(SeamCut),
)


@st.composite
def damages(draw: st.DrawFn) -> DamagedStretch:
    """A damaged stretch that ends behind its start."""
    start, end = sorted(
        draw(st.lists(st.integers(0, 10**6), min_size=2, max_size=2, unique=True))
    )
    high = draw(st.none() | positives)
    return DamagedStretch(start_mm=float(start), end_mm=float(end), high_mm=high)


places = st.none() | st.builds(
    ShelfPlace, key=st.just("0a" * 6), revision=st.integers(1, 10**6)
)


@st.composite
def films(draw: st.DrawFn, number: int) -> Film:
    """A film with up to one roll and one offcut."""
    roll = Roll(
        id=f"r{number}",
        length_mm=draw(positives),
        width_mm=draw(st.none() | positives),
        is_opened=draw(st.booleans()),
        damaged=(draw(damages()),) * draw(st.integers(0, 1)),
        note=draw(names),
        shelf=draw(places),
    )
    length, width = draw(positives), draw(positives)
    outline = ((0.0, 0.0), (length, 0.0), (length / 2, width))
    offcut = Offcut(
        id=f"k{number}",
        length_mm=length,
        width_mm=width,
        outline=draw(st.sampled_from([None, outline])),
    )
    return Film(
        id=f"f{number}",
        name=draw(names),
        colour=draw(colours),
        finish=draw(st.sampled_from(Finish)),
        rank=draw(st.integers(0, 1000)),
        grain=draw(st.sampled_from(Grain)),
        roll_width_mm=draw(positives),
        stretch_limit_pct=draw(st.floats(0, 100)),
        kind=draw(st.sampled_from(FilmKind)),
        turning=draw(st.sampled_from(Turning)),
        buy_step_mm=draw(positives),
        offers=(Offer(width_mm=draw(positives), price_per_m=draw(lengths)),)
        * draw(st.integers(0, 1)),
        stock=draw(st.sampled_from([(), (roll,), (roll, offcut)])),
    )


@st.composite
def panels(draw: st.DrawFn, number: int, film_ids: list[str]) -> Panel:
    """A panel, perhaps with an opening and a mark."""
    opening = Opening(id=f"o{number}", nodes=draw(paths()), turn_mm=draw(lengths))
    mark = Mark(
        id=f"m{number}",
        kind=draw(st.sampled_from(MarkKind)),
        path=tuple(draw(st.lists(points, min_size=1, max_size=2))),
    )
    return Panel(
        id=f"p{number}",
        name=draw(names),
        outline=draw(paths()),
        base_film=draw(st.sampled_from(film_ids)),
        openings=(opening,) * draw(st.integers(0, 1)),
        marks=(mark,) * draw(st.integers(0, 1)),
        flow_deg=draw(st.none() | coords),
        count=draw(st.integers(1, 100)),
        is_pair=draw(st.booleans()),
        at=draw(points),
        trim=draw(st.sampled_from(Trim)),
        tries=draw(st.none() | st.integers(1, 20)),
    )


@st.composite
def schemes(draw: st.DrawFn, panel: str, film_ids: list[str]) -> Scheme:
    """A scheme with up to one thing of each kind, numbered as its panel is."""
    number = panel[1:]
    film = st.sampled_from(film_ids)
    shared: dict[str, Any] = {"nodes": draw(paths()), "rule": draw(rules), "name": draw(names)}
    seam = Seam(id=f"s{number}", **shared)
    stripe = Stripe(
        id=f"t{number}",
        start_width_mm=draw(lengths),
        end_width_mm=draw(positives),
        film=draw(film),
        **shared,
    )
    inlay = Inlay(id=f"i{number}", film=draw(film), **shared)
    cut = Relief(id=f"e{number}", nodes=draw(paths()), hole_mm=draw(st.floats(0, 50)))
    spot = PaintSpot(id=f"c{number}", at=draw(points), film=draw(film))
    count = st.integers(0, 1)
    return Scheme(
        panel=panel,
        seams=(seam,) * draw(count),
        stripes=(stripe,) * draw(count),
        inlays=(inlay,) * draw(count),
        spots=(spot,) * draw(count),
        reliefs=(cut,) * draw(count),
    )


@st.composite
def nests(draw: st.DrawFn, variant: str, film: str) -> AcceptedNest:
    """A nest with one placement."""
    placement = KeptPlacement(
        piece=draw(names), attempt=1, angle_deg=draw(coords), dx_mm=0.0, dy_mm=draw(coords)
    )
    return AcceptedNest(
        variant=variant,
        film=film,
        fingerprint="f" * 64,
        sheets=(KeptSheet(stock="buy", placements=(placement,)),),
        found_length_mm=draw(positives),
    )


@st.composite
def choices(draw: st.DrawFn) -> PieceChoice:
    """Something decided about a piece, which need not be there."""
    place = Place(angle_deg=draw(coords), dx_mm=draw(coords), dy_mm=draw(coords))
    pin = Pin(stock="r1", attempt=draw(st.integers(1, 20)), place=place)
    return PieceChoice(
        piece=f"p{draw(st.integers(1, 9))}.whole",
        tries=draw(st.none() | st.integers(1, 20)),
        pins=(pin,) * draw(st.integers(0, 1)),
        forbidden=("k1",) * draw(st.integers(0, 1)),
    )


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Whole jobs of up to two films, panels and variants."""
    film_ids = [f"f{i}" for i in range(1, draw(st.integers(1, 2)) + 1)]
    panel_ids = [f"p{i}" for i in range(1, draw(st.integers(0, 2)) + 1)]
    variant_ids = [f"v{i}" for i in range(1, draw(st.integers(1, 2)) + 1)]
    variants = tuple(
        Variant(
            id=v,
            name=f"{v} {draw(names)}",
            schemes=tuple(draw(schemes(p, film_ids)) for p in panel_ids if draw(st.booleans())),
            pieces=(draw(choices()),) * draw(st.integers(0, 1)),
        )
        for v in variant_ids
    )
    return Job(
        name=draw(names),
        films=tuple(draw(films(int(f[1:]))) for f in film_ids),
        panels=tuple(draw(panels(int(p[1:]), film_ids)) for p in panel_ids),
        variants=variants,
        units=draw(st.sampled_from(Units)),
        settings=Settings(lap_mm=draw(lengths), tries=draw(st.integers(1, 20))),
        nests=tuple(draw(nests(v, "f1")) for v in variant_ids if draw(st.booleans())),
        cuts=tuple(
            FilmCut(variant=v, film="f1", fingerprint="f" * 64, day="2026-11-25")
            for v in variant_ids
            if draw(st.booleans())
        ),
    )

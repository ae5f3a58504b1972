"""The one-panel sample: the lid of a delivery box, in two films with one seam."""

from core.document.film import Film, Finish, Offcut, Roll
from core.document.job import Job
from core.document.lines import PaintSpot, Seam
from core.document.panel import Panel
from core.document.variant import Scheme, Variant
from sample_projects.pencil import bolts, drawn, opening, slot

LID = """M 60 0 L 500 0 Q 552.8 0 560 60 C 572 160 572 260 560 360
Q 553.35 415.43 500 420 C 360 432 200 432 60 420 Q 6.65 415.43 0 360
C -12 260 -12 160 0 60 Q 7.2 0 60 0 Z"""


def first_steps() -> Job:
    """Return the job."""
    return Job(
        name="First steps",
        currency="EUR",
        films=_films(),
        panels=(_lid(),),
        variants=(Variant(id="v1", name="Two tones", schemes=(_wave(),)),),
    )


def _films() -> tuple[Film, ...]:
    juniper = Film(
        id="f1",
        name="Juniper",
        colour="#2f5d50",
        finish=Finish.SATIN,
        price_per_m=18.0,
        stock=(
            Roll(id="r1", length_mm=3000.0),
            Offcut(id="k1", length_mm=700.0, width_mm=520.0),
        ),
    )
    oat = Film(
        id="f2",
        name="Oat",
        colour="#e6d3a8",
        finish=Finish.SATIN,
        rank=1,
        price_per_m=18.0,
        stock=(
            Roll(id="r2", length_mm=2000.0),
            Offcut(id="k2", length_mm=480.0, width_mm=620.0),
        ),
    )
    return juniper, oat


def _lid() -> Panel:
    return Panel(
        id="p1",
        name="Lid",
        outline=drawn(LID),
        base_film="f1",
        edge_turn_mm=15.0,
        openings=(opening(1, slot(220, 40, 120, 34, 17), 5.0, "Handle"),),
        marks=bolts(1, (46, 374), (514, 374)),
    )


def _wave() -> Scheme:
    line = drawn("M -30 150 C 160 150 260 290 590 290")
    return Scheme(
        panel="p1",
        seams=(Seam(id="s1", nodes=line, name="Wave"),),
        spots=(PaintSpot(id="c1", at=(200.0, 360.0), film="f2"),),
    )

"""The panels of the sample trike: a mobile library's electric cargo trike, front to the left.

Sides are drawn as seen from the left; the canvas places them as they stand on the vehicle.
"""

from core.document.panel import MarkKind, Panel
from sample_projects.pencil import bolts, circle, drawn, mark, opening, slot

BASE, ACCENT, BRUSHED = "f1", "f2", "f3"
REARWARDS = 0.0
UPWARDS = 90.0

CHEEK_AT, SIDE_AT, TAIL_AT = (0.0, 0.0), (452.0, 0.0), (1512.0, 40.0)


def trike_panels() -> tuple[Panel, ...]:
    """Return all panels, those of the sides first."""
    return (
        _box_side(),
        _front_cheek(),
        _tail_side(),
        _lid(),
        _rear_door(),
        _front_fairing(),
        _instrument_shroud(),
        _seat_cowl(),
        _front_mudguard(),
        _rear_mudguard(),
        _wheel_disc(),
        _sill_strip(),
        _battery_cover(),
        _chain_guard(),
    )


def _box_side() -> Panel:
    outline = """M 0 0 L 980 0 L 980 500 Q 980 560 920 560 C 640 560 340 550 48 496
        C 24 360 6 180 0 0 Z"""
    return Panel(
        id="p1",
        name="Box side",
        outline=drawn(outline, {1: 20.0, 5: 6.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        flow_deg=REARWARDS,
        is_pair=True,
        at=SIDE_AT,
        openings=(opening(1, slot(470, 325, 370, 165, 36), 8.0, "Book window"),),
        marks=(
            *bolts(1, (40, 40), (490, 32), (940, 40), (935, 515), (85, 460)),
            mark(6, MarkKind.BADGE, (250, 400), radius=40.0, note="Take the sign off"),
            mark(7, MarkKind.RIDGE, (30, 92), (955, 92), radius=3.0),
        ),
    )


def _front_cheek() -> Panel:
    outline = """M 260 0 L 372 0 C 378 180 396 360 420 496 C 330 500 210 480 130 400
        C 60 330 20 250 0 150 C 110 158 225 100 260 0 Z"""
    return Panel(
        id="p2",
        name="Front cheek",
        outline=drawn(outline, {1: 10.0, 2: 6.0, 5: 15.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        flow_deg=REARWARDS,
        is_pair=True,
        at=CHEEK_AT,
        openings=(opening(2, circle(210, 380, 26), 4.0, "Turn lamp"),),
        marks=bolts(8, (330, 36), (378, 452)),
    )


def _tail_side() -> Panel:
    outline = "M 0 20 C 170 20 350 90 460 215 L 425 365 C 300 372 140 390 0 390 Z"
    return Panel(
        id="p3",
        name="Tail side",
        outline=drawn(outline, {2: 18.0, 4: 6.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        flow_deg=REARWARDS,
        is_pair=True,
        at=TAIL_AT,
        marks=(
            *bolts(10, (40, 60), (40, 350)),
            mark(12, MarkKind.DAMAGE, (230, 90), radius=12.0, note="Dent, fill and sand"),
        ),
    )


def _lid() -> Panel:
    outline = """M 140 0 L 920 0 Q 980 0 980 60 L 980 560 Q 980 620 920 620 L 140 620
        C 40 560 0 420 0 310 C 0 200 40 60 140 0 Z"""
    return Panel(
        id="p4",
        name="Lid",
        outline=drawn(outline, {6: 20.0}),
        base_film=BASE,
        edge_turn_mm=15.0,
        flow_deg=REARWARDS,
        at=(452.0, 710.0),
        openings=(opening(3, slot(66, 250, 44, 120, 20), 6.0, "Grip"),),
        marks=bolts(13, (945, 110), (945, 510)),
    )


def _rear_door() -> Panel:
    outline = "M 0 0 L 300 0 L 300 520 L 60 520 Q 0 520 0 460 Z"
    return Panel(
        id="p5",
        name="Rear door",
        outline=drawn(outline, {2: 0.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        is_pair=True,
        at=(1522.0, 710.0),
        openings=(opening(4, circle(262, 262, 13), 0.0, "Lock"),),
        marks=(
            *bolts(15, (22, 60), (22, 260), (22, 430)),
            mark(18, MarkKind.RECESS, (225, 330), (275, 330), radius=22.0, note="Pull"),
        ),
    )


def _front_fairing() -> Panel:
    outline = """M 90 0 L 530 0 C 580 120 610 260 620 400 C 600 500 500 560 310 560
        C 120 560 20 500 0 400 C 10 260 40 120 90 0 Z"""
    return Panel(
        id="p6",
        name="Front fairing",
        outline=drawn(outline, {1: 20.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        flow_deg=UPWARDS,
        at=(-248.0, 710.0),
        openings=(opening(5, circle(310, 330, 72), 6.0, "Lamp"),),
        marks=bolts(19, (120, 40), (500, 40), (60, 420), (560, 420)),
    )


def _instrument_shroud() -> Panel:
    outline = """M 40 0 L 240 0 C 262 50 276 100 280 150 C 230 180 190 190 140 190
        C 90 190 50 180 0 150 C 4 100 18 50 40 0 Z"""
    return Panel(
        id="p7",
        name="Instrument shroud",
        outline=drawn(outline),
        base_film=ACCENT,
        edge_turn_mm=8.0,
        flow_deg=UPWARDS,
        at=(2000.0, 1130.0),
        openings=(opening(6, slot(75, 62, 130, 78, 12), 3.0, "Display"),),
        marks=bolts(23, (60, 24), (220, 24), radius=4.0),
    )


def _seat_cowl() -> Panel:
    outline = """M 60 0 L 300 0 C 330 80 350 150 360 220 C 320 270 250 280 180 280
        C 110 280 40 270 0 220 C 10 150 30 80 60 0 Z"""
    return Panel(
        id="p8",
        name="Seat cowl",
        outline=drawn(outline, {1: 20.0}),
        base_film=BASE,
        edge_turn_mm=12.0,
        flow_deg=UPWARDS,
        at=(1982.0, 710.0),
        marks=bolts(25, (90, 36), (270, 36)),
    )


def _front_mudguard() -> Panel:
    outline = """M 530 0 L 639 71 C 569 179 449 244 320 244 C 191 244 71 179 1 71
        L 110 0 C 156 71 235 114 320 114 C 405 114 484 71 530 0 Z"""
    return Panel(
        id="p9",
        name="Front mudguard",
        outline=drawn(outline, {1: 6.0, 4: 6.0, 5: 8.0}),
        base_film=ACCENT,
        edge_turn_mm=12.0,
        flow_deg=REARWARDS,
        is_pair=True,
        at=(-330.0, -394.0),
        marks=bolts(27, (84, 48), (320, 178), (556, 48)),
    )


def _rear_mudguard() -> Panel:
    outline = """M 30 0 L 750 0 C 770 0 780 20 776 50 C 766 125 600 150 390 150
        C 180 150 14 125 4 50 C 0 20 10 0 30 0 Z"""
    return Panel(
        id="p10",
        name="Rear mudguard",
        outline=drawn(outline),
        base_film=ACCENT,
        edge_turn_mm=10.0,
        flow_deg=REARWARDS,
        at=(389.0, -838.0),
        openings=(opening(7, slot(640, 52, 74, 32, 10), 0.0, "Reflector"),),
        marks=bolts(30, (60, 42), (390, 108)),
    )


def _wheel_disc() -> Panel:
    return Panel(
        id="p11",
        name="Wheel disc",
        outline=circle(205, 205, 205),
        base_film=BASE,
        edge_turn_mm=8.0,
        count=3,
        at=(1990.0, -450.0),
        openings=(
            opening(8, circle(205, 205, 40), 5.0, "Hub"),
            opening(9, slot(188, 340, 34, 22, 10), 0.0, "Valve"),
        ),
        marks=bolts(32, (205, 285), (135.7, 165), (274.3, 165), radius=4.0),
    )


def _sill_strip() -> Panel:
    outline = """M 0 0 L 1170 0 C 1176 20 1180 40 1180 58 L 30 58 C 14 40 4 20 0 0 Z"""
    return Panel(
        id="p12",
        name="Sill strip",
        outline=drawn(outline, {1: 15.0, 3: 0.0}),
        base_film=BRUSHED,
        edge_turn_mm=6.0,
        flow_deg=REARWARDS,
        is_pair=True,
        at=(389.0, -208.0),
        marks=bolts(35, (60, 29), (590, 29), (1120, 29), radius=4.0),
    )


def _battery_cover() -> Panel:
    outline = """M 36 0 L 424 0 Q 464 0 456 40 L 434 150 Q 426 190 386 190 L 60 190
        Q 24 190 20 150 L 8 30 Q 5 0 36 0 Z"""
    return Panel(
        id="p13",
        name="Battery cover",
        outline=drawn(outline),
        base_film=BRUSHED,
        edge_turn_mm=10.0,
        flow_deg=REARWARDS,
        at=(389.0, -548.0),
        openings=(
            opening(10, circle(400, 150, 12), 0.0, "Key"),
            opening(11, slot(60, 40, 64, 42, 10), 4.0, "Charging socket"),
        ),
        marks=(mark(38, MarkKind.RECESS, (180, 60), (350, 60), radius=9.0, note="Vent"),),
    )


def _chain_guard() -> Panel:
    outline = """M 45 0 L 600 0 C 680 0 740 30 740 75 C 740 120 694 132 640 128 L 45 84
        C 18 82 0 66 0 42 C 0 18 20 0 45 0 Z"""
    return Panel(
        id="p14",
        name="Chain guard",
        outline=drawn(outline),
        base_film=BRUSHED,
        edge_turn_mm=6.0,
        flow_deg=REARWARDS,
        at=(933.0, -494.0),
        openings=(opening(12, circle(664, 70, 24), 3.0, "Crank"),),
        marks=bolts(39, (40, 42), (340, 50)),
    )

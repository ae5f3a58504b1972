from collections.abc import Callable

import pytest
from msgspec.structs import replace

from core.document.accepted_nest import AcceptedNest, KeptPlacement, KeptSheet
from core.document.edits.films import add_film, delete_film, replace_film, set_stock
from core.document.edits.lines import (
    add_line,
    delete_lines,
    find_line,
    flip_top,
    free_id,
    move_line,
    rename_line,
    replace_line,
    set_lap,
    set_line_nodes,
    set_rule,
    set_stripe_widths,
)
from core.document.edits.nests import drop_nest, keep_nest
from core.document.edits.panels import (
    add_panel,
    delete_panels,
    move_panel,
    replace_panel,
    set_base_film,
    set_edge_turn,
    set_outline,
)
from core.document.edits.settings import rename_job, set_settings, set_units
from core.document.edits.spots import delete_spots, paint
from core.document.edits.variants import (
    add_variant,
    delete_variant,
    rename_variant,
    replace_scheme,
)
from core.document.film import Offcut, Roll
from core.document.job import Job, Settings, Units
from core.document.lines import SeamCut, SeamRule, Side, Under, line_name
from core.document.panel import Mark, MarkKind
from core.errors import EditRefused
from helpers.jobs import (
    bolt,
    film,
    films,
    hole,
    inlay,
    job_with,
    path,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
    two_tone_job,
)


def rich_job() -> Job:
    """Two panels; on the first a line of each kind and a spot, on the second a seam."""
    lid = rect_panel(
        "p1",
        400,
        200,
        name="Lid",
        openings=(hole("o1", 50, 50, 10),),
        marks=(bolt("m1", 9, 9),),
    )
    door = rect_panel("p2", 300, 300, name="Door", at=(500.0, 0.0))
    drawn = [
        scheme(
            "p1",
            seam("s1", [(200, 0), (200, 200)]),
            stripe("t1", [(0, 100), (400, 100)], (20, 40)),
            inlay("i1", [(300, 120), (340, 120), (320, 160)], "f3"),
            spot("c1", 300, 60),
        ),
        scheme("p2", seam("s2", [(0, 150), (300, 150)])),
    ]
    return job_with([lid, door], drawn)


def nest(variant: str = "v1", film: str = "f1", length_mm: float = 900.0) -> AcceptedNest:
    sheets = (KeptSheet(stock="r1", placements=(
        KeptPlacement(piece="p1.s1L", attempt=1, angle_deg=90.0, dx_mm=5.0, dy_mm=6.0),
    )),)  # fmt: skip
    return AcceptedNest(
        variant=variant, film=film, fingerprint="ab12", sheets=sheets, found_length_mm=length_mm
    )


def test_free_ids_lie_above_those_of_all_variants() -> None:
    job = add_variant(rich_job(), "Other", like=None)
    job = add_line(job, "v2", "p2", seam("s7", [(0, 0), (300, 300)]))
    assert free_id(job, "s") == "s8"
    assert free_id(job, "o") == "o2"
    assert free_id(job, "k") == "k1"


def test_a_line_is_added_after_its_kind_and_the_rest_is_shared() -> None:
    job = rich_job()
    fresh = seam("s3", [(0, 50), (400, 50)])
    after = add_line(job, "v1", "p1", fresh)
    assert [s.id for s in after.scheme("v1", "p1").seams] == ["s1", "s3"]
    assert after.scheme("v1", "p1").stripes[0] is job.scheme("v1", "p1").stripes[0]
    assert after.scheme("v1", "p2") is job.scheme("v1", "p2")
    assert after.panels is job.panels
    assert job == rich_job()


def test_a_first_line_makes_the_scheme() -> None:
    job = job_with([rect_panel("p1", 10, 10)])
    after = add_line(job, "v1", "p1", stripe("t1", [(0, 5), (10, 5)]))
    assert after.scheme("v1", "p1").stripes[0].id == "t1"


def test_whole_numbers_become_floats_as_in_a_file() -> None:
    after = set_lap(rich_job(), "v1", "s1", 5)
    assert type(find_line(after, "v1", "s1")[1].rule.lap_mm) is float


def test_a_line_is_replaced_in_its_place() -> None:
    job = add_line(rich_job(), "v1", "p1", seam("s3", [(0, 50), (400, 50)]))
    after = replace_line(job, "v1", "p1", seam("s1", [(100, 0), (100, 200)], name="Moved"))
    assert [s.name for s in after.scheme("v1", "p1").seams] == ["Moved", ""]


def test_lines_are_found_moved_renamed_and_given_nodes() -> None:
    job = rich_job()
    assert find_line(job, "v1", "t1")[0] == "p1"
    moved = find_line(move_line(job, "v1", "s1", 5, -3), "v1", "s1")[1]
    assert [n.at for n in moved.nodes] == [(205.0, -3.0), (205.0, 197.0)]
    bent = path([(0, 0), (9, 9), (400, 200)])
    assert find_line(set_line_nodes(job, "v1", "s1", bent), "v1", "s1")[1].nodes == bent
    named = rename_line(job, "v1", "i1", "Moon")
    assert line_name(find_line(named, "v1", "i1")[1]) == "Moon"
    assert line_name(find_line(rename_line(named, "v1", "i1", ""), "v1", "i1")[1]) == "Inlay 1"


def test_rules_of_lines() -> None:
    job = rich_job()
    rule = SeamRule(cut=SeamCut.CUTTING_TAPE, under=Under.FULL, lap_mm=4.0)
    job = set_rule(job, "v1", "s1", rule)
    flipped = flip_top(job, "v1", "s1", Side.LEFT)
    assert find_line(flipped, "v1", "s1")[1].rule == replace(rule, on_top=Side.RIGHT)
    back = flip_top(flipped, "v1", "s1", Side.RIGHT)
    assert find_line(back, "v1", "s1")[1].rule.on_top is Side.LEFT
    assert find_line(set_lap(job, "v1", "s1", None), "v1", "s1")[1].rule.lap_mm is None


def test_a_stripe_is_widened_and_may_end_in_a_point() -> None:
    stripe_after = find_line(set_stripe_widths(rich_job(), "v1", "t1", 0, 60), "v1", "t1")[1]
    assert (stripe_after.start_width_mm, stripe_after.end_width_mm) == (0.0, 60.0)


def test_lines_are_deleted_on_all_panels_and_empty_schemes_go() -> None:
    after = delete_lines(rich_job(), "v1", ["s1", "s2", "i1"])
    assert [line.id for line in after.scheme("v1", "p1").lines] == ["t1"]
    assert [s.panel for s in after.variant("v1").schemes] == ["p1"]


def test_painting_replaces_the_spots_it_is_told() -> None:
    job = rich_job()
    after = paint(job, "v1", "p1", (310, 70), "f3", replacing=["c1"])
    assert [(s.at, s.film) for s in after.scheme("v1", "p1").spots] == [((310.0, 70.0), "f3")]
    both = paint(job, "v1", "p1", (10, 70), "f3")
    assert [s.id for s in both.scheme("v1", "p1").spots] == ["c1", "c2"]
    assert delete_spots(both, "v1", ["c2", "c1"]).scheme("v1", "p1").spots == ()


def test_panels_are_added_replaced_moved_and_recoloured() -> None:
    job = add_panel(rich_job(), rect_panel("p3", 10, 10))
    assert [p.id for p in job.panels] == ["p1", "p2", "p3"]
    job = replace_panel(job, replace(job.panel("p3"), count=4))
    assert job.panel("p3").count == 4
    job = move_panel(job, "p3", (7, 8))
    assert job.panel("p3").at == (7.0, 8.0)
    assert set_base_film(job, "p3", "f2").panel("p3").base_film == "f2"
    triangle = path([(0, 0), (9, 0), (0, 9)])
    assert set_outline(job, "p3", triangle).panel("p3").outline == triangle


def test_a_panel_goes_with_all_that_is_drawn_on_it() -> None:
    job = add_variant(rich_job(), "Other", like="v1")
    after = delete_panels(job, ["p1"])
    assert [p.id for p in after.panels] == ["p2"]
    assert all(s.panel == "p2" for v in after.variants for s in v.schemes)
    assert delete_panels(job, []) is job


def test_edges_turn_on_outline_and_opening() -> None:
    job = set_edge_turn(rich_job(), "p1", "n3", 15)
    assert [n.turn_mm for n in job.panel("p1").outline] == [None, None, 15.0, None]
    job = set_edge_turn(job, "p1", "o1/n1", 4)
    assert job.panel("p1").openings[0].nodes[0].turn_mm == 4.0
    assert set_edge_turn(job, "p1", "n3", None).panel("p1").outline[2].turn_mm is None


def test_films_are_added_replaced_stocked_and_deleted() -> None:
    job = add_film(rich_job(), film("f4", rank=9))
    stock = (Roll(id="r9", length_mm=800.0), Offcut(id="k1", length_mm=300.0, width_mm=200.0))
    job = set_stock(job, "f4", stock)
    assert job.film("f4").stock == stock
    job = replace_film(job, replace(job.film("f4"), name="Fog"))
    assert job.film("f4").name == "Fog"
    kept = keep_nest(job, nest(film="f4"))
    after = delete_film(kept, "f4")
    assert "f4" not in [f.id for f in after.films]
    assert after.nests == ()


def test_a_film_in_use_is_not_deleted_and_the_places_are_said() -> None:
    with pytest.raises(EditRefused, match=r"base of Lid; base of Door\."):
        delete_film(rich_job(), "f1")
    with pytest.raises(
        EditRefused, match=r"Stripe 1 on Lid \(As drawn\); a painted region on Lid"
    ):
        delete_film(rich_job(), "f2")
    with pytest.raises(EditRefused, match="Inlay 1 on Lid"):
        delete_film(rich_job(), "f3")


def test_a_variant_made_like_another_shares_its_schemes() -> None:
    job = rich_job()
    after = add_variant(job, "Quieter", like="v1")
    assert after.variant("v2").schemes is job.variant("v1").schemes
    assert add_variant(job, "Bare", like=None).variant("v2").schemes == ()
    changed = set_lap(after, "v2", "s1", 3)
    assert find_line(changed, "v1", "s1")[1].rule.lap_mm is None


def test_variants_are_renamed_and_deleted_with_their_nests() -> None:
    job = keep_nest(add_variant(rich_job(), "B", like=None), nest("v2"))
    assert rename_variant(job, "v2", "C").variant("v2").name == "C"
    assert rename_variant(job, "v2", "B").variant("v2").name == "B"
    after = delete_variant(job, "v2")
    assert [v.id for v in after.variants] == ["v1"]
    assert after.nests == ()


def test_settings_units_and_name() -> None:
    job = set_settings(rich_job(), Settings(lap_mm=6, tries=2))
    assert job.settings == Settings(lap_mm=6.0, tries=2)
    assert set_units(job, Units.IN).units is Units.IN
    assert rename_job(job, "Van").name == "Van"


def test_one_nest_is_kept_for_a_film_in_a_variant() -> None:
    job = keep_nest(rich_job(), nest(length_mm=900))
    job = keep_nest(job, nest(film="f2"))
    job = keep_nest(job, nest(length_mm=800))
    assert sorted((n.film, n.found_length_mm) for n in job.nests) == [
        ("f1", 800.0),
        ("f2", 900.0),
    ]
    after = drop_nest(job, "v1", "f1")
    assert [n.film for n in after.nests] == ["f2"]
    assert drop_nest(after, "v1", "f1") is after


TWICE = path([(0, 0), (5, 5)])[:1] * 2
REFUSED: dict[str, Callable[[Job], Job]] = {
    "line id taken": lambda j: add_line(j, "v1", "p2", seam("s1", [(0, 0), (1, 1)])),
    "line id of a panel": lambda j: add_line(j, "v1", "p2", seam("p1", [(0, 0), (1, 1)])),
    "line id ill-formed": lambda j: add_line(j, "v1", "p2", seam("seam", [(0, 0), (1, 1)])),
    "one node": lambda j: set_line_nodes(j, "v1", "s1", path([(0, 0)])),
    "same node twice": lambda j: set_line_nodes(j, "v1", "s1", TWICE),
    "far away": lambda j: move_line(j, "v1", "s1", 2e6, 0),
    "nowhere": lambda j: move_line(j, "v1", "s1", float("nan"), 0),
    "negative lap": lambda j: set_lap(j, "v1", "s1", -1),
    "stripe without width": lambda j: set_stripe_widths(j, "v1", "t1", 0, 0),
    "new stripe without width": lambda j: add_line(
        j, "v1", "p2", stripe("t2", [(0, 0), (9, 9)], 0.0)
    ),
    "width of a seam": lambda j: set_stripe_widths(j, "v1", "s1", 1, 1),
    "spot nowhere": lambda j: paint(j, "v1", "p1", (float("inf"), 0), "f2"),
    "panel id taken": lambda j: add_panel(j, rect_panel("p1", 1, 1)),
    "opening id taken": lambda j: add_panel(
        j, rect_panel("p3", 90, 90, openings=(hole("o1", 9, 9, 3),))
    ),
    "mark id taken": lambda j: replace_panel(
        j,
        rect_panel("p2", 9, 9, marks=(Mark(id="m1", kind=MarkKind.BADGE, path=((1.0, 1.0),)),)),
    ),
    "outline of one node": lambda j: set_outline(j, "p1", path([(0, 0)])),
    "outline node twice": lambda j: set_outline(j, "p1", TWICE),
    "negative turn": lambda j: set_edge_turn(j, "p1", "n1", -2),
    "turn where no edge starts": lambda j: set_edge_turn(j, "p1", "o1/n2", 2),
    "film id taken": lambda j: add_film(j, film("f1")),
    "stock id taken": lambda j: set_stock(j, "f1", (Roll(id="r2", length_mm=9.0),)),
    "stock without length": lambda j: set_stock(j, "f1", (Roll(id="r1", length_mm=0.0),)),
    "colour in words": lambda j: replace_film(j, film("f1", colour="green")),
    "last variant": lambda j: delete_variant(j, "v1"),
    "variant name taken": lambda j: add_variant(j, "As drawn", like=None),
    "variant without name": lambda j: rename_variant(j, "v1", "  "),
    "no tries": lambda j: set_settings(j, Settings(tries=0)),
    "endless name": lambda j: rename_job(j, "x" * 201),
    "nest of no length": lambda j: keep_nest(j, nest(length_mm=0.0)),
}


@pytest.mark.parametrize("edit", REFUSED.values(), ids=REFUSED.keys())
def test_what_would_break_the_job_is_refused(edit: Callable[[Job], Job]) -> None:
    with pytest.raises(EditRefused) as refused:
        edit(rich_job())
    assert refused.value.what.endswith(".")
    assert "`" not in refused.value.sentence()


UNKNOWN: dict[str, Callable[[Job], Job]] = {
    "variant": lambda j: set_lap(j, "v9", "s1", 1),
    "line": lambda j: set_lap(j, "v1", "s9", 1),
    "line deleted": lambda j: delete_lines(j, "v1", ["s1", "s9"]),
    "line on another panel": lambda j: replace_line(
        j, "v1", "p2", seam("s1", [(0, 0), (1, 1)])
    ),
    "line of another kind": lambda j: replace_line(
        j, "v1", "p1", stripe("s1", [(0, 0), (1, 1)])
    ),
    "panel of a line": lambda j: add_line(j, "v1", "p9", seam("s9", [(0, 0), (1, 1)])),
    "film of a stripe": lambda j: add_line(
        j, "v1", "p2", stripe("t9", [(0, 0), (1, 1)], film="f9")
    ),
    "film of paint": lambda j: paint(j, "v1", "p1", (0, 0), "f9"),
    "panel of paint": lambda j: paint(j, "v1", "p9", (0, 0), "f1"),
    "spot": lambda j: delete_spots(j, "v1", ["c9"]),
    "spot replaced": lambda j: paint(j, "v1", "p1", (0, 0), "f1", replacing=["c9"]),
    "panel": lambda j: move_panel(j, "p9", (0, 0)),
    "panel deleted": lambda j: delete_panels(j, ["p1", "p9"]),
    "base film": lambda j: set_base_film(j, "p1", "f9"),
    "edge": lambda j: set_edge_turn(j, "p1", "n9", 1),
    "opening": lambda j: set_edge_turn(j, "p1", "o9/n1", 1),
    "film": lambda j: set_stock(j, "f9", ()),
    "film deleted": lambda j: delete_film(j, "f9"),
    "variant deleted": lambda j: delete_variant(j, "v9"),
    "variant to be like": lambda j: add_variant(j, "B", like="v9"),
    "panel of a scheme": lambda j: replace_scheme(j, "v1", scheme("p9")),
    "film of a nest": lambda j: keep_nest(j, nest(film="f9")),
}


@pytest.mark.parametrize("edit", UNKNOWN.values(), ids=UNKNOWN.keys())
def test_what_is_not_there_is_a_key_error(edit: Callable[[Job], Job]) -> None:
    with pytest.raises(KeyError):
        edit(rich_job())


def test_refusals_name_the_place() -> None:
    with pytest.raises(EditRefused, match=r"^how it meets, lap: The number must be"):
        set_lap(rich_job(), "v1", "s1", -1)


def test_the_two_tone_job_is_what_it_says() -> None:
    job = two_tone_job()
    assert job.films == films()
    assert len(job.scheme("v1", "p1").lines) == 1

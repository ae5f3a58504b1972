"""Copy, paste, array, lock: pure edits, and where lines land on other panels."""

import json

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.document.edits.belonging_copies import copy_belongings, paste_belongings
from core.document.edits.carry import RimPlace, carried, rim_place, rim_point
from core.document.edits.copies import (
    array_lines,
    array_panels,
    copy_lines,
    copy_panels,
    from_text,
    paste_lines,
    paste_panels,
    step_to,
    to_text,
)
from core.document.edits.lines import find_line, move_line
from core.document.edits.locks import refuse_locked, set_hidden, set_locked
from core.document.edits.panels import delete_panels, move_panel, set_base_film
from core.document.edits.runs import add_run, find_run
from core.document.edits.variants import add_variant, delete_variant, replace_scheme
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.flatten import flatten
from core.document.measures import ring_middle
from core.errors import EditRefused, InputError
from core.plan.plan import plan_job
from helpers.jobs import (
    bolt,
    disc_panel,
    film,
    films,
    hole,
    inlay,
    job_with,
    poly_panel,
    rect_panel,
    scheme,
    seam,
    spot,
    stripe,
)


def two_panels():
    drawn = scheme(
        "p1",
        seam("s1", [(100, 0), (150, 100), (300, 200)]),
        inlay("i1", [(180, 80), (220, 80), (200, 120)]),
        spot("c1", 350, 100),
    )
    skewed = poly_panel("p2", [(0, 0), (800, 0), (900, 500), (100, 500)], at=(600.0, 0.0))
    first = rect_panel("p1", 400, 200, openings=(hole("o1", 50, 50, 20),))
    return job_with([first, skewed, disc_panel("p3", 100, at=(0.0, 900.0))], [drawn])


@given(st.integers(0, 3), st.floats(0.01, 0.99))
def test_a_place_on_the_rim_is_found_again(edge, share) -> None:
    ring = two_panels().panel("p2").outline
    found = rim_place(ring, rim_point(ring, RimPlace(edge, share)))
    assert found.edge == edge
    assert found.share == pytest.approx(share, abs=1e-6)


def test_shares_run_from_corner_to_corner() -> None:
    ring = two_panels().panel("p1").outline
    assert rim_point(ring, RimPlace(0, 0.25)) == pytest.approx((100, 0))
    assert rim_point(ring, RimPlace(3, 0.5)) == pytest.approx((0, 100))
    assert rim_place(ring, (200.0, 100.0)) is None
    with pytest.raises(KeyError):
        rim_point(ring, RimPlace(4, 0.5))


def test_a_seam_lands_on_the_like_edges() -> None:
    job = two_panels()
    line = carried(find_line(job, "v1", "s1")[1], job.panel("p1"), job.panel("p2"))
    # A quarter along the bottom; a quarter along the top, which runs from the right.
    assert line.nodes[0].at == pytest.approx((200, 0))
    assert line.nodes[2].at == pytest.approx((900 - 800 / 4, 500))
    # Between them the shape is similar: all lengths in one proportion.
    old = find_line(job, "v1", "s1")[1]
    a, b = (shapely.LineString(flatten(x.nodes, closed=False)) for x in (old, line))
    chord = (200**2 + 200**2) ** 0.5, (500**2 + 500**2) ** 0.5
    assert b.length / a.length == pytest.approx(chord[1] / chord[0], rel=1e-6)


def test_where_corners_differ_or_ends_are_free_the_box_decides() -> None:
    job = two_panels()
    line = find_line(job, "v1", "s1")[1]
    onto_disc = carried(line, job.panel("p1"), job.panel("p3"))
    # Its middle is at half the width and height of the rectangle: the middle of the disc.
    box = shapely.LineString(flatten(onto_disc.nodes, closed=False)).bounds
    assert (box[0] + box[2], box[1] + box[3]) == pytest.approx((0, 0), abs=1e-3)
    assert box[2] - box[0] == pytest.approx(200)
    shape = carried(find_line(job, "v1", "i1")[1], job.panel("p1"), job.panel("p2"))
    low, high = (
        flatten(shape.nodes, closed=True).min(axis=0),
        flatten(shape.nodes, closed=True).max(axis=0),
    )
    assert tuple((low + high) / 2) == pytest.approx((450, 250), abs=1e-3)
    loose = replace(line, nodes=line.nodes[:2])
    assert carried(loose, job.panel("p1"), job.panel("p1")) is loose
    assert carried(loose, job.panel("p1"), job.panel("p2")).nodes[0].at != (200, 0)


def test_lines_are_pasted_on_another_panel_through_text() -> None:
    job = two_panels()
    clip = from_text(to_text(copy_lines(job, "v1", ["s1", "i1"])))
    after, ids = paste_lines(job, "v1", clip, "p2")
    assert ids == ("s2", "i2")
    assert find_line(after, "v1", "s2")[0] == "p2"
    assert from_bytes(to_bytes(JobFile(after)), "here").job == after
    again, more = paste_lines(job, "v1", clip, "p1")
    (x, y), (x2, y2) = (find_line(again, "v1", i)[1].nodes[0].at for i in ("s1", more[0]))
    assert (x2 - x, y2 - y) == (10, -10)


def test_panels_are_pasted_with_what_is_drawn_on_them() -> None:
    job = two_panels()
    clip = from_text(to_text(copy_panels(job, "v1", ["p1"])))
    after, ids = paste_panels(job, "v1", clip, (20.0, -20.0))
    assert ids == ("p4",)
    panel = after.panel("p4")
    assert panel.name == "Panel p1 2"
    assert panel.at == (20, -20)
    assert panel.openings[0].id == "o2"
    copied = after.scheme("v1", "p4")
    assert [line.id for line in copied.lines] == ["s2", "i2"]
    assert copied.spots[0].id == "c2"
    assert from_bytes(to_bytes(JobFile(after)), "here").job == after
    third, _ = paste_panels(after, "v1", clip, (40.0, -40.0))
    assert third.panels[-1].name == "Panel p1 3"


def test_pasting_into_another_job_brings_the_films_it_needs() -> None:
    clip = copy_panels(two_panels(), "v1", ["p1"])
    bare = job_with([], [], films=[replace(film("f1"), name="Other", colour="#102030")])
    after, _ = paste_panels(bare, "v1", clip, (0.0, 0.0))
    assert [f.name for f in after.films] == ["Other", "Film f1", "Film f2"]
    assert after.films[1].stock == ()
    assert after.panels[0].base_film == "f2"
    same_name = job_with(
        [], [], films=[replace(f, id=f"f{9 - i}") for i, f in enumerate(films(2))]
    )
    kept, _ = paste_panels(same_name, "v1", clip, (0.0, 0.0))
    assert kept.films == same_name.films
    assert kept.panels[0].base_film == "f9"


def test_a_run_that_is_copied_whole_stays_a_run() -> None:
    job = job_with([rect_panel("p1", 300, 200), rect_panel("p2", 300, 200, at=(320.0, 0.0))])
    line = stripe("t1", [(0, 100), (620, 100)], (20, 40))
    job, ids = add_run(job, "v1", line.nodes, ("p1", "p2"), line)
    both, made = paste_panels(job, "v1", copy_panels(job, "v1", ["p1", "p2"]), (0.0, -300.0))
    fresh = both.scheme("v1", made[0]).stripes[0]
    assert find_run(both, "v1", fresh.id).is_in_line
    assert fresh.run == "u2"
    one, made = paste_panels(job, "v1", copy_panels(job, "v1", ["p1"]), (0.0, -300.0))
    assert one.scheme("v1", made[0]).stripes[0].run is None
    loose, lines = paste_lines(job, "v1", copy_lines(job, "v1", ids[:1]), "p2")
    assert find_line(loose, "v1", lines[0])[1].run is None


@pytest.mark.parametrize(
    "text",
    [
        "",
        "seam",
        '{"kind": "lapline-clip"}',
        '["lapline-clip"]',
        '{"kind": "lapline-clip", "version": 1, "clip": {"films": 3}}',
        '{"kind": "lapline-clip", "version": 1' + "[" * 5000,
    ],
)
def test_other_text_is_not_pasted(text) -> None:
    with pytest.raises(InputError):
        from_text(text)


def test_a_newer_clip_is_refused_and_says_so() -> None:
    body = json.loads(to_text(copy_panels(two_panels(), "v1", ["p1"])))
    with pytest.raises(InputError, match="newer"):
        from_text(json.dumps({**body, "version": 2}))


def test_a_clip_without_its_film_is_refused() -> None:
    clip = replace(copy_lines(two_panels(), "v1", ["i1"]), films=())
    with pytest.raises(EditRefused, match="f2"):
        paste_lines(two_panels(), "v1", clip, "p2")


def test_an_array_leaves_the_gap_that_was_asked_for() -> None:
    job = two_panels()
    after, ids = array_panels(job, "v1", ["p1"], (2, 3), (25.0, 40.0))
    assert len(ids) == 5
    places = {after.panel(i).at for i in ids}
    assert places == {(425, 0), (850, 0), (0, 240), (425, 240), (850, 240)}
    lines, made = array_lines(job, "v1", ["i1"], (1, 3), (10.0, 0.0))
    assert [find_line(lines, "v1", i)[1].nodes[0].at for i in made] == [(230, 80), (280, 80)]
    with pytest.raises(EditRefused, match="nothing"):
        array_lines(job, "v1", ["i1"], (1, 1), (0.0, 0.0))
    with pytest.raises(EditRefused, match="copies"):
        array_panels(job, "v1", ["p1"], (100, 100), (0.0, 0.0))
    with pytest.raises(EditRefused, match="nothing to repeat"):
        array_panels(job, "v1", [], (2, 2), (0.0, 0.0))


def test_a_locked_panel_is_not_changed() -> None:
    job = set_locked(two_panels(), ["p1"], locked=True)
    for change in (
        lambda j: move_panel(j, "p1", (5.0, 0.0)),
        lambda j: move_line(j, "v1", "s1", 1, 0),
        lambda j: delete_panels(j, ["p1"]),
        lambda j: set_base_film(j, "p1", "f3"),
    ):
        with pytest.raises(EditRefused, match="Panel p1 is locked"):
            refuse_locked(job, change(job))
    refuse_locked(job, move_panel(job, "p2", (5.0, 0.0)))
    refuse_locked(job, set_hidden(job, ["p1"], hidden=True))
    refuse_locked(job, set_locked(job, ["p1"], locked=False))
    two = add_variant(job, "Other", like="v1")
    refuse_locked(job, two)
    refuse_locked(two, delete_variant(two, "v2"))


def test_hidden_panels_are_planned_all_the_same() -> None:
    job = set_hidden(two_panels(), ["p1", "p2"], hidden=True)
    assert [p.of for p in plan_job(job).panels] == ["p1", "p2", "p3"]


def test_a_seam_round_to_its_start_is_placed_by_the_box() -> None:
    job = two_panels()
    loop = seam("s9", [(100, 0), (150, 100), (100.05, 0)])
    # Its box is 50 wide and 100 high, about (125, 50) on a panel of 400 x 200.
    moved = carried(loop, job.panel("p1"), job.panel("p2"))
    assert moved.nodes[0].at == pytest.approx((900 * 125 / 400 - 25, 500 / 4 - 50), abs=0.01)


def test_a_bare_panel_is_pasted_and_brought_to_a_point() -> None:
    job = two_panels()
    clip = copy_panels(job, "v1", ["p2"])
    step = step_to(clip, (0.0, 0.0))
    assert step == (-1050, -250)
    after, (made,) = paste_panels(job, "v1", clip, step)
    assert after.panel(made).at == (-450, -250)
    assert after.scheme("v1", made).lines == ()


def test_stripes_of_no_run_stay_so_and_nothing_done_is_nothing_locked() -> None:
    job = two_panels()
    line = stripe("t1", [(0, 100), (400, 100)])
    drawn = replace_scheme(job, "v1", replace(job.scheme("v1", "p1"), stripes=(line,)))
    after, (made,) = paste_panels(drawn, "v1", copy_panels(drawn, "v1", ["p1"]), (0.0, -300.0))
    assert after.scheme("v1", made).stripes[0].run is None
    refuse_locked(drawn, drawn)


def test_an_opening_without_room_is_refused_and_one_with_little_stands_beside():
    tight = rect_panel("p1", 100, 80, openings=(hole("o1", 50, 40, 30),))
    wide = rect_panel("p2", 400, 80, at=(200.0, 0.0), openings=(hole("o2", 60, 40, 30),))
    job = job_with([tight, wide])
    with pytest.raises(EditRefused, match=r"within its panel|across another"):
        paste_belongings(job, copy_belongings(job, ["o1"]), "p1")
    made, (fresh,) = paste_belongings(job, copy_belongings(job, ["o2"]), "p2")
    first, second = made.panel("p2").openings
    assert (second.id, fresh) == (fresh, "o3")
    gap = ring_middle(second.nodes)[0] - ring_middle(first.nodes)[0] - 60
    assert gap == pytest.approx(10.0)


def test_marks_go_through_the_clipboard_and_keep_their_arrangement():
    marks = (bolt("m1", 20, 20), bolt("m2", 80, 20), bolt("m3", 300, 150))
    job = job_with([rect_panel("p1", 400, 200, marks=marks), rect_panel("p2", 800, 400)])
    clip = from_text(to_text(copy_belongings(job, ["m1", "m2"])))
    made, ids = paste_belongings(job, clip, "p1", (200.0, 100.0))
    assert made.panel("p1").marks[:3] == marks
    assert [m.path[0] for m in made.panel("p1").marks[3:]] == [(170.0, 100.0), (230.0, 100.0)]
    assert len(set(ids) & {"m1", "m2", "m3"}) == 0
    far, _ = paste_belongings(job, clip, "p2", (5000.0, 0.0))
    assert [m.path[0] for m in far.panel("p2").marks] == [(70.0, 40.0), (130.0, 40.0)]
    with pytest.raises(EditRefused, match="nothing to paste"):
        paste_belongings(job, replace(clip, belongings=()), "p1")

import json
from collections.abc import Callable
from functools import partial
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.document.archive import unpack
from core.document.checks import iter_problems
from core.document.choices import Pin
from core.document.edits.belonging_copies import copy_belongings, paste_belongings
from core.document.edits.belongings import (
    add_mark,
    add_opening,
    delete_belongings,
    move_belongings,
    set_mark,
    set_mark_path,
)
from core.document.edits.films import choose_width, delete_film
from core.document.edits.lines import (
    add_line,
    delete_lines,
    free_id,
    move_line,
    rename_line,
    set_lap,
    set_line_nodes,
)
from core.document.edits.panels import delete_panels, move_panel, set_edge_turn, set_outline
from core.document.edits.pieces import (
    allow_stock,
    forbid_stock,
    pin_piece,
    set_piece_tries,
    unpin_piece,
)
from core.document.edits.spots import delete_spots, paint
from core.document.edits.variants import add_variant, delete_variant
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.job import Job
from core.document.lines import Seam, Stripe
from core.document.panel import Mark, MarkKind, Opening, Panel
from core.document.plain_rings import round_ring
from core.errors import EditRefused, LaplineError
from helpers.job_strategies import jobs, lengths, names, paths, points
from helpers.jobs import two_tone_job

photos = st.dictionaries(
    st.from_regex(r"[a-z]{1,8}\.jpg", fullmatch=True), st.binary(), max_size=2
)
law = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
"""A busy machine breaks no law."""
GOOD = to_bytes(JobFile(two_tone_job(), {"a.jpg": b"\xff\xd8 photo"}))


@law
@given(jobs(), photos)
def test_save_load_save_gives_the_same_job_and_bytes(job: Job, held: dict[str, bytes]) -> None:
    first = to_bytes(JobFile(job, held))
    loaded = from_bytes(first, "")
    assert loaded == JobFile(job, held)
    assert to_bytes(loaded) == first


@law
@given(st.data())
def test_any_change_of_bytes_is_refused_or_loads(data: st.DataObject) -> None:
    broken = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(broken) - 1))
        broken[at] = data.draw(st.integers(0, 255))
    end = data.draw(st.sampled_from([len(broken), data.draw(st.integers(0, len(broken)))]))
    refused_or_sound(bytes(broken[:end]))


@law
@given(st.binary(max_size=200), st.sampled_from([b"", b"PK\x03\x04", b"PK\x05\x06", b"{"]))
def test_any_bytes_are_refused(data: bytes, start: bytes) -> None:
    refused_or_sound(start + data)


scraps: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=4,
)


@law
@given(jobs(), st.data())
def test_any_change_of_content_is_refused_or_loads(job: Job, data: st.DataObject) -> None:
    document = json.loads(unpack(to_bytes(JobFile(job)), "")[0])
    here: Any = document
    while True:
        step = data.draw(
            st.sampled_from(list(here) if isinstance(here, dict) else range(len(here)))
        )
        below = here[step]
        if not isinstance(below, dict | list) or not below or data.draw(st.integers(0, 5)) == 0:
            break
        here = below
    here[step] = data.draw(scraps)
    refused_or_sound(json.dumps(document).encode())


def refused_or_sound(data: bytes) -> None:
    """Load: either a sentence for the user, or a job that is saved alike."""
    try:
        loaded = from_bytes(data, "a file")
    except LaplineError as error:
        said = error.sentence()
    else:
        said = "a file: fine"
        assert from_bytes(to_bytes(loaded), "") == loaded
    assert said.startswith("a file")


Edit = Callable[[], Job]


def job_edits(draw: st.DrawFn, job: Job, v: str) -> list[Edit]:
    return [
        lambda: add_variant(job, free_id(job, "v"), like=draw(st.sampled_from([None, v]))),
        lambda: delete_variant(job, v),
        *(partial(delete_film, job, film.id) for film in job.films),
        *stock_edits(draw, job, v),
    ]


def stock_edits(draw: st.DrawFn, job: Job, v: str) -> list[Edit]:
    if not job.films:
        return []
    film = draw(st.sampled_from(job.films))
    piece = draw(st.sampled_from(["p1.whole", "p2L.s1L"]))
    stock = draw(st.sampled_from(["buy", *(s.id for s in film.stock)]))
    width = draw(st.sampled_from([film.roll_width_mm, *(o.width_mm for o in film.offers)]))
    return [
        lambda: choose_width(job, film.id, width),
        lambda: set_piece_tries(job, v, piece, draw(st.none() | st.integers(1, 20))),
        lambda: pin_piece(job, v, piece, Pin(stock=stock, attempt=draw(st.integers(1, 9)))),
        lambda: unpin_piece(job, v, piece),
        lambda: forbid_stock(job, v, piece, stock),
        lambda: allow_stock(job, v, piece, stock),
    ]


def panel_edits(draw: st.DrawFn, job: Job, v: str) -> list[Edit]:
    if not job.panels:
        return []
    panel = draw(st.sampled_from(job.panels))
    film = draw(st.sampled_from(job.films)).id
    edge = draw(st.sampled_from(panel.outline)).id
    spots = [spot.id for spot in job.scheme(v, panel.id).spots]
    seam = Seam(id=free_id(job, "s"), nodes=draw(paths()))
    stripe = Stripe(
        id=free_id(job, "t"),
        nodes=draw(paths()),
        start_width_mm=draw(lengths),
        end_width_mm=0,
        film=film,
    )
    return [
        lambda: delete_panels(job, [panel.id]),
        lambda: move_panel(job, panel.id, draw(points)),
        lambda: set_outline(job, panel.id, draw(paths())),
        lambda: set_edge_turn(job, panel.id, edge, draw(st.none() | lengths)),
        lambda: paint(job, v, panel.id, draw(points), film, replacing=spots),
        lambda: delete_spots(job, v, spots),
        lambda: add_line(job, v, panel.id, seam),
        lambda: add_line(job, v, panel.id, stripe),
        *belonging_edits(draw, job, panel),
    ]


def belonging_edits(draw: st.DrawFn, job: Job, panel: Panel) -> list[Edit]:
    at, radius = draw(points), draw(lengths)
    mark = Mark(id=free_id(job, "m"), kind=MarkKind.BADGE, path=(at,), radius_mm=radius)
    return [
        lambda: add_mark(job, panel.id, mark),
        lambda: add_opening(
            job, panel.id, Opening(id=free_id(job, "o"), nodes=round_ring(at, radius))
        ),
        *(partial(set_mark, job, m.id, radius_mm=radius) for m in panel.marks),
        *(partial(set_mark_path, job, m.id, (*m.path, at)) for m in panel.marks),
        *(
            partial(edit, job, [one.id], *step)
            for one in (*panel.openings, *panel.marks)
            for edit, step in ((delete_belongings, ()), (move_belongings, at))
        ),
        *(
            lambda one=one: paste_belongings(job, copy_belongings(job, [one.id]), panel.id)[0]
            for one in (*panel.openings, *panel.marks)
        ),
    ]


def line_edits(draw: st.DrawFn, job: Job, v: str) -> list[Edit]:
    lines = [line.id for scheme in job.variant(v).schemes for line in scheme.lines]
    if not lines:
        return []
    line = draw(st.sampled_from(lines))
    return [
        lambda: delete_lines(job, v, [line]),
        lambda: move_line(job, v, line, *draw(points)),
        lambda: set_line_nodes(job, v, line, draw(paths(least=1))),
        lambda: set_lap(job, v, line, draw(st.none() | st.floats())),
        lambda: rename_line(job, v, line, draw(names)),
    ]


@st.composite
def edited(draw: st.DrawFn, job: Job) -> Job:
    """The job after one edit, of whatever is there to be edited."""
    v = draw(st.sampled_from(job.variants)).id
    kinds = [edits(draw, job, v) for edits in (job_edits, panel_edits, line_edits)]
    edits = draw(st.sampled_from([edits for edits in kinds if edits]))
    return draw(st.sampled_from(edits))()


@settings(law, max_examples=40)
@given(jobs(), st.data())
def test_whatever_edits_are_made_the_job_can_be_saved(job: Job, data: st.DataObject) -> None:
    for _ in range(6):
        try:
            job = data.draw(edited(job))
        except EditRefused:
            continue
        assert list(iter_problems(job)) == []
    assert from_bytes(to_bytes(JobFile(job)), "").job == job

import pytest
from msgspec.structs import replace

from core.document.checks import iter_problems
from core.document.choices import Difficulty, PieceChoice, Pin, Place
from core.document.edits.films import set_stock
from core.document.edits.panels import delete_panels
from core.document.edits.pieces import (
    allow_stock,
    forbid_stock,
    pin_piece,
    set_piece_tries,
    unpin_piece,
)
from core.document.edits.variants import add_variant, rename_variant
from core.document.film import DamagedStretch, Offcut, Roll
from core.document.job import Job
from core.errors import EditRefused
from core.plan.plan import plan_job
from helpers.jobs import two_tone_job


def stocked() -> Job:
    job = two_tone_job()
    stock = (
        Roll(id="r50", length_mm=4000.0),
        Offcut(id="k50", length_mm=600.0, width_mm=300.0),
    )
    return set_stock(job, job.films[0].id, stock)


def piece_of(job: Job) -> str:
    return str(plan_job(job).pieces[0].id)


def test_tries_of_one_piece_override_those_of_its_panel() -> None:
    job = stocked()
    name = piece_of(job)
    chosen = set_piece_tries(job, job.variants[0].id, name, 4)
    plan = plan_job(chosen)
    assert [p.tries for p in plan.pieces if p.id == name] == [4]
    assert {p.tries for p in plan.pieces if p.id != name} == {job.settings.tries}
    assert set_piece_tries(chosen, job.variants[0].id, name, None).variants[0].pieces == ()


def test_hard_panels_are_planned_with_two_tries_and_easy_ones_with_one() -> None:
    job = two_tone_job()
    hard = replace(job.panels[0], difficulty=Difficulty.HARD)
    plan = plan_job(replace(job, panels=(hard, *job.panels[1:])))
    tries = {p.tries for panel in plan.panels if panel.of == hard.id for p in panel.pieces}
    assert tries == {2}
    assert {p.tries for panel in plan.panels if panel.of != hard.id for p in panel.pieces} <= {
        1
    }


def test_a_number_given_for_the_panel_comes_before_its_difficulty() -> None:
    job = two_tone_job()
    panel = replace(job.panels[0], difficulty=Difficulty.HARD, tries=5)
    plan = plan_job(replace(job, panels=(panel, *job.panels[1:])))
    assert {p.tries for x in plan.panels if x.of == panel.id for p in x.pieces} == {5}


def test_a_pin_takes_the_place_of_the_one_on_the_same_try() -> None:
    job = stocked()
    v, name = job.variants[0].id, piece_of(job)
    job = pin_piece(job, v, name, Pin(stock="r50"))
    there = Place(angle_deg=90, dx_mm=1, dy_mm=2)
    job = pin_piece(job, v, name, Pin(stock="k50", place=there))
    job = pin_piece(job, v, name, Pin(stock="buy", attempt=2))
    assert [(p.stock, p.attempt) for p in job.variants[0].choice(name).pins] == [
        ("k50", 1),
        ("buy", 2),
    ]
    assert [p.attempt for p in unpin_piece(job, v, name, 1).variants[0].choice(name).pins] == [
        2
    ]
    assert unpin_piece(job, v, name).variants[0].pieces == ()


def test_what_is_pinned_is_not_forbidden_and_the_other_way_round() -> None:
    job = stocked()
    v, name = job.variants[0].id, piece_of(job)
    with pytest.raises(EditRefused, match="pinned to r50"):
        forbid_stock(pin_piece(job, v, name, Pin(stock="r50")), v, name, "r50")
    kept_off = forbid_stock(job, v, name, "r50")
    with pytest.raises(EditRefused, match="kept off r50"):
        pin_piece(kept_off, v, name, Pin(stock="r50"))
    assert allow_stock(kept_off, v, name, "r50").variants[0].pieces == ()


def test_a_pin_to_what_is_not_there_is_refused() -> None:
    job = stocked()
    with pytest.raises(EditRefused, match="no roll or offcut r99"):
        pin_piece(job, job.variants[0].id, "p1.whole", Pin(stock="r99"))


def test_choices_go_along_with_variants_and_go_with_their_panel() -> None:
    job = stocked()
    v, name = job.variants[0].id, piece_of(job)
    job = set_piece_tries(job, v, name, 3)
    job = rename_variant(add_variant(job, "Other", like=v), v, "Renamed")
    assert [x.choice(name).tries for x in job.variants if x.name in {"Other", "Renamed"}] == [
        3,
        3,
    ]
    panel = plan_job(job).pieces[0].panel
    gone = next(p.of for p in plan_job(job).panels if p.id == panel)
    assert all(x.pieces == () for x in delete_panels(job, [gone]).variants)


def test_an_unchanged_choice_changes_nothing() -> None:
    job = stocked()
    v, name = job.variants[0].id, piece_of(job)
    assert set_piece_tries(job, v, name, None) is job
    assert unpin_piece(job, v, name) is job


@pytest.mark.parametrize(
    ("stock", "said"),
    [
        (
            Roll(
                id="r1",
                length_mm=10.0,
                damaged=(DamagedStretch(start_mm=5.0, end_mm=5.0),),
            ),
            "ends where it starts",
        ),
        (
            Offcut(
                id="k1",
                length_mm=100.0,
                width_mm=100.0,
                outline=((0.0, 0.0), (150.0, 0.0), (0.0, 90.0)),
            ),
            "reaches beyond",
        ),
    ],
)
def test_stock_that_does_not_hold_is_refused(stock: Roll | Offcut, said: str) -> None:
    job = two_tone_job()
    film = replace(job.films[0], stock=(stock,))
    (problem,) = iter_problems(replace(job, films=(film, *job.films[1:])))
    assert said in problem.what


def test_two_choices_for_one_piece_are_refused() -> None:
    job = two_tone_job()
    twice = (PieceChoice(piece="p1.whole", tries=1), PieceChoice(piece="p1.whole", tries=2))
    variant = replace(job.variants[0], pieces=twice)
    problems = list(iter_problems(replace(job, variants=(variant, *job.variants[1:]))))
    assert [p.what for p in problems] == ["Two choices are made for the piece p1.whole."]

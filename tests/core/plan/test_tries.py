"""Planned tries: by the shape of a part where nobody has said how hard it is."""

from msgspec.structs import replace

from core.document.choices import Difficulty
from core.document.edits.films import replace_film
from core.document.edits.pieces import set_piece_tries
from core.document.edits.surfaces import set_surface
from core.document.job import Job
from core.document.surface import Surface
from core.plan.plan import plan_job
from core.roll.problem import film_problems
from helpers.jobs import job_with, rect_panel
from helpers.taped import BALL, FLAT

DOME = replace(BALL.grid(), origin=(0.0, 300.0))
PLATE = replace(FLAT.grid(), origin=(0.0, 300.0))


def job_on(surface: Surface, *, limit_pct: float, **kw: object) -> Job:
    job = set_surface(job_with([rect_panel("p1", 600, 600, **kw)]), "p1", surface)
    film = job.film(job.panels[0].base_film)
    # The ball needs some per cent of strain; the limits say whether that is much.
    return replace_film(
        job, replace(film, bunching_limit_pct=limit_pct, stretch_limit_pct=limit_pct)
    )


def tries(job: Job) -> list[int]:
    return [piece.planned_tries for piece in plan_job(job).pieces]


def test_a_piece_that_strains_its_film_is_hard() -> None:
    assert tries(job_on(DOME, limit_pct=1.0)) == [2]


def test_a_film_that_takes_it_easily_makes_it_easy() -> None:
    assert tries(job_on(DOME, limit_pct=60.0)) == [1]


def test_a_flat_plate_is_easy_however_stiff_the_film() -> None:
    assert tries(job_on(PLATE, limit_pct=1.0)) == [1]


def test_the_word_of_the_user_comes_before_the_shape() -> None:
    assert tries(job_on(DOME, limit_pct=1.0, difficulty=Difficulty.EASY)) == [1]
    assert tries(job_on(DOME, limit_pct=1.0, tries=5)) == [5]
    job = job_on(DOME, limit_pct=1.0)
    piece = plan_job(job).pieces[0]
    assert tries(set_piece_tries(job, job.variants[0].id, piece.id, 1)) == [1]


def test_both_of_a_pair_are_as_hard_and_the_rolls_know() -> None:
    job = job_on(DOME, limit_pct=1.0, is_pair=True)
    assert tries(job) == [2, 2]
    items = [i for p in film_problems(plan_job(job)) for i in p.items]
    assert sorted(i.attempt for i in items) == [1, 1, 2, 2]

import numpy as np
import pytest
from msgspec.structs import replace

from core.document.choices import Difficulty
from core.document.edits.surfaces import set_reading, set_surface
from core.document.film import KIND_LIMITS, FilmKind
from core.document.surface import MeasuredSurface, ReadingKind, ReadingPlace, ScannedSurface
from core.errors import Cancelled
from core.plan.model import Severity
from core.plan.plan import plan_job
from core.plan.shape_check import Verdict, judge_piece, shape_report
from core.plan.side_words import swapped
from core.progress import Step
from helpers.jobs import film, job_with, rect_panel, scheme, seam
from helpers.taped import BALL, FLAT, SHOULDERS, Part, girth_circle_cone, misread

ROUND = Part(lambda _s, _t: 1 / 420**2)
"""Needs a range of about 11 %."""


def _job(surface, kind=FilmKind.CAST, *things, **kw):
    limits = KIND_LIMITS[kind]
    own = film(
        "f1",
        kind=kind,
        bunching_limit_pct=limits.bunching_pct,
        stretch_limit_pct=limits.stretch_pct,
        warm_stretch_limit_pct=limits.warm_stretch_pct,
    )
    panel = rect_panel("p1", 600, 600, **{"flow_deg": 0.0, **kw})
    tied = replace(surface, origin=(0.0, 300.0))
    schemes = [scheme("p1", *things)] if things else []
    return set_surface(job_with([panel], schemes, [own]), "p1", tied)


def _one(job):
    report = shape_report(plan_job(job))
    (shape,) = report.pieces
    return report, shape


def test_a_mild_dome_lays_freely() -> None:
    report, shape = _one(_job(BALL.grid()))
    assert shape.verdict is Verdict.FREE
    assert shape.sentence == "Lays freely."
    assert shape.difficulty is Difficulty.EASY
    assert report.findings == ()
    assert shape.low_pct <= shape.range_pct <= shape.high_pct < shape.easy_pct


def test_a_rounder_dome_lays_with_warmth_and_is_hard() -> None:
    report, shape = _one(_job(Part(lambda _s, _t: 1 / 460**2).grid()))
    assert shape.verdict is Verdict.WARM
    assert shape.difficulty is Difficulty.HARD
    # (1 + R)(1 - B) - 1 of stretch, when all the bunching that the film takes is used.
    needed = 100 * ((1 + shape.range_pct / 100) * 0.98 - 1)
    assert f"needs {needed:.0f} % stretch" in shape.sentence
    (finding,) = report.findings
    assert (finding.check, finding.severity) == ("L702", Severity.NOTE)


def test_a_stiff_film_on_it_bunches_at_the_rim_and_needs_a_seam() -> None:
    report, shape = _one(_job(ROUND.grid(), FilmKind.POLYMERIC))
    assert shape.verdict is Verdict.SEAM
    left = 100 * (1 - 1.025 / (1 + shape.range_pct / 100))
    assert f"Seam needed: bunches {left:.1f} % along the" in shape.sentence
    assert "rim near station 3" in shape.sentence
    assert shape.sentence.endswith("this film takes 1 %.")
    (finding,) = report.findings
    assert (finding.check, finding.panel) == ("L701", "p1")
    assert finding.text == shape.sentence, "its panel is told beside it"
    assert finding.severity is shape.severity is Severity.WARNING
    assert finding.where == shape.places[0][1]
    assert "data sheet" in report.caution


def test_seams_relieve_it() -> None:
    lines = (seam("s1", [(0, 200), (600, 200)]), seam("s2", [(0, 400), (600, 400)]))
    report = shape_report(plan_job(_job(ROUND.grid(), FilmKind.POLYMERIC, *lines)))
    assert [s.verdict for s in report.pieces] == [Verdict.FREE] * 3


@pytest.mark.parametrize("kind", list(FilmKind))
@pytest.mark.parametrize("repeats", [1, 3])
def test_a_flat_panel_is_never_judged_to_need_a_seam(kind, repeats) -> None:
    rng = np.random.default_rng(repeats)
    for _ in range(4):
        _, shape = _one(_job(misread(FLAT.grid(), rng, repeats=repeats), kind))
        assert shape.verdict is not Verdict.SEAM
        assert shape.low_pct < 0.5


def test_an_interval_about_the_limit_is_not_decided_and_says_what_to_do() -> None:
    # What the film takes, put into the middle of what the tape says.
    job = _job(BALL.grid())
    _, shape = _one(job)
    middle = (shape.low_pct + shape.high_pct) / 2
    own = replace(
        job.films[0],
        bunching_limit_pct=0.0,
        stretch_limit_pct=middle + 0.3,
        warm_stretch_limit_pct=middle + 0.3,
    )
    report, shape = _one(replace(job, films=(own,)))
    assert shape.verdict is Verdict.UNSURE
    assert shape.sentence.startswith("Cannot tell. It needs a range of")
    assert (
        "Read every length" in shape.sentence or "More readings hardly help" in shape.sentence
    )
    assert [f.check for f in report.findings] == ["L703"]


def test_a_limit_below_the_noise_of_the_tape_is_not_decided() -> None:
    job = _job(FLAT.grid())
    own = replace(
        job.films[0],
        bunching_limit_pct=0.1,
        stretch_limit_pct=0.2,
        warm_stretch_limit_pct=0.2,
    )
    _, shape = _one(replace(job, films=(own,)))
    assert shape.verdict is Verdict.UNSURE
    assert "tape errors alone look like" in shape.sentence


@pytest.mark.parametrize(
    ("surface", "words"),
    [
        (MeasuredSurface(length=(640.0,), width=(610.0,)), "only size the blank"),
        (girth_circle_cone(150.0), "was steered"),
        (ScannedSurface(file="gone.mesh"), "scan of this panel is not there"),
    ],
)
def test_what_cannot_be_judged_says_why(surface, words) -> None:
    if isinstance(surface, MeasuredSurface) and surface.stations:
        surface = misread(surface, np.random.default_rng(2), 1.0, repeats=2)
    report, shape = _one(_job(surface))
    assert shape.verdict is Verdict.UNSURE
    assert words in shape.sentence
    assert "L703" in [f.check for f in report.findings]


def test_a_missing_reading_is_asked_for() -> None:
    job = set_reading(_job(BALL.grid()), "p1", ReadingPlace(ReadingKind.LENGTH, 2, 1), ())
    _, shape = _one(job)
    assert "Measure along the left shoulder from station 3 to 4." in shape.sentence


def test_a_mark_that_jumps_is_asked_for_and_the_verdict_stands() -> None:
    shoulder = ReadingPlace(ReadingKind.OFFSET, 2, 1)
    report, shape = _one(set_reading(_job(BALL.grid()), "p1", shoulder, (175.0,)))
    assert shape.verdict is Verdict.FREE
    (finding,) = report.findings
    assert (finding.check, finding.severity) == ("L708", Severity.NOTE)
    assert "station 3, from the spine to the left shoulder" in finding.text


def test_three_lines_judge_the_whole_and_say_that_no_seams_are_proposed() -> None:
    report, shape = _one(_job(BALL.grid(lines=3)))
    assert shape.verdict is Verdict.FREE
    assert [f.check for f in report.findings] == ["L705"]


def test_a_panel_far_past_its_grid_is_told_of() -> None:
    job = _job(BALL.grid())
    wide = rect_panel("p1", 900, 600, surface=job.panel("p1").surface)
    report, _ = _one(replace(job, panels=(wide,)))
    (finding,) = [f for f in report.findings if f.check == "L704"]
    assert finding.text.startswith("33 % of Panel p1")


def test_left_and_right_change_over_on_the_mirrored_panel() -> None:
    one_sided = Part(lambda _s, t: 1.4e-5 * np.exp(-(((t - 190) / 70) ** 2)))
    job = _job(one_sided.grid(), FilmKind.MONOMERIC, is_pair=True)
    left, right = shape_report(plan_job(job)).pieces
    assert "left" in left.places[0][0]
    assert right.places[0][0] == swapped(left.places[0][0])
    (x, y), (mx, my) = left.places[0][1], right.places[0][1]
    assert (mx, my) == (-x, y)
    assert left.range_pct == right.range_pct


def test_flat_panels_are_not_in_the_report() -> None:
    report = shape_report(plan_job(job_with([rect_panel("p1", 300, 200)])))
    assert (report.pieces, report.findings) == ((), ())


class _Listener:
    def __init__(self, stop_after: int) -> None:
        self.steps: list[Step] = []
        self._stop_after = stop_after

    def tell(self, progress: object) -> None:
        assert isinstance(progress, Step)
        self.steps.append(progress)

    def is_cancelled(self) -> bool:
        return len(self.steps) >= self._stop_after


def test_it_tells_how_far_it_is_and_can_be_stopped() -> None:
    plan = plan_job(_job(SHOULDERS.grid(), FilmKind.CAST, seam("s1", [(0, 150), (600, 150)])))
    patient = _Listener(99)
    report = shape_report(plan, patient)
    assert [s.share for s in patient.steps] == [0.0, 0.5]
    assert report.of(plan.pieces[0].id) == report.pieces[0]
    with pytest.raises(Cancelled):
        shape_report(plan, _Listener(1))


def test_the_same_piece_is_judged_once() -> None:
    plan = plan_job(_job(BALL.grid(), count=3))
    shapes = [judge_piece(plan, panel, panel.pieces[0]) for panel in plan.panels]
    assert len({s.range_pct for s in shapes}) == 1

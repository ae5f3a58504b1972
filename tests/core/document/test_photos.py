import pytest
from msgspec.structs import replace

from core.document.edits.panels import delete_panels
from core.document.edits.photos import add_photo, delete_photos, photo_of, replace_photo
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.photo import Photo
from core.errors import Damaged, EditRefused
from helpers.jobs import job_with, rect_panel

EVEN = (0.5, 0.0, -60.0, 0.0, -0.5, 360.0, 0.0, 0.0, 1.0)


def _photo(**changes):
    fields = {
        "id": "g1",
        "file": "g1-p1.jpg",
        "width_px": 1400,
        "height_px": 840,
        "to_mm": EVEN,
        "error_mm": 0.3,
        "error_over_mm": 800.0,
        "panel": "p1",
    }
    return Photo(**(fields | changes))


@pytest.fixture
def job():
    return job_with([rect_panel("p1", 600, 300), rect_panel("p2", 200, 300)], [])


def test_a_photo_is_saved_with_its_job(job):
    held = JobFile(add_photo(job, _photo()), {"g1-p1.jpg": b"\xff\xd8pixels"})
    back = from_bytes(to_bytes(held), "x")
    assert back == held
    assert back.job.photo("g1").to_mm == EVEN


def test_a_job_without_the_photo_it_names_is_refused(job):
    with pytest.raises(Damaged, match=r"g1-p1.jpg is not in the file"):
        to_bytes(JobFile(add_photo(job, _photo())))


def test_a_photo_under_no_panel_is_refused(job):
    astray = replace(job, photos=(_photo(panel="p9"),))
    with pytest.raises(Damaged, match="no panel p9"):
        to_bytes(JobFile(astray, {"g1-p1.jpg": b"x"}))


def test_a_photo_without_size_is_refused(job):
    flat = replace(job, photos=(_photo(to_mm=(0.0,) * 9),))
    with pytest.raises(Damaged, match="no size"):
        to_bytes(JobFile(flat, {"g1-p1.jpg": b"x"}))


def test_two_photos_under_one_panel_are_refused(job):
    both = replace(job, photos=(_photo(), _photo(id="g2")))
    with pytest.raises(Damaged, match="Two photos"):
        to_bytes(JobFile(both, {"g1-p1.jpg": b"x"}))


def test_a_new_photo_takes_the_place_of_the_panels_old_one(job):
    twice = add_photo(add_photo(job, _photo()), _photo(id="g2", file="g2-p1.jpg"))
    assert [p.id for p in twice.photos] == ["g2"]


def test_a_photo_is_changed_and_taken_away(job):
    held = add_photo(job, _photo())
    hidden = replace_photo(held, replace(_photo(), is_shown=False))
    assert not photo_of(hidden, "p1").is_shown
    assert delete_photos(hidden, ["g1"]).photos == ()
    assert photo_of(job, "p1") is None


def test_a_panel_takes_its_photo_with_it(job):
    assert delete_panels(add_photo(job, _photo()), ["p1"]).photos == ()


def test_values_out_of_their_limits_are_refused(job):
    with pytest.raises(EditRefused):
        add_photo(job, _photo(opacity_pct=130.0))
    with pytest.raises(EditRefused, match="id p1"):
        add_photo(job, _photo(id="p1"))
    with pytest.raises(KeyError):
        add_photo(job, _photo(panel="p9"))

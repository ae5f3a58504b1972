import msgspec
import pytest

from core.document.edits.preparation import set_preparation
from core.document.file import JobFile, load_job, save_job
from core.document.panel import Panel
from core.errors import EditRefused
from helpers.plans import hand_job


def test_tasks_are_set_in_order_without_blank_lines_and_all_else_stays():
    job = hand_job()
    after = set_preparation(job, "p1", ["Wash", "", "  Fill   the dent "])
    assert after.panels[0].preparation == ("Wash", "Fill the dent")
    assert after.films is job.films
    assert msgspec.structs.replace(after.panels[0], preparation=None) == job.panels[0]


def test_none_takes_the_usual_tasks_and_an_empty_list_is_no_task():
    job = set_preparation(hand_job(), "p1", [])
    assert job.panels[0].preparation == ()
    assert set_preparation(job, "p1", None).panels[0].preparation is None


@pytest.mark.parametrize("tasks", [["x" * 201], ["wipe"] * 41])
def test_what_does_not_fit_a_sheet_is_refused(tasks):
    with pytest.raises(EditRefused):
        set_preparation(hand_job(), "p1", tasks)


def test_an_unknown_panel_is_a_key_error():
    with pytest.raises(KeyError):
        set_preparation(hand_job(), "p9", None)


def test_tasks_are_saved_with_the_job_and_older_panels_have_none(tmp_path):
    job = set_preparation(hand_job(), "p1", ["Waschen: Türgriff ab"])
    save_job(tmp_path / "a.lapline", JobFile(job))
    assert load_job(tmp_path / "a.lapline").job == job
    plain = msgspec.to_builtins(hand_job().panels[0])
    del plain["preparation"]
    assert msgspec.convert(plain, Panel).preparation is None

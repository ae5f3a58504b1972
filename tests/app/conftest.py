import gc
from collections.abc import Iterator

import pytest

from app.garbage import collect_in_gui_thread
from app.window import MainWindow
from core.document.edits.lines import set_rule
from core.document.file import JobFile, save_job
from core.document.job import Job
from core.document.lines import SeamCut, SeamRule
from helpers.gui import close_window, open_window
from helpers.jobs import job_with, rect_panel, scheme, seam, spot, stripe


@pytest.fixture(autouse=True, scope="module")
def collector(qapp) -> Iterator[None]:
    """Garbage is collected in this thread alone, as in the program.

    Tests without a window get Python's own collector back: without one the random plans that
    follow fill the memory.
    """
    collect_in_gui_thread(qapp)
    gc.disable()
    yield
    gc.collect()
    gc.enable()


@pytest.fixture
def small_job() -> Job:
    """Two panels, one with a seam, a stripe and a colour; the other is one of a pair."""
    drawn = scheme(
        "p1",
        seam("s1", [(200, 0), (200, 300)]),
        stripe("t1", [(0, 240), (600, 240)], 40),
        spot("c1", 400, 50, "f3"),
    )
    panels = [
        rect_panel("p1", 600, 300),
        rect_panel("p2", 200, 300, at=(700.0, 0.0), is_pair=True),
    ]
    return job_with(panels, [drawn])


@pytest.fixture
def job_path(tmp_path, small_job):
    path = tmp_path / "small.lapline"
    save_job(path, JobFile(small_job))
    return path


@pytest.fixture
def blank_window(qtbot, qapp, tmp_path) -> MainWindow:
    """A window with a new job."""
    window = open_window(qapp, tmp_path)
    qtbot.waitExposed(window)
    window.activateWindow()
    yield window
    close_window(window)


@pytest.fixture
def window(qtbot, blank_window, job_path) -> MainWindow:
    """A window with the small job, its rolls laid out."""
    with qtbot.waitSignal(blank_window.session.rolls_changed, check_params_cb=None):
        blank_window.session.open(job_path)
    qtbot.waitUntil(lambda: blank_window.session.are_rolls_current)
    return blank_window


@pytest.fixture
def butt_job(small_job) -> Job:
    """The small job with a seam that has a finding: it is butt."""
    return set_rule(small_job, "v1", "s1", SeamRule(cut=SeamCut.BUTT))

import threading

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QProgressDialog, QPushButton, QWidget
from shiboken6 import delete

from app.jobs import Work, patiently
from app.opening import Reading
from core.errors import Cancelled, InputError
from core.progress import Step, stop_if_cancelled


def test_work_answers_in_the_window_s_thread(qtbot, qapp):
    threads = []
    work = Work(lambda _: 42)
    work.done.connect(lambda _: threads.append(threading.current_thread()))
    with qtbot.waitSignal(work.done) as heard:
        work.start()
    assert heard.args == [42]
    assert threads == [threading.main_thread()]


def test_progress_comes_before_the_answer(qtbot, qapp):
    heard = []

    def task(control):
        control.tell("half")
        return "whole"

    work = Work(task)
    work.progressed.connect(heard.append)
    work.done.connect(heard.append)
    with qtbot.waitSignal(work.ended):
        work.start()
    assert heard == ["half", "whole"]


@pytest.mark.parametrize(("keeps_best", "expected"), [(False, []), (True, ["best"])])
def test_a_cancelled_search_hands_on_its_best_only_when_it_counts(
    qtbot, qapp, keeps_best, expected
):
    begun, stopped, heard = threading.Event(), threading.Event(), []

    def task(control):
        begun.set()
        assert stopped.wait(5)
        assert control.is_cancelled()
        return "best"

    work = Work(task, keeps_best=keeps_best)
    work.done.connect(heard.append)
    work.start()
    assert begun.wait(5)
    work.cancel()
    with qtbot.waitSignal(work.ended):
        stopped.set()
    assert heard == expected


def test_a_refusal_is_handed_on_and_a_cancel_is_not(qtbot, qapp):
    def refuse(_):
        raise InputError("no")

    def cancel(_):
        raise Cancelled("stopped")

    work = Work(refuse)
    with qtbot.waitSignal(work.failed) as heard:
        work.start()
    assert isinstance(heard.args[0], InputError)
    work = Work(cancel)
    with qtbot.assertNotEmitted(work.failed), qtbot.waitSignal(work.ended):
        work.start()


@pytest.mark.parametrize("ending", [None, InputError("no"), Cancelled("stopped")])
def test_work_that_outlives_the_window_ends_in_silence(qapp, ending):
    def task(control):
        delete(work)  # as the end of the program does
        control.tell("half")
        if ending is not None:
            raise ending

    work = Work(task)
    work.run()


def test_to_wait_patiently_lets_the_window_live_and_hands_on_answer_or_error(qapp):
    lived = threading.Event()
    QTimer.singleShot(0, lived.set)

    def task() -> str:
        assert lived.wait(5)  # set by the window's thread while it waits
        return "read"

    assert patiently(task) == "read"

    def refuse():
        raise InputError("no")

    with pytest.raises(InputError):
        patiently(refuse)


def test_long_reading_shows_how_far_it_is_and_can_be_stopped(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    reading, may_end = Reading(window), threading.Event()

    def task(control):
        control.tell(Step("Drawing openings", 0.25))
        while not may_end.wait(0.01):
            stop_if_cancelled(control)

    reading.start(Work(task), "Laying the part flat…")
    box = window.findChild(QProgressDialog)
    qtbot.waitUntil(box.isVisible, timeout=3000)
    assert box.labelText() == "Drawing openings…"
    assert box.value() == 25
    box.findChild(QPushButton).click()
    qtbot.waitUntil(lambda: not reading.is_busy)
    may_end.set()

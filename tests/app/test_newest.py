"""The newest question is answered, the others are not."""

import threading

import pytest

from app.newest import Newest
from core.errors import GeometryError
from core.progress import stop_if_cancelled


class Slow:
    """Answers when it is let go, and stops when it is cancelled."""

    def __init__(self):
        self.gate, self.begun, self.seen = threading.Event(), threading.Event(), []

    def __call__(self, question, control):
        self.seen.append(question)
        self.begun.set()
        while not self.gate.wait(0.005):
            stop_if_cancelled(control)
        control.tell("nearly")
        if question == "wrong":
            raise GeometryError("It cannot be.")
        return question.upper()


@pytest.fixture
def slow():
    return Slow()


@pytest.fixture
def newest(qtbot, slow):
    yield Newest(slow, 1)
    slow.gate.set()


def test_an_answer_comes_with_its_progress(qtbot, newest, slow):
    slow.gate.set()
    with qtbot.waitSignals([newest.told, newest.found]):
        newest.want("a")
    qtbot.waitUntil(lambda: not newest.is_busy)


def test_a_newer_question_cancels_the_older(qtbot, newest, slow):
    newest.want("old")
    qtbot.waitUntil(slow.begun.is_set)
    answers = []
    newest.found.connect(answers.append)
    newest.want("new")
    qtbot.waitUntil(lambda: slow.seen == ["old", "new"])
    slow.gate.set()
    qtbot.waitUntil(lambda: answers == ["NEW"])
    qtbot.waitUntil(lambda: not newest.is_busy)
    assert answers == ["NEW"]


def test_what_is_dropped_is_not_answered(qtbot, newest, slow):
    newest.want("a")
    qtbot.waitUntil(slow.begun.is_set)
    with qtbot.assertNotEmitted(newest.found):
        newest.drop()
        qtbot.waitUntil(lambda: not newest.is_busy)


def test_a_refusal_is_told(qtbot, newest, slow):
    slow.gate.set()
    with qtbot.waitSignal(newest.refused) as told:
        newest.want("wrong")
    assert told.args == ["It cannot be."]

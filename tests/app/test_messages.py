import logging
import sys

import pytest
from PySide6.QtCore import qInstallMessageHandler, qWarning
from PySide6.QtWidgets import QMessageBox

from app import messages
from core.errors import Cancelled, InputError


@pytest.fixture
def shown(qapp, monkeypatch):
    """What the installed hook shows: (text, details) of each box."""
    boxes = []
    monkeypatch.setattr(
        QMessageBox,
        "exec",
        lambda box: boxes.append((box.text(), box.informativeText(), box.detailedText())),
    )
    before = sys.excepthook
    saved = []
    messages.install_hook(lambda: not saved.append(1))
    yield boxes, saved
    sys.excepthook = before
    qInstallMessageHandler(None)


def fail(error: BaseException) -> None:
    """Do what Python does with an error that nothing caught."""
    sys.excepthook(type(error), error, error.__traceback__)


def test_a_refusal_says_what_where_and_what_mends_it(shown):
    boxes, saved = shown
    fail(InputError("The lap is wider than the panel.", where="Lid", mend="Make it narrower."))
    assert boxes == [("The lap is wider than the panel.", "Lid\nMake it narrower.", "")]
    assert not saved


def test_a_fault_of_the_program_saves_a_copy_and_shows_the_trace(shown, caplog):
    boxes, saved = shown
    fail(ZeroDivisionError("boom"))
    assert saved
    title, text, details = boxes[0]
    assert "mistake" in title
    assert "offered at the next start" in text
    assert "ZeroDivisionError: boom" in details
    assert "boom" in caplog.text


def test_a_cancel_shows_nothing(shown):
    boxes, _ = shown
    fail(Cancelled("stopped"))
    assert boxes == []


def test_qt_s_warnings_are_logged(shown, caplog):
    with caplog.at_level(logging.WARNING, "lapline"):
        qWarning("from Qt")
    assert "from Qt" in caplog.text

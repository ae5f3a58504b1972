import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox

from app import start
from app.dialogs.recovered import Answer, ask_recover
from app.recovery import Recovery, find_leftovers
from app.session import Session
from core.document.edits.settings import rename_job
from core.errors import FileError
from helpers.gui import close_window, forget_changes, open_window

CRASH = """
import os, sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.recovery import Recovery
from app.session import Session
from core.document.edits.settings import rename_job
session = Session()
recovery = Recovery(session, Path(sys.argv[1]))
session.do("Rename", rename_job(session.job, "Survivor"))
recovery.write_now()
os._exit(1)
"""


@pytest.fixture
def crashed(tmp_path, qapp) -> Path:
    """The recovery folder after a process died with unsaved work."""
    folder = tmp_path / "recovery"
    folder.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", CRASH, str(folder)], timeout=60, check=False, capture_output=True
    )
    assert done.returncode == 1, done.stderr
    return folder


def test_work_of_a_crashed_run_is_found_once(crashed):
    found = find_leftovers(crashed)
    assert [leftover.name for leftover in found] == ["Survivor"]
    assert found[0].load().job.name == "Survivor"
    assert find_leftovers(crashed) == []  # held by the one who found it first
    found[0].discard()
    assert list(crashed.glob("*.lapline")) == []


def test_the_next_window_offers_it_and_opens_it_as_not_saved(
    qapp, tmp_path, crashed, monkeypatch
):
    asked = []
    monkeypatch.setattr(
        start, "ask_recover", lambda _w, left: asked.append(left.name) or Answer.OPEN
    )
    window = open_window(qapp, tmp_path)
    assert start.offer_recovery(window, find_leftovers(crashed))
    assert asked == ["Survivor"]
    assert window.session.job.name == "Survivor"
    assert window.session.is_dirty
    assert list(crashed.glob("*.lapline")) == [window.recovery.copy]
    close_window(window)
    assert list(crashed.glob("*.lapline")) == []


def test_what_is_thrown_away_is_gone(qapp, tmp_path, crashed, monkeypatch):
    monkeypatch.setattr(start, "ask_recover", lambda _w, _left: Answer.DISCARD)
    window = open_window(qapp, tmp_path)
    assert not start.offer_recovery(window, find_leftovers(crashed))
    assert window.session.job.name == "New job"
    assert list(crashed.glob("*.lapline")) == []
    close_window(window)


def test_what_is_left_for_later_is_offered_again(qapp, tmp_path, crashed, monkeypatch):
    monkeypatch.setattr(start, "ask_recover", lambda _w, _left: Answer.LATER)
    window = open_window(qapp, tmp_path)
    held = find_leftovers(crashed)
    assert not start.offer_recovery(window, held)
    close_window(window)
    held[0].lock.unlock()  # as the end of the program does
    assert [left.name for left in find_leftovers(crashed)] == ["Survivor"]


def test_to_close_the_question_leaves_it_for_later(qapp, tmp_path, crashed, monkeypatch):
    window = open_window(qapp, tmp_path)
    monkeypatch.setattr(QMessageBox, "exec", lambda box: box.escapeButton().click())
    assert ask_recover(window, find_leftovers(crashed)[0]) is Answer.LATER
    close_window(window)


def test_a_running_window_s_copy_is_not_offered_and_a_clean_exit_removes_it(
    qtbot, qapp, tmp_path
):
    session = Session()
    recovery = Recovery(session, tmp_path)
    session.do("Rename", rename_job(session.job, "Mine"))
    qtbot.waitUntil(recovery.copy.exists)
    assert find_leftovers(tmp_path) == []
    qtbot.waitUntil(lambda: not recovery.is_writing)
    recovery.finish()
    assert list(tmp_path.iterdir()) == []


def test_undoing_back_to_what_is_saved_removes_the_copy(qapp, tmp_path):
    session = Session()
    recovery = Recovery(session, tmp_path)
    session.do("Rename", rename_job(session.job, "Mine"))
    recovery.write_now()
    assert recovery.copy.exists()
    session.undo()
    assert not recovery.copy.exists()
    recovery.finish()


def test_two_windows_do_not_clash(qapp, tmp_path):
    first, second = Session(), Session()
    one, two = Recovery(first, tmp_path), Recovery(second, tmp_path)
    for session, recovery in ((first, one), (second, two)):
        session.do("Rename", rename_job(session.job, "Mine"))
        recovery.write_now()
    one.finish()
    assert two.copy.exists()
    assert find_leftovers(tmp_path) == []
    two.finish()


def test_a_damaged_copy_is_told_of_and_kept(qapp, tmp_path, crashed, monkeypatch):
    copy = next(crashed.glob("*.lapline"))
    copy.write_bytes(b"broken")
    monkeypatch.setattr(start, "ask_recover", lambda _w, _left: Answer.OPEN)
    window = open_window(qapp, tmp_path)
    leftovers = find_leftovers(crashed)
    with pytest.raises(FileError):
        leftovers[0].load()
    assert not start.offer_recovery(window, leftovers)
    assert "cannot be read" in window.status.text
    assert copy.exists()
    forget_changes(window.session)
    close_window(window)

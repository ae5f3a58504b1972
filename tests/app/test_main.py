import os
import subprocess
import sys

import pytest

from app.main import has_screen, main

BARE = {k: v for k, v in os.environ.items() if not k.startswith(("QT_", "DISPLAY", "WAYLAND"))}


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="others always have a screen")
@pytest.mark.parametrize("words", [[], ["window"], ["job.lapline"]])
def test_without_a_screen_it_says_so_in_one_line_and_exits_with_2(words):
    done = subprocess.run(
        [sys.executable, "-m", "app.main", *words],
        env=BARE,
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "no screen" in done.stderr


def test_verbs_do_not_load_qt():
    code = (
        "import sys; from app.main import main; main(['--help']); "
        "sys.exit(any(name.startswith('PySide6') for name in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=30, check=False
    )
    assert done.returncode == 0, done.stderr


def test_a_wayland_or_chosen_platform_is_a_screen_too():
    assert has_screen({"WAYLAND_DISPLAY": "wayland-0"}, "linux")
    assert has_screen({"QT_QPA_PLATFORM": "offscreen"}, "linux")
    assert has_screen({}, "win32")
    assert not has_screen({"DISPLAY": ""}, "linux")


@pytest.mark.parametrize("words", [["window", "a", "b"], ["window", "--wrong"]])
def test_words_that_the_window_does_not_know_are_refused(words, capsys):
    assert main(words) == 2
    assert capsys.readouterr().err.startswith("usage:")

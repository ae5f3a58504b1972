"""The real window on a real (if virtual) screen, driven as a person would.

Usage: ``python .ci/window_run.py path/to/lapline``.

Starts Xvfb and the installed ``lapline`` on a copy of a sample, draws a seam with the mouse,
saves and hands out by keys, quits, and checks the files that were written. Ends with 0 when all
holds. A twin of the window, without a screen, tells where a place of the panel is on screen.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import shapely
from pyogrio.raw import read
from shapely.ops import substring

from core.document.file import load_job
from core.document.job import Job
from core.plan.plan import plan_job
from core.write.plotter import Plotter

TOP = Path(__file__).resolve().parents[1]
SAMPLE = TOP / "sample_projects" / "first_steps.lapline"
SIZE = "1440", "900"
SCREEN = "1440x900x24"
RIM_TO_RIM = ((-6.0, 330.0), (300.0, 378.0), (566.0, 330.0))
"""Where the seam goes, in mm in the lid's frame: start and end are caught by the rim."""
CUT_LAYER = "CUT-LINES"
OVERCUT_MM = Plotter().overcut_mm
PATIENCE_S = 60.0

TWIN = """
import json, sys, tempfile
from pathlib import Path
from PySide6.QtCore import QPoint, QSettings
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.settings import AppSettings
from app.start import make_window, set_up
app = QApplication(sys.argv[:1])
set_up(app)
with tempfile.TemporaryDirectory() as scratch:
    store = QSettings(scratch + "/settings.ini", QSettings.Format.IniFormat)
    window = make_window(AppSettings(store), Path(scratch))
    window.resize(*map(int, json.loads(sys.argv[2])))
    window.show()
    window.session.open(Path(sys.argv[1]))
    QTest.qWait(500)
    canvas = window.canvas
    canvas.zoom_to_fit()
    x, y = window.session.job.panels[0].at
    places = []
    for px, py in json.loads(sys.argv[3]):
        at = canvas.viewport().mapTo(window, canvas.px_of((x + px, y + py)))
        places.append([at.x(), at.y()])
    print(json.dumps(places))
    window.close()
"""

GRAB = """
import sys
from PySide6.QtGui import QGuiApplication
app = QGuiApplication(sys.argv[:1])
app.primaryScreen().grabWindow(0).save(sys.argv[1])
"""


def main(lapline: str) -> int:
    """Run it all; return 0 when everything holds."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        job_file = folder / "lid.lapline"
        shutil.copy(SAMPLE, job_file)
        before = load_job(job_file).job
        places = places_on_screen(job_file)
        log = folder / "lapline.log"
        with (
            screen(folder) as environment,
            window(lapline, job_file, environment, log) as program,
        ):
            hand = Hand(environment, program)
            try:
                draw_save_hand_out(hand, places, job_file, folder / "out")
            except BaseException:
                picture = TOP / "out" / "window_run.png"
                picture.parent.mkdir(exist_ok=True)
                grab = [sys.executable, "-c", GRAB, str(picture)]
                subprocess.run(grab, env=environment, check=False, timeout=60)
                say(f"what the screen showed: {picture}")
                say(log.read_text(errors="replace"))
                raise
        ensure(log.read_text() == "", f"the program complained:\n{log.read_text()}")
        check_job(before, load_job(job_file).job)
        check_drawings(load_job(job_file).job, folder / "out")
    say("window run: all holds")
    return 0


def draw_save_hand_out(
    hand: "Hand", places: list[tuple[int, int]], job_file: Path, out: Path
) -> None:
    """Draw a seam from rim to rim, save, hand out, quit: by mouse and keys alone."""
    hand.take_window("First steps")
    hand.click(places[1])  # the canvas takes the keys
    hand.keys("Escape", "f", "s")
    for place in places:
        hand.click(place)
    old = job_file.read_bytes()
    hand.keys("ctrl+s")
    wait_for(lambda: job_file.read_bytes() != old, "the job was not saved")
    hand.keys("ctrl+e")
    hand.take_window("Hand out: First steps")
    hand.keys("alt+f", "ctrl+a")
    hand.type(str(out))
    hand.keys("ctrl+Return")
    wait_for(lambda: any(out.glob("panels/*.png")), "nothing was written")
    hand.keys("Escape")
    hand.take_window("First steps")
    hand.keys("ctrl+q")
    wait_for(lambda: hand.program.poll() is not None, "the window did not close")
    ensure(hand.program.returncode == 0, f"lapline ended with {hand.program.returncode}")


def check_job(before: Job, after: Job) -> None:
    """The saved job has one more seam, rim to rim, and another region."""
    old, new = (job.scheme("v1", "p1").seams for job in (before, after))
    ensure(len(new) == len(old) + 1, f"{len(new)} seams were saved, not {len(old) + 1}")
    added = [seam for seam in new if seam.id not in {s.id for s in old}]
    ensure(len(added) == 1 and len(added[0].nodes) == len(RIM_TO_RIM), "not the seam drawn")
    for node, (x, y) in zip(added[0].nodes, RIM_TO_RIM, strict=True):
        off = max(abs(node.at[0] - x), abs(node.at[1] - y))
        ensure(off < 12, f"a node lies {off:.1f} mm from where the mouse was")
    pieces = [len(plan_job(job).pieces) for job in (before, after)]
    ensure(pieces[1] == pieces[0] + 1, f"pieces: {pieces[0]} before, {pieces[1]} after")
    ensure(not plan_job(after).is_stopped, "the new seam stops the job")
    say(f"job: {len(new)} seams, {pieces[1]} pieces")


def check_drawings(job: Job, out: Path) -> None:
    """GDAL finds every piece of the plan in the plotter files: closed and of its area."""
    wanted = sorted(p.cut.exterior.length for p in plan_job(job).pieces)
    found: list[float] = []
    for drawing in sorted(out.glob("*.dxf")):
        found += cut_lengths(drawing)
    say(f"plotter files: {len(found)} closed cut lines")
    # Openings are cut lines, too: every piece's outer line must be among them.
    for length in wanted:
        best = min(found, key=lambda value: abs(value - length), default=0.0)
        ensure(abs(best - length) < 0.05, f"no cut line is {length:.2f} mm long")
        found.remove(best)
    names = {path.suffix for path in out.rglob("*") if path.is_file()}
    ensure({".dxf", ".svg", ".png", ".csv", ".pdf"} <= names, f"only {names} were written")


def cut_lengths(drawing: Path) -> list[float]:
    """Return the lengths of the closed lines on a drawing's cut layer, as GDAL reads them.

    A knife that runs on where it closes passes its start again, just before its end.
    """
    meta, _, shapes, fields = read(drawing)
    layers = fields[list(meta["fields"]).index("Layer")]
    lines = shapely.from_wkb(shapes)
    cut = [line for line, layer in zip(lines, layers, strict=True) if layer == CUT_LAYER]
    ensure(bool(cut), f"{drawing.name} has nothing on its cut layer")
    tails = [substring(line, line.length - OVERCUT_MM - 0.01, line.length) for line in cut]
    for line, tail in zip(cut, tails, strict=True):
        start = shapely.Point(line.coords[0])
        ensure(tail.distance(start) < 0.01, f"{drawing.name}: a cut line is open")
    return [float(line.length) - OVERCUT_MM for line in cut]


class Hand:
    """Mouse and keyboard of the virtual screen."""

    def __init__(self, environment: dict[str, str], program: subprocess.Popen[bytes]) -> None:
        self.environment = environment
        self.program = program

    def take_window(self, title: str) -> None:
        """Wait for a window of that title and give it the keyboard."""
        wait_for(lambda: self._find(title) != "", f"no window named {title}", self.program)
        self._do("windowfocus", "--sync", self._find(title))
        time.sleep(0.5)

    def click(self, place: tuple[int, int]) -> None:
        """Move there, press and release."""
        self._do("mousemove", "--sync", str(place[0]), str(place[1]))
        time.sleep(0.3)
        self._do("click", "1")
        time.sleep(0.6)  # two clicks this far apart are no double click

    def keys(self, *names: str) -> None:
        """Press keys one after the other."""
        for name in names:
            self._do("key", "--clearmodifiers", name)
            time.sleep(0.4)

    def type(self, text: str) -> None:
        """Type a text."""
        self._do("type", "--delay", "20", text)
        time.sleep(0.3)

    def _find(self, title: str) -> str:
        found = self._do("search", "--onlyvisible", "--name", title, is_checked=False)
        return found.split("\n")[0].strip()

    def _do(self, *words: str, is_checked: bool = True) -> str:
        done = subprocess.run(
            ["xdotool", *words],
            env=self.environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=is_checked,
        )
        return done.stdout


def places_on_screen(job_file: Path) -> list[tuple[int, int]]:
    """Return where the seam's nodes are in a window of our size, by a twin without a screen."""
    words = [str(job_file), json.dumps(SIZE), json.dumps(RIM_TO_RIM)]
    done = subprocess.run(
        [sys.executable, "-c", TWIN, *words],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        text=True,
        timeout=120,
        check=True,
    )
    return [(x, y) for x, y in json.loads(done.stdout)]


@contextmanager
def screen(folder: Path) -> Iterator[dict[str, str]]:
    """Run Xvfb on a free display; yield the environment for programs on it."""
    reader, writer = os.pipe()
    command = ["Xvfb", "-displayfd", str(writer), "-screen", "0", SCREEN, "-nolisten", "tcp"]
    server = subprocess.Popen(
        command, pass_fds=(writer,), stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    os.close(writer)
    try:
        with os.fdopen(reader) as answer:
            number = answer.readline().strip()
        ensure(number.isdigit(), "Xvfb did not start")
        homes = ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR")
        environment = {k: v for k, v in os.environ.items() if k != "WAYLAND_DISPLAY"}
        for name in homes:
            (folder / name).mkdir(mode=0o700)
            environment[name] = str(folder / name)
        yield {**environment, "DISPLAY": f":{number}", "QT_QPA_PLATFORM": "xcb"}
    finally:
        end(server)


@contextmanager
def window(
    lapline: str, job_file: Path, environment: dict[str, str], log: Path
) -> Iterator[subprocess.Popen[bytes]]:
    """Run the program on a job, what it says going to a log; it is ended whatever happens."""
    with log.open("wb") as stream:
        program = subprocess.Popen(
            [lapline, "window", str(job_file)],
            cwd=job_file.parent,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=stream,
            stderr=stream,
        )
    try:
        yield program
    finally:
        end(program)


def end(process: subprocess.Popen[bytes]) -> None:
    """End a process that we started, if it has not ended by itself."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def wait_for(
    is_so: Callable[[], bool], otherwise: str, program: subprocess.Popen[bytes] | None = None
) -> None:
    """Ask until it is so; fail with a sentence when it takes too long or the program dies."""
    deadline = time.monotonic() + PATIENCE_S
    while not is_so():
        if program is not None and program.poll() is not None:
            raise AssertionError(f"lapline ended with {program.returncode}: {otherwise}")
        ensure(time.monotonic() < deadline, otherwise)
        time.sleep(0.2)


def ensure(is_so: bool, otherwise: str) -> None:  # noqa: FBT001 - reads as a sentence
    """Fail with a sentence; unlike assert it is never switched off."""
    if not is_so:
        raise AssertionError(otherwise)


def say(text: str) -> None:
    """Tell the log."""
    print(text, flush=True)  # noqa: T201 - this is a script for a log


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))

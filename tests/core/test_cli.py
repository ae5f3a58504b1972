import json
import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pypdf
import pytest
from msgspec.structs import replace
from shapely import Polygon

from core.cli import run
from core.cli_write_options import PaperChoice
from core.document.file import JobFile, save_job
from core.document.job import Job
from core.document.lines import PaintSpot, Seam
from core.document.path import straight_path
from core.document.variant import Scheme, Variant
from core.errors import GeometryError
from core.roll import sheets
from core.write.papers import Paper
from helpers.jobs import rect_panel
from helpers.plans import GREEN, WHITE

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_projects"
FIRST = str(SAMPLES / "first_steps.lapline")


def scheme(*points):
    return Scheme(
        panel="p1",
        seams=(Seam(id="s1", nodes=straight_path(list(points))),),
        spots=(PaintSpot(id="c1", at=(350.0, 100.0), film="f2"),),
    )


@pytest.fixture
def job(tmp_path):
    """A file with a fine variant and one whose outline is stopped by nothing but its seam."""
    made = Job(
        name="Board",
        films=(WHITE, GREEN),
        panels=(rect_panel("p1", 400, 200, name="Tail board", edge_turn_mm=10.0),),
        variants=(
            Variant(id="v1", name="Two-tone", schemes=(scheme((250, 0), (250, 200)),)),
            Variant(id="v2", name="Plain"),
        ),
    )
    save_job(tmp_path / "board.lapline", JobFile(made))
    return tmp_path / "board.lapline"


@pytest.fixture
def stopped(tmp_path):
    """A file with a panel whose outline crosses itself."""
    bow = straight_path([(0, 0), (400, 300), (400, 0), (0, 300)])
    panel = rect_panel("p1", 400, 300)
    made = Job(
        name="Bow",
        films=(WHITE,),
        panels=(replace(panel, outline=bow),),
        variants=(Variant(id="v1", name="One"),),
    )
    save_job(tmp_path / "bow.lapline", JobFile(made))
    return tmp_path / "bow.lapline"


def test_plan_shows_the_job(job, capsys):
    assert run(["plan", str(job)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Board · Two-tone\n1 panel, 2 pieces\n")
    assert "Tail board (p1)" in out
    assert "Seam 1: 2 over 1 (higher rank), laps 8 mm, 220 mm long" in out
    assert err == ""


def test_plan_as_json_adds_up(job, capsys):
    assert run(["plan", str(job), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    (panel,) = values["panels"]
    regions = [Polygon(r["rings"][0], r["rings"][1:]).area for r in panel["regions"]]
    extended = Polygon(panel["extended"][0], panel["extended"][1:]).area
    # Law 1, to the relative tolerance that it names: 420 x 220 by hand.
    assert sum(regions) == pytest.approx(extended, rel=1e-9)
    assert extended == pytest.approx(420 * 220, rel=1e-9)
    assert [p["order"] for p in panel["pieces"]] == [1, 2]
    assert {f["id"] for f in values["films"]} == {"f1", "f2"}


@pytest.mark.parametrize("name", ["Plain", "v2"])
def test_a_variant_goes_by_name_or_id(job, capsys, name):
    assert run(["plan", str(job), "--variant", name]) == 0
    assert capsys.readouterr().out.startswith("Board · Plain\n1 panel, 1 piece\n")


def test_roll_shows_lengths_and_as_json_placements(job, capsys):
    assert run(["roll", str(job)]) == 0
    out = capsys.readouterr().out
    assert "Chalk white" in out
    assert "1 piece" in out
    assert run(["roll", str(job), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    placed = [p for f in values["films"] for s in f["sheets"] for p in s["placements"]]
    assert sorted(p["panel"] for p in placed) == ["p1", "p1"]
    assert {p["try"] for p in placed} == {1}


def test_roll_takes_a_time(job, capsys):
    assert run(["roll", str(job), "--seconds", "0.5"]) == 0
    assert "Chalk white" in capsys.readouterr().out


def test_write_writes_all_outputs(job, tmp_path, capsys):
    assert run(["write", str(job), "--to", str(tmp_path / "out"), "--seconds", "0"]) == 0
    out, err = capsys.readouterr()
    assert f"files written to {tmp_path / 'out'}" in out
    assert err == ""
    names = {p.name for p in (tmp_path / "out").iterdir()}
    day = datetime.now().astimezone().date().isoformat()
    for what in ("bench-sheet", "pieces", "scheme"):
        assert [n for n in names if f"-{what}-{day}." in n], what
    assert "panels" in names
    assert len([n for n in names if n.endswith(".dxf")]) == 2


def test_write_r12_and_piece_by_piece(job, tmp_path):
    to = tmp_path / "out"
    quick = ["write", str(job), "--to", str(to), "--seconds", "0"]
    assert run([*quick, "--format", "R12", "--pieces"]) == 0
    assert len(list((to / "pieces").iterdir())) == 2
    assert all(b"AC1009" in p.read_bytes() for p in to.rglob("*.dxf"))


def test_write_prints_on_paper_when_told_so(job, tmp_path):
    to = tmp_path / "out"
    quick = ["write", str(job), "--to", str(to), "--seconds", "0"]
    wide = ["--overlap", "20", "--whole-panels"]
    assert run([*quick, "--templates", "--hand-cut", "--paper", "Letter", *wide]) == 0
    (template,) = (to / "templates").iterdir()
    (cutting,) = to.glob("*hand-cutting*.pdf")
    for path, size in ((template, (612, 792)), (cutting, (792, 612))):
        box = pypdf.PdfReader(path).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size)


def test_an_overlap_too_narrow_for_the_crosses_is_bad_input(job, tmp_path, capsys):
    assert run(["write", str(job), "--to", str(tmp_path), "--templates", "--overlap", "2"]) == 2
    assert "Pages cannot share 2 mm." in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["board.lapline"]


def test_the_papers_on_offer_are_those_that_can_be_printed():
    assert [p.value for p in PaperChoice] == [p.value for p in Paper]


def test_write_gives_the_plotter_what_it_wants(job, tmp_path, capsys):
    quick = ["write", str(job), "--to", str(tmp_path), "--seconds", "0"]
    wish = ["--format", "hpgl", "--feed", "150", "--split", "--mirror", "--weed-box"]
    assert run([*quick, *wish, "--cut-pen", "3", "--draw-pen", "4"]) == 0
    files = sorted(tmp_path.glob("*.plt"))
    assert any("-section-1-of-" in p.name for p in files)
    assert all(p.read_bytes().startswith(b"IN;DF;PA;\nSP4;") for p in files)
    assert run([*quick, "--per", "piece", "--arcs", "--overcut", "0", "--least", "30"]) == 0
    assert len(list((tmp_path / "pieces").glob("*.dxf"))) == 2
    capsys.readouterr()


def test_write_keeps_what_is_there_unless_told_otherwise(job, tmp_path, capsys):
    to = tmp_path / "out"
    quick = ["write", str(job), "--to", str(to), "--seconds", "0"]
    assert run(quick) == 0
    before = {p: p.stat().st_mtime_ns for p in to.rglob("*.*")}
    assert run(quick) == 0
    assert len(list(to.rglob("*.*"))) == 2 * len(before)
    assert run([*quick, "--existing", "refuse"]) == 2
    assert {p: p.stat().st_mtime_ns for p in before} == before
    capsys.readouterr()


def test_write_warns_of_older_plotter_files(job, tmp_path, capsys):
    (tmp_path / "old.dxf").write_text("last week")
    assert run(["write", str(job), "--to", str(tmp_path), "--seconds", "0"]) == 0
    assert "old.dxf" in capsys.readouterr().err
    assert (tmp_path / "old.dxf").exists()


@pytest.mark.parametrize(
    ("name", "start"), [("a.png", b"\x89PNG"), ("a.SVG", b"<?xml"), ("new/a.svg", b"<?xml")]
)
def test_picture_writes_what_the_name_says(job, tmp_path, name, start):
    assert run(["picture", str(job), "--to", str(tmp_path / name), "--panel", "p1"]) == 0
    assert (tmp_path / name).read_bytes().startswith(start)


def test_findings_that_stop_the_job_give_1(stopped, tmp_path, capsys):
    assert run(["plan", str(stopped)]) == 1
    assert "stop " in capsys.readouterr().out
    assert run(["roll", str(stopped), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["findings"]
    assert run(["write", str(stopped), "--to", str(tmp_path / "out")]) == 1
    assert "Nothing is written" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
    assert run(["picture", str(stopped), "--to", str(tmp_path / "a.svg")]) == 1
    assert (tmp_path / "a.svg").exists()


def bad_calls(tmp_path):
    (tmp_path / "text.lapline").write_text("no job")
    (tmp_path / "taken").write_text("a file")
    yield ["plan"]
    yield ["plan", str(tmp_path / "missing.lapline")]
    yield ["plan", str(tmp_path / "text.lapline")]
    yield ["plan", str(tmp_path)]
    yield ["plan", FIRST, "--variant", "Nope"]
    yield ["plan", FIRST, "--nope"]
    yield ["plan", FIRST, "extra"]
    yield ["cover", FIRST]
    yield ["roll", FIRST, "--seconds", "soon"]
    yield ["roll", FIRST, "--seconds", "-1"]
    yield ["roll", FIRST, "--seconds", "nan"]
    yield ["write", FIRST]
    yield ["write", FIRST, "--to", str(tmp_path / "taken"), "--seconds", "0"]
    yield ["write", FIRST, "--to", str(tmp_path / "out"), "--format", "R13"]
    yield ["write", FIRST, "--to", str(tmp_path / "out"), "--feed", "5"]
    yield ["write", FIRST, "--to", str(tmp_path / "out"), "--overcut", "-1"]
    yield ["write", FIRST, "--to", str(tmp_path / "out"), "--draw-pen", "1"]
    yield ["picture", FIRST]
    yield ["picture", FIRST, "--to", str(tmp_path / "a.jpg")]
    yield ["picture", FIRST, "--to", str(tmp_path / "a.png"), "--panel", "p99"]
    yield ["picture", FIRST, "--to", str(tmp_path / "taken" / "a.png")]


def test_bad_input_gives_2_and_one_line_on_stderr(tmp_path, capsys):
    for call in bad_calls(tmp_path):
        assert run(call) == 2, call
        out, err = capsys.readouterr()
        assert out == "", call
        assert err.count("\n") == 1, call
        assert err.startswith("lapline: "), call
        assert "Traceback" not in err
        assert not set(err) & set("╭╮│╰╯─"), call
    assert sorted(p.name for p in tmp_path.iterdir()) == ["taken", "text.lapline"]


@pytest.mark.parametrize("call", [[], ["--help"], ["-h"], ["plan", "--help"]])
def test_help_is_plain_and_fine(call, capsys):
    assert run(call) == 0
    out = capsys.readouterr().out
    assert out.startswith("Usage: lapline")
    assert not set(out) & set("╭╮│╰╯")


def test_a_stop_by_the_user_is_no_traceback(job, capsys, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("core.document.file.load_job", interrupted)
    assert run(["plan", str(job)]) == 130
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("name", ["first_steps.lapline", "library_trike.lapline"])
def test_the_samples_plan_and_roll_without_findings_that_stop(name, capsys):
    assert run(["plan", str(SAMPLES / name)]) == 0
    assert run(["roll", str(SAMPLES / name)]) == 0
    capsys.readouterr()


def command(*arguments, **options):
    code = "import sys; from core.cli import run; sys.exit(run(sys.argv[1:]))"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *arguments],
        cwd=ROOT,
        check=False,
        capture_output=True,
        **options,
    )


def test_as_a_process_it_gives_code_and_one_line():
    done = command("plan", "missing.lapline")
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.count(b"\n") == 1


def test_a_narrow_encoding_is_no_reason_to_fail():
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = command("plan", FIRST, env=environment)
    assert done.returncode == 0
    assert done.stdout.startswith(b"First steps ? Two tones\n")


def test_a_reader_that_stops_reading_is_no_reason_to_fail():
    code = "import sys; from core.cli import run; sys.exit(run(sys.argv[1:]))"
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-c", code, "plan", FIRST, "--json"],
        cwd=ROOT,
        check=False,
        stdout=write,
        stderr=subprocess.PIPE,
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_help_loads_nothing_heavy():
    code = (
        "import sys; from core.cli import run; run(['--help']);"
        "sys.stderr.write(' '.join(m for m in ('numpy', 'shapely', 'ezdxf', 'msgspec', 'rich')"
        " if m in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True
    )
    assert done.stderr == b""


class TestRollsThatStop:
    """A film that is too narrow for its pieces stops the job as a finding of the plan does."""

    @pytest.fixture
    def narrow(self, tmp_path):
        films = (replace(WHITE, roll_width_mm=60.0, stock=()), GREEN)
        panel = rect_panel("p1", 400, 200, name="Tail board", edge_turn_mm=10.0)
        schemes = (scheme((250, 0), (250, 200)),)
        variants = (Variant(id="v1", name="Two-tone", schemes=schemes),)
        made = Job(name="Board", films=films, panels=(panel,), variants=variants)
        save_job(tmp_path / "narrow.lapline", JobFile(made))
        return str(tmp_path / "narrow.lapline")

    def test_nothing_is_written_and_the_other_films_are_told(self, narrow, tmp_path, capsys):
        assert run(["write", narrow, "--to", str(tmp_path / "out")]) == 1
        assert not (tmp_path / "out").exists()
        out, err = capsys.readouterr()
        assert GREEN.name in out
        assert f"stop N503: Tail board 1 fits on no roll of {WHITE.name}" in err
        assert "Nothing is written" in err

    def test_buying_tells_it_too(self, narrow, capsys):
        assert run(["buy", narrow]) == 1
        assert "stop N503" in capsys.readouterr().out
        assert run(["buy", narrow, "--json"]) == 1
        found = json.loads(capsys.readouterr().out)
        assert [f["check"] for f in found["findings"]] == ["N503"]
        assert run(["roll", narrow]) == 1

    def test_a_film_that_fails_is_told_by_every_verb(self, job, tmp_path, capsys, monkeypatch):
        def fail(_problem):
            raise GeometryError("no layout of them holds.")

        monkeypatch.setattr(sheets, "quick_rolls", fail)
        out = ["--to", str(tmp_path / "out")]
        for verb in (["roll", str(job)], ["buy", str(job)], ["write", str(job), *out]):
            assert run(verb) == 1
            told = "".join(capsys.readouterr())
            assert f"stop N508: {WHITE.name}: its pieces could not be laid out, as no" in told
        assert not (tmp_path / "out").exists()

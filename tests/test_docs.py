"""The pages say what is so: commands, links, pictures, finding codes, words."""

import ast
import re
import shlex
import subprocess
import sys
from pathlib import Path
from urllib.parse import unquote

import pytest

from app.actions import SPECS
from core.plan.model import Severity

TOP = Path(__file__).parents[1]
DOCS = TOP / "docs"
README = (TOP / "README.md").read_text(encoding="utf-8")
PAGES = [*TOP.glob("*.md"), *DOCS.rglob("*.md")]
CODE = re.compile(r"[A-Z][1-9][0-9]{2}")
LINK = re.compile(r"!?\[[^\]]*\]\(([^)#\s]+)(#[^)\s]*)?\)")


def words_of(name: str) -> list[str]:
    """The README's command of that name, as CI takes it, split as a shell would."""
    script = TOP / ".ci" / "readme_command.py"
    done = subprocess.run(
        [sys.executable, str(script), name], capture_output=True, text=True, check=True
    )
    assert done.stdout.count("\n") == 1, "a command is one line"
    return shlex.split(done.stdout)


def sources(*rooms: str) -> list[Path]:
    return [p for room in rooms for p in sorted((TOP / room).rglob("*.py"))]


def rows(page: Path) -> list[list[str]]:
    """The cells of all table rows of a page, heads left out."""
    lines = page.read_text(encoding="utf-8").splitlines()
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in lines
        if line[:1] == "|"
    ]
    rules = [i for i, row in enumerate(cells) if set(row[0]) <= {"-", ":"}]
    return [row for i, row in enumerate(cells) if i not in rules and i + 1 not in rules]


def test_the_readme_starts_with_the_job_and_has_two_commands() -> None:
    assert README.splitlines()[0] == "# Lapline"
    assert README.splitlines()[2].startswith("Lapline plans a colour change in adhesive film")
    blocks = re.findall(r"^```sh\n(.*?)\n```", README, flags=re.DOTALL | re.MULTILINE)
    assert len(blocks) == 2


@pytest.mark.parametrize("name", ["main", "test"])
def test_the_readme_s_commands_make_a_venv_and_name_what_is_there(name: str) -> None:
    words = words_of(name)
    assert words[:4] == ["python3", "-m", "venv", ".venv"]
    for word in words:
        if word.startswith("sample_projects/"):
            assert (TOP / word).is_file()


def test_the_readme_s_main_command_is_one_that_lapline_knows(tmp_path, monkeypatch) -> None:
    words = words_of("main")
    verb = words[words.index(".venv/bin/lapline") + 1 :]
    verb[verb.index("--to") + 1] = str(tmp_path / "out")
    monkeypatch.chdir(TOP)
    code = "import sys; from app.main import main; sys.exit(main(sys.argv[1:]))"
    quick = [*verb, "--seconds", "0"]
    done = subprocess.run(
        [sys.executable, "-c", code, *quick], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert list((tmp_path / "out").glob("*.dxf"))


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(TOP)))
def test_links_lead_somewhere(page: Path) -> None:
    for target, _ in LINK.findall(page.read_text(encoding="utf-8")):
        assert "://" not in target, f"{target}: pages stand on their own"
        assert (page.parent / unquote(target)).exists(), f"{page.name} leads to {target}"


def test_every_picture_is_shown_and_rendered_by_the_script() -> None:
    shown = {
        (page.parent / target).resolve()
        for page in PAGES
        for target, _ in LINK.findall(page.read_text(encoding="utf-8"))
        if target.endswith(".png")
    }
    kept = {p.resolve() for p in (DOCS / "pictures").glob("*")}
    assert kept == shown


def test_pages_name_no_host() -> None:
    for page in PAGES:
        found = re.findall(r"https?://\S+|\w+\.(?:org|com|io|net)\b", page.read_text("utf-8"))
        assert found == [], page.name


def codes_in_code() -> dict[str, set[str]]:
    """Every finding code in core, with the weights that stand beside it."""
    found: dict[str, set[str]] = {}
    for path in sources("core"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and CODE.fullmatch(str(node.value)):
                found.setdefault(str(node.value), set())
        for call in (n for n in ast.walk(tree) if isinstance(n, ast.Call)):
            weights = {
                a.attr.lower()
                for a in call.args
                if isinstance(a, ast.Attribute) and getattr(a.value, "id", "") == "Severity"
            }
            for part in (p for a in call.args[:1] for p in ast.walk(a)):
                if isinstance(part, ast.Constant) and str(part.value) in found:
                    found[str(part.value)] |= weights
    return found


def test_every_finding_is_explained_with_its_weight() -> None:
    told = {row[0]: row for row in rows(DOCS / "findings.md")}
    made = codes_in_code()
    assert sorted(told) == sorted(made)
    for code, weights in made.items():
        assert told[code][1] in {s.value for s in Severity}
        if weights:
            assert told[code][1] in weights, code
        for other in weights - {told[code][1]}:
            assert f"({other})" in told[code][2], f"{code} may be a {other}"
        assert all(told[code][2:4]), f"{code} wants a meaning and a cure"


def glossary() -> tuple[set[str], set[str]]:
    """The words of the glossary, and those it rules out."""
    text = (DOCS / "glossary.md").read_text(encoding="utf-8")
    ours, _, _ = text.partition("## Not these")
    table = rows(DOCS / "glossary.md")
    words = {w for row in table if f"| {row[0]} |" in ours for w in row[0].split(", ")}
    ruled_out = {w for row in table if f"| {row[0]} |" not in ours for w in row[0].split(", ")}
    return words, ruled_out


HOUSE_WORDS = (
    "job panel outline edge opening mark variant seam stripe inlay region top under lap"
    "|edge turn|grip piece blank|cutting tape|lay order|bunching stretch|relief seam"
    "|roll offcut grain retake|bench sheet|match tick"
)


def test_the_glossary_has_the_words_of_the_house() -> None:
    words, _ = glossary()
    for group in HOUSE_WORDS.split("|"):
        for word in (group,) if group in words else group.split():
            assert word in words


def spoken(path: Path) -> str:
    """What a page says, or what a module may show: its strings, without docstrings."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".md":
        return text
    tree = ast.parse(text)
    silent = {
        id(n.body[0].value)
        for n in ast.walk(tree)
        if isinstance(n, ast.Module | ast.ClassDef | ast.FunctionDef)
        and n.body
        and isinstance(n.body[0], ast.Expr)
    }
    strings = (n for n in ast.walk(tree) if isinstance(n, ast.Constant) and id(n) not in silent)
    return "\n".join(n.value for n in strings if isinstance(n.value, str))


def test_nobody_says_a_word_that_the_glossary_rules_out() -> None:
    _, ruled_out = glossary()
    assert {"an overlap", "vinyl"} <= ruled_out
    pages = [p for p in PAGES if p.name != "glossary.md"]
    for path in [*pages, *sources("app", "core/write", "core/plan", "core/roll")]:
        said = spoken(path).lower().replace("wrapped round", "")
        for word in ruled_out:
            found = re.search(rf"\b{word}(s|ped|ping)?\b", said)
            assert found is None, f"{path.relative_to(TOP)} says {word}"


def test_keys_in_the_lesson_are_those_of_the_program() -> None:
    lesson = (DOCS / "first-job.md").read_text(encoding="utf-8")
    keys = {key for spec in SPECS for key in spec.keys}
    on_canvas = {"F", "X", "C", "Del", "Space"}  # app/canvas/view.py and its tools
    for key in re.findall(r"`((?:Ctrl\+)?(?:Shift\+)?[A-Z][a-z]*)`", lesson):
        assert key in keys | on_canvas, key
    for text in re.findall(r"\*([A-Z][^*\n]+)…\*", lesson):
        assert any(spec.text.startswith(text) for spec in SPECS), text

import json
from pathlib import Path

import pypdf
import pytest

from core.cli import run

SAMPLES = Path(__file__).parents[2] / "sample_projects"
CURVED = str(SAMPLES / "curved_parts.lapline")


def _pieces_of_the_dome(values):
    return [piece for piece in values["pieces"] if piece["panel"] == "p1"]


def test_shape_tells_of_the_sample_in_plain_words(capsys) -> None:
    assert run(["shape", CURVED]) == 0
    said = capsys.readouterr().out
    assert "rim near station 3 though pulled by 2.5 %; this film takes 1 %." in said
    assert said.count("eam needed") == 2, "once for each part"
    assert "Slate takes 3.5 % cold, 3.5 % warm" in said
    assert "data sheet" in said.splitlines()[-1]


def test_the_figures_are_those_of_the_page(capsys) -> None:
    page = (SAMPLES.parent / "docs" / "will-it-lay.md").read_text(encoding="utf-8")
    assert "7.5 % (6.0 to 8.9)" in page
    assert run(["shape", CURVED, "--json"]) == 0
    (dome,) = _pieces_of_the_dome(json.loads(capsys.readouterr().out))
    found = [dome[key] for key in ("range_pct", "low_pct", "high_pct")]
    assert found == pytest.approx([7.5, 6.0, 8.9], abs=0.2)


@pytest.mark.parametrize(
    ("variant", "verdicts"),
    [("v2", ["lays freely"] * 3), ("v3", ["lays with warmth"])],
)
def test_seams_or_another_film_make_the_dome_lay(variant, verdicts, capsys) -> None:
    assert run(["shape", CURVED, "--variant", variant, "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert [piece["verdict"] for piece in _pieces_of_the_dome(values)] == verdicts
    for piece in values["pieces"]:
        assert piece["low_pct"] <= piece["range_pct"] <= piece["high_pct"]
        assert piece["high_pct"] <= piece["takes_warm_pct"]
        assert piece["places"]
    assert {f["check"] for f in values["findings"]} <= {"L702"}


def test_plan_and_write_list_what_will_not_lay(tmp_path, capsys) -> None:
    wanted = "L701: Parcel dome at"
    assert run(["plan", CURVED]) == 0
    assert wanted in capsys.readouterr().out
    assert run(["plan", CURVED, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["findings"]
    assert [f["panel"] for f in found if f["check"] == "L701"] == ["p1", "p2"]
    assert run(["write", CURVED, "--to", str(tmp_path), "--seconds", "0"]) == 0
    assert wanted in capsys.readouterr().out
    (sheet,) = tmp_path.glob("*bench*.pdf")
    pages = pypdf.PdfReader(sheet).pages
    said = [" ".join(page.extract_text().split()) for page in pages]
    assert (
        sum("Before piece 1 is cut: a seam is needed, as it bunches" in words for words in said)
        == 2
    )


def test_the_plan_names_the_film_laid_flat(capsys) -> None:
    assert run(["plan", CURVED, "--json"]) == 0
    for panel in json.loads(capsys.readouterr().out)["panels"]:
        assert all(piece["flat"] != piece["final"] for piece in panel["pieces"])


def test_flat_jobs_have_nothing_to_tell(capsys) -> None:
    assert run(["shape", str(SAMPLES / "first_steps.lapline")]) == 0
    assert "All panels are flat" in capsys.readouterr().out


def test_shape_refuses_what_is_no_job(tmp_path, capsys) -> None:
    (tmp_path / "no.lapline").write_bytes(b"no job")
    assert run(["shape", str(tmp_path / "no.lapline")]) == 2
    assert "not a Lapline job" in capsys.readouterr().err

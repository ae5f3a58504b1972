import ezdxf
import pytest

from core.cli import run
from core.document.file import JobFile, load_job, save_job
from helpers.jobs import job_with, rect_panel


@pytest.fixture
def drawing(tmp_path):
    def drawing(units=4):
        document = ezdxf.new()
        document.header["$INSUNITS"] = units
        space = document.modelspace()
        space.add_lwpolyline([(0, 0), (40, 0), (40, 30), (0, 30)], close=True,
                             dxfattribs={"layer": "LID"})  # fmt: skip
        space.add_circle((20, 15), 6, dxfattribs={"layer": "LID"})
        space.add_circle((90, 15), 9, dxfattribs={"layer": "CAP"})
        space.add_text("lid")
        document.saveas(tmp_path / "parts.dxf")
        return str(tmp_path / "parts.dxf")

    return drawing


def test_panels_are_added_to_a_job(drawing, tmp_path, capsys):
    path = tmp_path / "job.lapline"
    save_job(path, JobFile(job_with([rect_panel("p1", 100, 50)])))
    assert run(["import", drawing(), "--into", str(path)]) == 0
    assert [p.name for p in load_job(path).job.panels] == ["Panel p1", "LID", "CAP"]
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "p2 LID: 40.0 × 30.0 mm, 1 opening"
    assert "Left out: 1 × TEXT: texts are not outlines" in said
    assert said[-1] == f"Import 2 panels: saved in {path}"


def test_a_job_is_made_where_there_is_none(drawing, tmp_path):
    path = tmp_path / "new.lapline"
    words = ["import", drawing(), "--into", str(path), "--units", "in", "--layer", "LID"]
    assert run(words) == 0
    (panel,) = load_job(path).job.panels
    assert max(n.at[0] for n in panel.outline) == pytest.approx(40 * 25.4)


@pytest.mark.parametrize(
    ("units", "more", "said"),
    [
        (0, [], "does not say its unit. Add --units mm, cm or in."),
        (4, ["--layer", "GONE"], "no layer named GONE"),
        (4, ["--tolerance", "-1"], "tolerance"),
    ],
)
def test_what_cannot_be_done_is_told_and_no_job_is_made(
    drawing, tmp_path, capsys, units, more, said
):
    path = tmp_path / "new.lapline"
    assert run(["import", drawing(units), "--into", str(path), *more]) == 2
    errors = capsys.readouterr().err
    assert said in errors
    assert errors.count("\n") == 1
    assert not path.exists()

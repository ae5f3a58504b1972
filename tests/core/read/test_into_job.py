from pathlib import Path

import ezdxf
import pytest
import shapely
from msgspec.structs import replace
from shapely import Polygon
from shapely.affinity import translate

from core.document.file import JobFile, from_bytes, to_bytes
from core.document.flatten import flatten
from core.errors import ImportFailed
from core.plan.plan import plan_job
from core.read.into_job import SPACE_MM, import_sentence, to_panels
from core.read.outlines import Outlines, read_outlines, renamed
from helpers.jobs import film, hole, job_with, rect_panel


def outlines_of(*panels):
    layers = ("0",) * len(panels)
    return Outlines("a.dxf", panels, layers, tuple(range(len(panels))), 1.0, "", False, ())


def shapes(job):
    return [translate(Polygon(flatten(p.outline, closed=True)), *p.at) for p in job.panels]


def are_apart(job):
    found = shapes(job)
    return all(not a.intersects(b) for i, a in enumerate(found) for b in found[:i])


def test_panels_keep_their_places_to_one_another_beside_those_that_are_there():
    job = job_with([rect_panel("p1", 400, 200, at=(100.0, -50.0))])
    found = outlines_of(
        rect_panel("p1", 50, 50, at=(1000.0, 700.0)),
        rect_panel("p2", 80, 20, at=(1100.0, 690.0)),
    )
    made = to_panels(job, found)
    _, first, second = made.panels
    assert (first.id, second.id) == ("p2", "p3")
    assert first.at == (500.0 + SPACE_MM, -40.0)
    assert second.at == (600.0 + SPACE_MM, -50.0)
    assert are_apart(made)


def test_panels_that_overlap_in_the_file_are_lined_up():
    found = outlines_of(*(rect_panel(f"p{i}", 900, 300, at=(i, i)) for i in range(1, 8)))
    made = to_panels(job_with(), found)
    assert are_apart(made)
    assert min(p.at[0] for p in made.panels) == 0
    assert len({p.at[1] for p in made.panels}) > 1


def test_panels_far_from_one_another_are_drawn_together():
    found = outlines_of(rect_panel("p1", 50, 50), rect_panel("p2", 50, 50, at=(500_000.0, 0.0)))
    made = to_panels(job_with(), found)
    assert shapely.total_bounds(shapes(made))[2] < 1000


def test_a_panel_within_anothers_opening_is_taken_out_of_it():
    outer = rect_panel("p1", 400, 400, openings=(hole("o1", 200, 200, 150),))
    made = to_panels(
        job_with(), outlines_of(outer, rect_panel("p2", 80, 80, at=(160.0, 160.0)))
    )
    assert are_apart(made)


def test_ids_and_names_are_made_new():
    inside = rect_panel("p1", 400, 200, name="Lid", openings=(hole("o1", 100, 100, 20),))
    job = to_panels(job_with([inside]), outlines_of(inside))
    job = to_panels(job, outlines_of(inside))
    assert [p.name for p in job.panels] == ["Lid", "Lid 2", "Lid 3"]
    assert [o.id for p in job.panels for o in p.openings] == ["o1", "o2", "o3"]
    assert from_bytes(to_bytes(JobFile(job)), "it").job == job


def test_the_base_film_is_the_lowest_or_the_one_that_is_asked_for():
    job = job_with(films=[film("f5", rank=3), film("f6", rank=1)])
    found = outlines_of(rect_panel("p1", 100, 50))
    assert to_panels(job, found).panels[0].base_film == "f6"
    assert to_panels(job, found, film="f5").panels[0].base_film == "f5"
    with pytest.raises(KeyError):
        to_panels(job, found, film="f9")


def test_some_are_chosen_and_renamed():
    one, two = rect_panel("p1", 100, 50), rect_panel("p2", 60, 60)
    made = to_panels(job_with(), outlines_of(one, two), [renamed(two, "  Cargo\nlid ")])
    assert [p.name for p in made.panels] == ["Cargo lid"]
    assert renamed(one, " \t ").name == one.name


def test_nothing_to_import_is_refused():
    with pytest.raises(ImportFailed, match="No closed outline"):
        to_panels(job_with(), outlines_of())
    with pytest.raises(ImportFailed, match="no film"):
        to_panels(job_with(films=[]), outlines_of(rect_panel("p1", 9, 9)))


def test_the_sentence_of_the_undo_step():
    assert import_sentence(1) == "Import 1 panel"
    assert import_sentence(5) == "Import 5 panels"


def test_what_is_imported_can_be_planned(tmp_path: Path):
    document = ezdxf.new(units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (600, 0, 0), (600, 300, 0), (0, 300, 0)], format="xyb",
                         close=True)  # fmt: skip
    space.add_circle((300, 150), 60)
    document.saveas(tmp_path / "lid.dxf")
    job = to_panels(job_with(), read_outlines(tmp_path / "lid.dxf"))
    plan = plan_job(job)
    assert not plan.findings
    (piece,) = plan.pieces
    assert len(piece.final.interiors) == 1
    flat = replace(job.panels[0], edge_turn_mm=0.0)
    assert plan_job(replace(job, panels=(flat,))).pieces[0].final.area == pytest.approx(
        shapes(job)[0].area - Polygon(flatten(flat.openings[0].nodes, closed=True)).area
    )

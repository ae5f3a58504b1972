from msgspec import structs

from app.panes.editor_job import JobEditor
from app.panes.editor_node import NodeEditor
from app.selection import NOTHING, Selection
from core.document.edits.lines import add_line, find_line
from core.document.edits.panels import replace_panel
from core.document.job import Units
from core.ids import NodeId
from helpers.gui import type_into
from helpers.jobs import hole, seam


def test_nothing_selected_shows_the_job(window):
    window.session.select(Selection("panel", ("p1",), "p1"))
    window.session.select(NOTHING)
    editor = window.selected.editor
    assert isinstance(editor, JobEditor)
    type_into(editor.name, "Other name")
    editor.units.pick(Units.CM)
    window.selected.refresh()
    type_into(editor.lap, "1.2")
    job = window.session.job
    assert (job.name, job.units, job.settings.lap_mm) == ("Other name", Units.CM, 12.0)
    assert window.windowTitle().startswith("Other name")
    for _ in range(3):
        window.session.undo()
    assert window.session.job.settings.lap_mm == 8.0


def test_a_node_gives_its_edge_a_turn_of_its_own(window):
    window.session.select(Selection("node", ("p1",), "p1", NodeId("n2")))
    editor = window.selected.editor
    assert isinstance(editor, NodeEditor)
    type_into(editor.turn, "15")
    assert [n.turn_mm for n in window.session.job.panel("p1").outline] == [None, 15, None, None]
    x1 = window.session.plan.panels[0].extended.bounds[2]
    assert x1 == 615.0  # edge n2 is the right one
    editor.kind.pick(True)
    assert window.session.job.panel("p1").outline[1].smooth
    window.session.undo()
    window.session.undo()
    assert window.session.job.panel("p1").outline[1].turn_mm is None


def test_a_node_of_an_opening_does_too(window):
    job = window.session.job
    drilled = replace_panel(
        job, structs.replace(job.panel("p2"), openings=(hole("o1", 100, 150, 30),))
    )
    window.session.do("Drill", drilled)
    window.session.select(Selection("node", ("o1",), "p2", NodeId("n3")))
    type_into(window.selected.editor.turn, "4")
    turned = window.session.job.panel("p2").openings[0].nodes
    assert [n.turn_mm for n in turned if n.turn_mm is not None] == [4.0]


def test_several_lines_take_one_lap_in_one_step(window):
    window.session.select(Selection("line", ("s1", "t1"), "p1"))
    type_into(window.selected.editor.lap, "11")
    for line in ("s1", "t1"):
        assert find_line(window.session.job, "v1", line)[1].rule.lap_mm == 11.0
    window.session.undo()
    for line in ("s1", "t1"):
        assert find_line(window.session.job, "v1", line)[1].rule.lap_mm is None


def test_several_panels_take_one_film_in_one_step(window):
    window.session.select(Selection("panel", ("p1", "p2")))
    window.selected.editor.film.pick("f2")
    assert {p.base_film for p in window.session.job.panels} == {"f2"}
    window.session.undo()
    assert {p.base_film for p in window.session.job.panels} == {"f1"}


def test_the_mirrored_region_colours_its_twin(window):
    job = add_line(window.session.job, "v1", "p2", seam("s9", [(0, 100), (200, 100)]))
    window.session.do("Split the pair", job)
    right = next(p for p in window.session.plan.panels if p.is_mirrored)
    low = min(right.regions, key=lambda r: r.polygon.centroid.y)
    window.session.select(Selection("region", (low.id,), "p2"))
    window.selected.editor.film.pick("f3")
    for panel in (p for p in window.session.plan.panels if p.of == "p2"):
        by_height = sorted(panel.regions, key=lambda r: r.polygon.centroid.y)
        assert [r.film for r in by_height] == ["f3", "f1"]


def test_names_are_given_by_typing(window):
    window.session.select(Selection("line", ("s1",), "p1"))
    type_into(window.selected.editor.name, "Waist line")
    assert find_line(window.session.job, "v1", "s1")[1].name == "Waist line"
    window.session.select(Selection("panel", ("p1",), "p1"))
    type_into(window.selected.editor.name, "Tank")
    assert window.session.job.panel("p1").name == "Tank"
    assert window.session.undo_text.startswith("Rename")


def test_the_sides_of_a_seam_are_called_as_they_are_seen(window):
    window.session.select(Selection("line", ("s1",), "p1"))  # drawn upwards
    editor = window.selected.editor
    assert [editor.top.itemText(i) for i in (1, 2)] == ["Left side", "Right side"]
    assert editor.reason.text().startswith("What is on top changes along this line: ")
    flat = add_line(window.session.job, "v1", "p2", seam("s2", [(200, 100), (0, 100)]))
    window.session.do("Draw", flat)
    window.session.select(Selection("line", ("s2",), "p2"))  # drawn to the left
    editor = window.selected.editor
    assert [editor.top.itemText(i) for i in (1, 2)] == ["Lower side", "Upper side"]
    assert editor.reason.text() == "Lower side now lies on top: smaller piece."


def test_tasks_before_film_are_typed_one_a_line_and_the_usual_ones_come_back(window):
    window.session.select(Selection("panel", ("p1", "p2"), "p1"))
    editor = window.selected.editor
    assert "Wash" in editor.tasks.toPlainText()
    editor.tasks.selectAll()
    editor.tasks.insertPlainText("Take the lamp out\n\nWash")
    editor.tasks.finish()
    tasks = ("Take the lamp out", "Wash")
    assert [p.preparation for p in window.session.job.panels[:2]] == [tasks, tasks]
    window.selected.refresh()
    assert window.selected.editor.tasks.toPlainText() == "Take the lamp out\nWash"
    window.selected.editor.usual.click()
    assert window.session.job.panel("p1").preparation is None
    window.session.undo()
    assert window.session.job.panel("p1").preparation == tasks
    window.session.undo()
    assert window.session.job.panel("p1").preparation is None


def test_a_task_too_long_for_the_sheet_is_refused_and_the_old_lines_stay(window):
    window.session.select(Selection("panel", ("p1",), "p1"))
    editor = window.selected.editor
    before = editor.tasks.toPlainText()
    editor.tasks.selectAll()
    editor.tasks.insertPlainText("x" * 300)
    editor.tasks.finish()
    assert window.session.job.panel("p1").preparation is None
    assert editor.tasks.toPlainText() == before

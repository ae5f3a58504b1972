import pytest
from msgspec import structs

from app.panes.editor_job import JobEditor
from app.panes.editor_line import LineEditor
from app.panes.editor_node import NodeEditor
from app.panes.editor_relief import ReliefEditor
from app.selection import NOTHING, Selection
from core.document.edits.belongings import add_mark, add_opening
from core.document.edits.lines import add_line, find_line
from core.document.edits.panels import replace_panel
from core.document.job import Units
from core.document.panel import MarkKind
from core.ids import NodeId
from helpers.gui import type_into
from helpers.jobs import bolt, hole, relief, seam


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


def test_a_mark_is_another_kind_larger_and_noted(window):
    session = window.session
    session.do("Mark", add_mark(session.job, "p1", bolt("m1", 300, 100)))
    session.select(Selection("mark", ("m1",), "p1"))
    editor = window.selected.editor
    editor.kind.pick(MarkKind.DAMAGE)
    assert session.undo_text == "Change the kind of the bolt"
    type_into(editor.radius, "1.2 cm")
    type_into(editor.note, "Dent, fill it first")
    (mark,) = session.job.panel("p1").marks
    assert (mark.kind, mark.radius_mm) == (MarkKind.DAMAGE, 12.0)
    assert mark.note == "Dent, fill it first"
    window.selected.refresh()
    assert editor.title == "Damage"
    for _ in range(3):
        session.undo()
    assert session.job.panel("p1").marks == (bolt("m1", 300, 100),)


def test_several_marks_take_one_radius_in_one_step(window):
    session = window.session
    job = add_mark(session.job, "p1", bolt("m1", 300, 100, 4))
    session.do("Mark", add_mark(job, "p1", bolt("m2", 340, 100, 6)))
    session.select(Selection("mark", ("m1", "m2"), "p1"))
    assert not window.selected.editor.note.isEnabled()
    type_into(window.selected.editor.radius, "8")
    assert {m.radius_mm for m in session.job.panel("p1").marks} == {8.0}
    session.undo()
    assert [m.radius_mm for m in session.job.panel("p1").marks] == [4.0, 6.0]


def test_an_opening_is_named_sized_and_turned(window):
    session = window.session
    session.do("Cut", add_opening(session.job, "p2", hole("o1", 100, 150, 30)))
    session.select(Selection("opening", ("o1",), "p2"))
    editor = window.selected.editor
    type_into(editor.name, "Filler")
    type_into(editor.across, "100")
    type_into(editor.turn, "3")
    (opening,) = session.job.panel("p2").openings
    assert (opening.name, opening.turn_mm) == ("Filler", 3.0)
    xs, ys = zip(*(n.at for n in opening.nodes), strict=True)
    assert (min(xs), max(xs)) == pytest.approx((50, 150))
    assert (min(ys), max(ys)) == pytest.approx((120, 180))
    before = session.job
    type_into(editor.across, "300")
    assert "within its panel" in window.status.text
    assert session.job is before


def test_the_strip_chooses_what_the_tools_for_openings_and_marks_make(window):
    desk, strip = window.canvas.desk, window.tools
    assert strip.film.isVisible()
    window.actions_by_id["tool_opening"].trigger()
    assert strip.opening.isVisible()
    assert not strip.film.isVisible()
    strip.opening.shape.pick("rectangle")
    assert desk.opening_shape == "rectangle"
    assert "corner" in window.canvas.hint
    window.actions_by_id["tool_mark"].trigger()
    strip.mark.kind.pick(MarkKind.RIDGE)
    type_into(strip.mark.radius, "1.5")
    assert (desk.mark_kind, desk.mark_radius_mm) == (MarkKind.RIDGE, 1.5)
    assert strip.mark.words.text() == "half-width"
    desk.choose_mark(MarkKind.BADGE, 20.0)
    assert strip.mark.kind.currentText() == "Badge"
    assert strip.mark.radius.text() == "20 mm"


def test_a_relief_cut_has_its_length_typed_and_says_where_it_starts(window):
    job = window.session.job
    job = add_line(
        job, "v1", "p1", relief("e1", [(120, 60), (120, -3)])
    )  # drawn outwards, past the rim
    window.session.do("Cut", add_line(job, "v1", "p1", relief("e2", [(500, 0), (500, 60)])))
    window.session.select(Selection("line", ("e1",), "p1"))
    editor = window.selected.editor
    assert isinstance(editor, ReliefEditor)
    words = editor.words.text().replace(chr(0xA0), " ")
    assert "From the lower left rim it runs in 60 mm." in words
    type_into(editor.length, "45")
    (cut, _) = window.session.job.scheme("v1", "p1").reliefs
    assert [n.at for n in cut.nodes] == [pytest.approx((120, 45)), (120, -3)]
    said = []
    window.session.said.connect(said.append)
    for wrong, word in (("0", "at least 2"), ("-5", "at least 2"), ("3000", "whole panel")):
        type_into(editor.length, wrong)
        assert word in editor.length.toolTip().replace(chr(0xA0), " ")
        assert editor.length.property("look") == "wrong"
        assert window.session.job.scheme("v1", "p1").reliefs[0] is cut
    type_into(editor.length, "50 of")
    type_into(editor.length, "50")
    assert (editor.length.toolTip(), said[-1]) == ("", "")
    window.session.select(Selection("line", ("e1", "e2"), "p1"))
    type_into(window.selected.editor.hole, "0")
    assert [r.hole_mm for r in window.session.job.scheme("v1", "p1").reliefs] == [0, 0]
    window.session.undo()
    window.session.select(Selection("line", ("e1", "s1"), "p1"))
    assert isinstance(window.selected.editor, LineEditor)
    window.session.select(Selection("line", ("e1",), "p1"))
    window.actions_by_id["delete"].trigger()
    assert [r.id for r in window.session.job.scheme("v1", "p1").reliefs] == ["e2"]

"""Openings and marks are deleted on the canvas, by their menu and by key."""

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.canvas import copying
from app.canvas.gestures.base import Pointer
from app.canvas.menus import build_menu
from app.selection import Selection
from core.document.edits.belongings import (
    Belonging,
    belonging_at,
    delete_belongings,
    middle_of,
)
from core.document.edits.locks import set_locked
from core.document.edits.panels import replace_panel
from core.document.panel import Mark, MarkKind
from helpers.jobs import bolt
from helpers.mouse import ALT


@pytest.fixture
def marked(session, view, qapp):
    """The first panel with a bolt and a ridge beside its opening."""
    panel = session.job.panel("p1")
    ridge = Mark(
        id="m2", kind=MarkKind.RIDGE, path=((40.0, 40.0), (140.0, 60.0)), radius_mm=1.0
    )
    marks = (bolt("m1", 560, 270), ridge)
    session.do("Mark", replace_panel(session.job, replace(panel, marks=marks)))
    return session


def menu_at(view, at):
    px = QPointF(view.px_of(at))
    pointer = Pointer(at=at, px=px)
    return build_menu(view, view.desk, view._select, pointer)


def act(menu, words):
    (action,) = [a for a in menu.actions() if a.text() == words]
    action.trigger()


@pytest.mark.parametrize(
    ("at", "words", "gone"),
    [
        ((505.0, 105.0), "the opening", "o1"),
        ((562.0, 270.0), "the bolt", "m1"),
        ((90.0, 50.0), "the ridge", "m2"),
    ],
)
def test_each_is_deleted_by_the_menu_under_the_pointer(marked, view, at, words, gone):
    before = marked.job
    act(menu_at(view, at), f"Delete {words}")
    panel = marked.job.panel("p1")
    assert gone not in {*(o.id for o in panel.openings), *(m.id for m in panel.marks)}
    assert len(panel.openings) + len(panel.marks) == 2
    assert marked.undo_text == f"Delete {words} of Panel p1"
    marked.undo()
    assert marked.job == before


def test_a_locked_panel_and_bare_film_offer_nothing_of_the_kind(marked, view):
    def texts(at):
        return [a.text() for a in menu_at(view, at).actions()]

    assert not any("opening" in t for t in texts((300.0, 100.0)))
    marked.do("Lock", set_locked(marked.job, ("p1",), locked=True))
    assert "Delete the opening" not in texts((505.0, 105.0))


def test_the_menu_of_a_node_of_an_opening_deletes_it_whole(marked, view, hand):
    marked.select(Selection("panel", ("p1",), "p1"))
    node = marked.job.panel("p1").openings[0].nodes[0]
    act(menu_at(view, node.at), "Delete the opening")
    assert marked.job.panel("p1").openings == ()
    assert marked.selection == Selection("panel", ("p1",), "p1")


def test_the_last_three_nodes_of_an_opening_go_with_it(marked, view, hand, qtbot):
    marked.select(Selection("panel", ("p1",), "p1"))
    for left in (3, 0):
        opening = marked.job.panel("p1").openings[0]
        marked.select(Selection("node", ("o1",), "p1", opening.nodes[0].id))
        view.delete_selection()
        kept = [len(o.nodes) for o in marked.job.panel("p1").openings]
        assert kept == ([left] if left else [])
    marked.undo()
    assert len(marked.job.panel("p1").openings[0].nodes) == 3


def test_what_is_not_there_cannot_be_deleted(marked):
    with pytest.raises(KeyError):
        delete_belongings(marked.job, ["o9"])
    assert belonging_at(marked.job.panel("p1"), (300.0, 250.0), 5.0) is None
    named = marked.job.panel("p1").openings[0]
    panel = replace(marked.job.panel("p1"), openings=(replace(named, name="Filler"),))
    found = belonging_at(panel, (500.0, 100.0), 5.0)
    assert found == Belonging("p1", "o1", "Filler")


def test_the_points_of_a_ridge_are_moved_added_and_deleted_one_by_one(marked, view, hand):
    before = marked.job
    hand.click((90.0, 50.0))
    assert marked.selection == Selection("mark", ("m2",), "p1")
    hand.drag((140.0, 60.0), (160.0, 20.0), ALT)
    path = marked.job.panel("p1").marks[1].path
    assert path[0] == (40.0, 40.0)
    assert path[1] == pytest.approx((160.0, 20.0), abs=1.0)
    assert marked.undo_text == "Move a node of the ridge of Panel p1"
    hand.double_click((100.0, 30.0))
    longer = marked.job.panel("p1").marks[1].path
    assert len(longer) == 3
    assert (longer[0], longer[2]) == (path[0], path[1])
    assert marked.selection.node == "n2", "the new one is in hand"
    QTest.keyClick(view, Qt.Key.Key_Up)
    assert marked.job.panel("p1").marks[1].path[1] == pytest.approx(
        (longer[1][0], longer[1][1] + 1.0)
    )
    QTest.keyClick(view, Qt.Key.Key_C)
    assert marked.undo_text == "Move by arrow keys", "a ridge has no smooth nodes"
    QTest.keyClick(view, Qt.Key.Key_Delete)
    assert marked.job.panel("p1").marks[1].path == (path[0], path[1])
    assert marked.selection == Selection("mark", ("m2",), "p1")
    while marked.job != before:
        marked.undo()


def test_the_last_points_of_a_ridge_go_with_it(marked, view, hand):
    hand.click((90.0, 50.0))
    hand.click((140.0, 60.0))
    assert (marked.selection.kind, marked.selection.node) == ("node", "n2")
    menu = menu_at(view, (140.0, 60.0))
    assert not [a for a in menu.actions() if "smooth" in a.text()]
    act(menu, "Delete the node")
    assert [m.id for m in marked.job.panel("p1").marks] == ["m1"]
    marked.undo()
    assert len(marked.job.panel("p1").marks) == 2


def test_a_ridge_stays_on_its_panel(marked, hand):
    hand.click((90.0, 50.0))
    hand.drag((40.0, 40.0), (40.0, -30.0), ALT)
    (x, y), end = marked.job.panel("p1").marks[1].path
    assert (x, end) == (pytest.approx(40.0, abs=1.0), (140.0, 60.0))
    assert 0.0 <= y < 40.0, "where it could last be"


@pytest.mark.parametrize(
    ("at", "kind", "words"),
    [((560.0, 270.0), "mark", "a mark"), ((500.0, 100.0), "opening", "an opening")],
)
def test_copied_by_itself_and_pasted_beside_itself_and_on_another_panel(
    marked, view, hand, at, kind, words
):
    def things(panel):
        return getattr(marked.job.panel(panel), f"{kind}s")

    before, here = marked.job, len(things("p1"))
    hand.click(at)
    assert marked.selection.kind == kind
    assert copying.copy(view.desk)
    assert copying.paste(view.desk, at), "the pointer is on the first one still"
    assert marked.undo_text == f"Paste {words}"
    assert len(things("p1")) == here + 1
    assert marked.selection == Selection(kind, (things("p1")[-1].id,), "p1")
    marked.select(Selection("panel", ("p2",), "p2"))
    assert copying.paste(view.desk, (780.0, 130.0))
    (pasted,) = things("p2")
    assert middle_of(pasted) == pytest.approx((80.0, 130.0), abs=0.6)
    assert marked.job.panel("p1").openings[0].nodes == before.panel("p1").openings[0].nodes
    for _ in range(2):
        marked.undo()
    assert marked.job == before


def test_an_opening_is_cut_out_and_duplicated_by_keys_of_the_edit_menu(marked, view, hand):
    hand.click((500.0, 100.0))
    assert copying.duplicate(view.desk)
    first, second = marked.job.panel("p1").openings
    assert second.id != first.id
    assert copying.cut(view.desk)
    assert marked.job.panel("p1").openings == (first,)
    assert copying.paste(view.desk, None)
    assert len(marked.job.panel("p1").openings) == 2

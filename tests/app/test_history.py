from msgspec.structs import replace

from app.history import History, Step
from app.session import new_job

A = new_job()
B, C, D = (replace(A, name=name) for name in "BCD")


def test_undo_and_redo_walk_the_steps():
    history = History()
    history.push(Step("one", A, B))
    history.push(Step("two", B, C))
    assert history.undo() is B
    assert history.undo() is A
    assert history.undo() is None
    assert history.redo() is B
    assert history.redo() is C
    assert history.redo() is None


def test_steps_of_one_key_are_one_step():
    history = History()
    history.push(Step("nudge", A, B, "nudge p1"))
    history.push(Step("nudge", B, C, "nudge p1"))
    assert history.undo() is A
    assert history.redo() is C


def test_another_key_a_seal_or_no_key_ends_the_merging():
    history = History()
    history.push(Step("nudge", A, B, "x"))
    history.push(Step("nudge", B, C, "y"))
    assert history.undo() is B
    history.redo()
    history.seal()
    history.push(Step("nudge", C, D, "y"))
    assert history.undo() is C


def test_a_step_after_undo_drops_what_was_undone():
    history = History()
    history.push(Step("one", A, B))
    history.undo()
    history.push(Step("other", A, C))
    assert history.next is None
    assert history.undo() is A

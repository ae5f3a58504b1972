import pytest

from app.canvas.view import CanvasView
from app.planner import RollKeeper
from app.session import Session
from app.theme import LIGHT
from core.document.job import Job
from helpers.jobs import hole, job_with, rect_panel, scheme, seam, spot, stripe
from helpers.mouse import Hand


@pytest.fixture
def start_job() -> Job:
    """Two panels: one with a seam, a stripe and an opening; beside it a bare one."""
    drawn = scheme(
        "p1",
        seam("s1", [(200, 0), (200, 300)]),
        stripe("t1", [(0, 240), (600, 240)], 40),
        spot("c1", 400, 50, "f3"),
    )
    first = rect_panel("p1", 600, 300, openings=(hole("o1", 500, 100, 30),))
    return job_with([first, rect_panel("p2", 200, 300, at=(700.0, 0.0))], [drawn])


@pytest.fixture
def session(monkeypatch: pytest.MonkeyPatch, start_job: Job, qapp: object) -> Session:
    """A session without rolls, so that nothing runs beside the test."""
    monkeypatch.setattr(RollKeeper, "want", lambda _self, _plan: None)
    session = Session()
    session.do("Start", start_job)
    return session


@pytest.fixture
def view(qtbot, session: Session) -> CanvasView:
    view = CanvasView(session, LIGHT)
    qtbot.addWidget(view)
    view.resize(1100, 600)
    view.show()
    qtbot.waitExposed(view)
    view.activateWindow()
    view.setFocus()
    view.zoom_to_fit()
    return view


@pytest.fixture
def hand(view: CanvasView) -> Hand:
    return Hand(view)

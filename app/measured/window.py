"""Measuring a panel over the part with a tape: the picture, the table, the verdict.

Every reading is a step of the job's history as soon as it is typed, so nothing is lost when the
window is closed, and undo takes a reading back.
"""

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.measured.picture import TapePicture
from app.measured.table import ReadingTable
from app.measured.verdict_card import VerdictCard
from app.newest import Newest
from app.panes.fields import ChoiceField, CountField
from app.panes.pane import quiet_label
from app.session import Session
from app.shape_words import DATA_FIRST, RANGE_MEANS, gravest, told_within
from app.shapes import Shapes
from app.style import dress
from core.document.edits.surfaces import empty_grid, resize_grid, set_surface, with_reading
from core.document.job import Job
from core.document.surface import (
    CHECKS,
    LEAST_STATIONS,
    MOST_STATIONS,
    MeasuredSurface,
    ReadingPlace,
    missing_places,
    place_name,
    places,
)
from core.errors import LaplineError
from core.shape.readings import Doubt
from core.shape.tape import find_doubts

LINE_OPTIONS: list[tuple[str, object]] = [
    ("5 lines: with shoulders", 5),
    ("3 lines: rims and spine", 3),
    ("Only length and width", 0),
]
DOUBT_REST_MS = 200
HOW = (
    "Stick a straight centre line over the part: the spine. At each station lay a narrow strip "
    "of paper square to it, flat and without steering, to both rims. Mark the shoulders where "
    "the part rounds over. Then measure along each line from station to station. Read each "
    "length twice, the tape taken off in between: 412; 414. Last pull it tight from rim to rim "
    "at the first and the last station: how far does it pass the mark on the spine? A strip "
    "laid round a girth looks square and is not."
)
HOW_SIZE = (
    "Lay the tape over the part, lengthwise and across, and read from rim to rim. That sizes "
    "the blank; how the part is curved takes stations and lines."
)


class MeasureWindow(QDialog):
    """Takes the readings of one panel."""

    seams_wanted = Signal()
    """Somebody wants to know where a seam must go."""

    def __init__(
        self, session: Session, shapes: Shapes, panel: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._shapes, self._panel = session, shapes, panel
        self._draft: MeasuredSurface | None = None
        self._place: ReadingPlace | None = None
        self._doubtful: tuple[Doubt, ...] = ()
        self._questions: tuple[Doubt, ...] = ()
        self._typed_wrong, self._refusal = "", ""
        self.setMinimumSize(980, 620)
        self.resize(1180, 740)
        self.picture = TapePicture()
        self.table = ReadingTable(session.job.units)
        self.card = VerdictCard()
        self.stations = CountField(LEAST_STATIONS, MOST_STATIONS)
        self.lines = ChoiceField()
        self.now, self.problem = QLabel(), QLabel()
        self._lay_out()
        self.stations.counted.connect(lambda n: self._resize(n, self.surface.lines))
        self.lines.chosen.connect(lambda n: self._resize(self.surface.stations or 5, n))
        self.table.given.connect(self._on_given)
        self.table.current_changed.connect(self._on_current)
        self.table.marked.connect(self._on_marked)
        self._doubts: Newest[MeasuredSurface] = Newest(
            lambda surface, _: find_doubts(surface), DOUBT_REST_MS, self
        )
        self._doubts.found.connect(self._on_doubts)
        session.job_changed.connect(self.refresh)
        shapes.changed.connect(self._show_verdict)
        for keys, slot in (("Ctrl+Z", session.undo), ("Ctrl+Shift+Z", session.redo)):
            QShortcut(QKeySequence(keys), self, slot)
        self.refresh()
        self._go_to_next()
        self._show_verdict()

    @property
    def panel(self) -> str:
        """Id of the panel that is measured."""
        return self._panel

    @property
    def surface(self) -> MeasuredSurface:
        """The grid as it is stored; before the first reading as it would be."""
        panel = self._session.job.panel(self._panel)
        if isinstance(panel.surface, MeasuredSurface):
            return panel.surface
        if self._draft is None:
            self._draft = empty_grid(panel)
        return self._draft

    def refresh(self) -> None:
        """Show the readings as they are now."""
        if self._panel not in [p.id for p in self._session.job.panels]:
            self.close()
            return
        surface = self.surface
        name = self._session.job.panel(self._panel).name
        self.setWindowTitle(f"Measure over {name}")
        self._title.setText(f"Measure over {name}")
        self.stations.setEnabled(surface.stations > 0)
        self.stations.show_count(surface.stations or 5)
        self.lines.show_choice(LINE_OPTIONS, surface.lines)
        self.how.setText(HOW if surface.stations else HOW_SIZE)
        self.table.show_grid(surface)
        # All of it in sight, so that no row is without its name.
        bar = self._scroll.verticalScrollBar().sizeHint().width()
        self._scroll.setMinimumWidth(self.table.minimumSizeHint().width() + bar + 4)
        if self._place is not None and self._place not in list(places(surface)):
            self._go_to_next()
        self._show_place()
        self._doubts.want(surface)

    def _on_doubts(self, doubts: tuple[Doubt, ...]) -> None:
        """Frame the readings that do not fit, and say first why nothing can be told."""
        missing = set(missing_places(self.surface))
        told: dict[ReadingPlace, str] = {}
        for doubt in doubts:
            named = () if doubt.place is None else (doubt.place, *doubt.others)
            for place in named:
                if place not in missing:
                    before = told.get(place)
                    told[place] = f"{before} {doubt.what}" if before else doubt.sentence()
        self.table.mark_doubtful(told)
        # What is wrong comes before what is still to be taken.
        grave = [d for d in doubts if not d.is_question]
        self._doubtful = tuple(sorted(grave, key=lambda d: d.place in missing))
        self._questions = tuple(d for d in doubts if d.is_question)
        self._show_verdict()

    def _show_verdict(self) -> None:
        self.card.setToolTip("")
        if self._doubtful:
            first, *others = self._doubtful
            more = f" {len(others)} more to look at." if others else ""
            self.card.show_verdict("unsure", "Cannot tell yet", first.what, first.mend + more)
            return
        copies = {p.id for p in self._session.plan.panels if p.of == self._panel}
        shape = gravest(s for s in self._shapes.report.pieces if s.panel in copies)
        if shape is None or not self._shapes.is_current:
            self.card.show_verdict("note", "Being worked out…")
            return
        words = told_within(shape, self._shapes.report)
        asked = [question.sentence() for question in self._questions]
        more = " ".join([*asked, words.more, DATA_FIRST]).strip()
        self.card.show_verdict(words.tone, words.head, words.text, more)
        self.card.setToolTip(RANGE_MEANS if shape.range_pct > 0 else "")

    # Building

    def _lay_out(self) -> None:
        self._title = QLabel()
        dress(self._title, "job")
        dress(self.now, "title")
        self.now.setWordWrap(True)
        dress(self.problem, "stop")
        self.problem.setWordWrap(True)
        self.problem.hide()
        self.how = quiet_label(HOW)
        left = QVBoxLayout()
        left.setSpacing(12)
        for widget, share in ((self.picture, 1), (self.how, 0)):
            left.addWidget(widget, share)
        scroll = QScrollArea()
        scroll.setWidget(self.table)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll = scroll
        right = QVBoxLayout()
        right.setSpacing(12)
        right.addWidget(self.now)
        right.addWidget(scroll, 1)
        right.addWidget(self.problem)
        right.addWidget(self.card)
        middle = QHBoxLayout()
        middle.setSpacing(24)
        middle.addLayout(left, 3)
        middle.addLayout(right, 5)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(16)
        column.addLayout(self._head())
        column.addLayout(middle, 1)
        column.addLayout(self._foot())

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._title)
        row.addStretch()
        for text, field, width in (("Stations", self.stations, 72), ("", self.lines, 200)):
            field.setFixedWidth(width)
            field.setAccessibleName(text or "Lines")
            if text:
                label = QLabel(text)
                dress(label, "quiet")
                row.addWidget(label)
            row.addWidget(field)
        note = QLabel("5 and 5 are advised")
        dress(note, "quiet")
        row.addWidget(note)
        return row

    def _foot(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.seams = QPushButton("Where must a seam go?")
        self.flat = QPushButton("Make the panel flat again")
        close = QPushButton("Close")
        dress(close, "primary")
        for button in (self.seams, self.flat, close):
            button.setAutoDefault(False)
        self.seams.clicked.connect(self.seams_wanted)
        self.flat.clicked.connect(self._make_flat)
        close.clicked.connect(self.close)
        row.addWidget(self.flat)
        row.addStretch()
        row.addWidget(self.seams)
        row.addWidget(close)
        return row

    # Readings

    def _on_given(self, place: ReadingPlace, values: tuple[float, ...]) -> None:
        words = place_name(place, self.surface)
        verb = "Measure" if values else "Drop what was measured"
        fresh = with_reading(self.surface, place, values)
        self._do(f"{verb} {words}", lambda job: set_surface(job, self._panel, fresh))

    def _on_current(self, place: ReadingPlace) -> None:
        self._place = place
        self._show_place()
        self._scroll.ensureWidgetVisible(self.table.fields[place], 20, 40)

    def _show_place(self) -> None:
        surface, place = self.surface, self._place
        self.picture.show_grid(surface, place)
        missing = len(missing_places(surface))
        if place is None:
            words = f"{missing} to measure" if missing else "All is measured"
        else:
            # Checks are counted on their own: the grid is whole without them.
            is_check = place.kind in CHECKS
            like = [p for p in places(surface) if (p.kind in CHECKS) == is_check]
            which = "Check " if is_check else ""
            name = place_name(place, surface)
            words = f"{which}{like.index(place) + 1} of {len(like)}: {name}"
        self.now.setText(words)
        self.flat.setEnabled(self._is_stored)

    @property
    def _is_stored(self) -> bool:
        return self._session.job.panel(self._panel).surface is not None

    def _go_to_next(self) -> None:
        """Put the cursor into the first reading that is still to be taken."""
        self.table.go_to(self._next)
        self._on_current(self._next)

    def _show_next(self) -> None:
        """Show which reading is taken next, and leave the cursor where the count is typed."""
        self._on_current(self._next)

    @property
    def _next(self) -> ReadingPlace:
        surface = self.surface
        return (missing_places(surface) or tuple(places(surface)))[0]

    def _resize(self, stations: int, lines: int) -> None:
        old, panel = self.surface, self._session.committed_job.panel(self._panel)
        if (stations, lines) == (old.stations, old.lines):
            return
        if lines == 0:
            fresh = MeasuredSurface(
                origin=old.origin, angle_deg=old.angle_deg, length=old.length, width=old.width
            )
        elif old.lines == 0 or not self._is_stored:
            grid = empty_grid(panel, stations, lines)
            fresh = replace(grid, length=old.length, width=old.width)
        else:
            self._do("Change the stations of the grid",
                     lambda job: resize_grid(job, self._panel, stations, lines))  # fmt: skip
            self._show_next()
            return
        if self._is_stored:
            self._do("Change the grid", lambda job: set_surface(job, self._panel, fresh))
        else:
            self._draft = fresh
            self.refresh()
        self._show_next()

    def _make_flat(self) -> None:
        name = self._session.job.panel(self._panel).name
        self._draft = None
        self._do(f"Make {name} flat again", lambda job: set_surface(job, self._panel, None))

    def _do(self, sentence: str, change: Callable[[Job], Job]) -> None:
        try:
            self._session.do(sentence, change(self._session.committed_job))
        except LaplineError as error:
            self._refusal = error.sentence()
            self.refresh()
        else:
            self._refusal = ""
        self._show_problem()

    def _on_marked(self, problem: str) -> None:
        self._typed_wrong = problem
        self._show_problem()

    def _show_problem(self) -> None:
        """Show what is wrong with what is typed, or why the last change was refused."""
        problem = self._typed_wrong or self._refusal
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))

"""What the property editors share: rows of label and field, and edits that may be refused."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QLabel, QWidget

from app.panes.fields import ChoiceField, LengthField, TextField
from app.panes.pane import quiet_label
from app.session import Session
from app.style import dress
from core.document.job import Job
from core.errors import LaplineError


class Editor(QWidget):
    """A form over one thing of the job. Subclasses fill ``refresh``."""

    title = "Selected"

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._form = QFormLayout(self)
        self._form.setContentsMargins(0, 0, 0, 0)
        self._form.setHorizontalSpacing(12)
        self._form.setVerticalSpacing(8)
        self._form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        self._form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)

    def refresh(self) -> None:
        """Show the values as they are now."""
        raise NotImplementedError

    def edit(
        self,
        sentence: str,
        change: Callable[[Job], Job],
        *,
        merge: str | None = None,
        field: TextField | None = None,
    ) -> None:
        """Make an undo step of a change.

        A refusal is said at the field that it was typed in, else in the status strip.
        """
        try:
            self.session.do(sentence, change(self.session.committed_job), merge=merge)
        except LaplineError as error:
            if field is not None:
                field.refuse(error.sentence())
                return
            self.session.message(error.sentence())
            self.refresh()

    def add_row(self, label: str, field: QWidget) -> None:
        """Add a field with its label."""
        words = QLabel(label)
        dress(words, "field")
        words.setBuddy(field)
        words.setIndent(0)
        field.setAccessibleName(label)
        self._form.addRow(words, field)

    def add_text(self, label: str, on_commit: Callable[[str], None]) -> TextField:
        """Add a field for a line of text."""
        field = TextField()
        field.committed.connect(on_commit)
        self.add_row(label, field)
        return field

    def add_length(
        self, label: str, on_given: Callable[[float | None], None], *, is_optional: bool = False
    ) -> LengthField:
        """Add a field for a length."""
        field = LengthField(is_optional=is_optional)
        field.given.connect(on_given)
        field.refused.connect(self.session.message)
        self.add_row(label, field)
        problem = self.add_words()
        dress(problem, "stop")
        self._form.setRowVisible(problem, False)  # noqa: FBT003 - Qt's own signature

        def tell(text: str) -> None:
            if problem.text() and not text:
                self.session.message("")  # what was said of the field is over
            problem.setText(text)
            self._form.setRowVisible(problem, bool(text))

        field.marked.connect(tell)
        return field

    def add_choice(self, label: str, on_chosen: Callable[..., None]) -> ChoiceField:
        """Add a choice."""
        field = ChoiceField()
        field.chosen.connect(on_chosen)
        self.add_row(label, field)
        return field

    def add_words(self, text: str = "") -> QLabel:
        """Add a line of secondary words over the whole width."""
        label = quiet_label(text)
        self._form.addRow(label)
        return label

    def add_value(self, label: str) -> QLabel:
        """Add a value that is shown only."""
        value = QLabel()
        value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.add_row(label, value)
        return value

    def film_options(self) -> list[tuple[str, object]]:
        """Return the job's films as options."""
        films = sorted(self.session.job.films, key=lambda f: -f.rank)
        return [(film.name, film.id) for film in films]

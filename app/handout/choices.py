"""What is wanted, and how: the left column of the window, which shows ``OutputOptions``.

Each field hands on a changed copy of the options; what a field cannot be is said beside it, and
the last usable options stay.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from app.panes.controls import Tick
from app.panes.fields import ChoiceField, CountField, LengthField
from app.style import dress
from core.errors import LaplineError
from core.write.outputs import OutputOptions
from core.write.papers import Paper
from core.write.plotter import FilesPer, Plotter, PlotterFormat
from core.write.templates import TemplateOptions

FORMATS = (
    ("DXF R2000", PlotterFormat.R2000),
    ("DXF R12, for old plotters", PlotterFormat.R12),
    ("DXF R2010", PlotterFormat.R2010),
    ("HP-GL/2", PlotterFormat.HPGL),
    ("SVG, true size", PlotterFormat.SVG),
)
FILES_PER = (
    ("Film", FilesPer.FILM),
    ("Section of a roll", FilesPer.SECTION),
    ("Piece", FilesPer.PIECE),
)

PAPERS = (
    ("A4", Paper.A4),
    ("A3", Paper.A3),
    ("Letter", Paper.LETTER),
    ("Tabloid", Paper.TABLOID),
)
TEMPLATE_PAPERS = (*PAPERS, ("One long page", Paper.LONG))

Change = Callable[[OutputOptions, Any], OutputOptions]


class Choices(QScrollArea):
    """Shows options and hands on what they become."""

    changed = Signal()
    refused = Signal(str)
    """Why what is chosen is not usable, or "" when it is."""

    def __init__(self, options: OutputOptions) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.options = options
        self.fields: dict[str, QWidget] = {}
        inside = QWidget()
        self._column = QVBoxLayout(inside)
        self._column.setContentsMargins(20, 6, 16, 16)
        self._column.setSpacing(8)
        self._form = QFormLayout()
        self._plotter_files()
        self._plotter()
        self._paper()
        self._other()
        self._column.addStretch()
        self.setWidget(inside)
        self._refresh()

    # What there is to choose

    def _plotter_files(self) -> None:
        options = self.options
        self._section("Plotter files")
        self._tick("For the rolls", options.has_plotter_files, _set("has_plotter_files"))
        self._tick("For each piece by itself", options.has_piece_files, _set("has_piece_files"))
        self._tick("A check square of 100 mm", options.has_check_square,
                   _set("has_check_square"), "Cut it first, and measure it")  # fmt: skip

    def _plotter(self) -> None:
        of = self.options.plotter
        self._choice("Format", FORMATS, of.format, _set_plotter("format"))
        self._choice("A file for each", FILES_PER, of.files_per, _set_plotter("files_per"))
        feed = self._length("Longest feed", of.longest_feed_mm, _set_plotter("longest_feed_mm"))
        feed.setPlaceholderText("no limit")
        self._tick("Cut longer pieces in parts", of.splits_long_pieces,
                   _set_plotter("splits_long_pieces"), "The parts join at marks")  # fmt: skip
        self._length("Tolerance", of.tolerance_mm, _set_plotter("tolerance_mm"),
                     "The most that a written line lies off the planned one")  # fmt: skip
        self._tick("Rounds as arcs (DXF)", of.has_arcs, _set_plotter("has_arcs"),
                   "Curves are written as arcs wherever these keep within the tolerance: "
                   "fewer points, an even cut")  # fmt: skip
        self._length("Overcut", of.overcut_mm, _set_plotter("overcut_mm"),
                     "How far the knife runs on where a line closes")  # fmt: skip
        self._length("Smallest detail", of.min_feature_mm, _set_plotter("min_feature_mm"),
                     "You are warned of what is smaller")  # fmt: skip
        self._tick("Mirrored, cut from the liner side", of.is_mirrored,
                   _set_plotter("is_mirrored"))  # fmt: skip
        self._tick("Weed box round the pieces", of.has_weed_box, _set_plotter("has_weed_box"))
        self._tick("Turned by 90° (HP-GL/2)", of.is_turned, _set_plotter("is_turned"),
                   "For a plotter that counts x across the film, y along it")  # fmt: skip
        self._count("Knife tool", of.pens.cut, _set_pen("cut"))
        self._count("Pen tool", of.pens.draw, _set_pen("draw"))

    def _paper(self) -> None:
        options = self.options
        self._section("On paper")
        self._tick("Bench sheet", options.has_bench_sheet, _set("has_bench_sheet"))
        self._tick("Cutting by hand, cut after cut", options.has_hand_cut,
                   _set("has_hand_cut"), "Cross-cuts and slits in order")  # fmt: skip
        self._choice("Paper", PAPERS, options.paper, _set("paper"))
        self._tick("Templates at true size", options.templates is not None, _set_templates)
        template = options.templates or TemplateOptions()
        self._choice("Templates on", TEMPLATE_PAPERS, template.paper, _set_template("paper"))
        self._length("Pages share", template.overlap_mm, _set_template("overlap_mm"),
                     "What neighbouring pages have in common; crosses mark it")  # fmt: skip
        self._tick("Whole panels, too", template.has_panel, _set_template("has_panel"),
                   "To mark seams and tape runs on the part by")  # fmt: skip

    def _other(self) -> None:
        options = self.options
        self._section("Tables and pictures")
        self._tick("Tables, CSV and XLSX", options.has_tables, _set("has_tables"))
        self._tick("Panels and rolls, SVG and PNG", options.has_pictures,
                   _set("has_pictures"))  # fmt: skip

    # Fields

    def _section(self, title: str) -> None:
        heading = QLabel(title)
        dress(heading, "title")
        heading.setContentsMargins(0, 10, 0, 0)
        self._form = QFormLayout()
        self._form.setHorizontalSpacing(12)
        self._form.setVerticalSpacing(7)
        self._form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._column.addWidget(heading)
        self._column.addLayout(self._form)

    def _tick(self, text: str, value: bool, change: Change, tip: str = "") -> None:  # noqa: FBT001
        tick = Tick(text)
        tick.setChecked(value)
        tick.toggled.connect(lambda is_on: self._apply(change, is_on))
        self._add("", text, tick, tip)

    def _choice(
        self, label: str, options: Sequence[tuple[str, object]], value: object, change: Change
    ) -> None:
        field = ChoiceField()
        field.show_choice(options, value)
        field.chosen.connect(lambda chosen: self._apply(change, chosen))
        self._add(label, label, field)

    def _length(
        self, label: str, value: float | None, change: Change, tip: str = ""
    ) -> LengthField:
        field = LengthField(is_optional=value is None)

        def show(shown: float | None) -> None:
            # Hundredths count here, whatever the job's units.
            field.show_text("" if shown is None else f"{shown:g} mm")

        def take(given: float | None) -> None:
            if self._apply(change, given):
                show(given)

        show(value)

        field.given.connect(take)
        field.refused.connect(self.refused)
        self._add(label, label, field, tip)
        return field

    def _count(self, label: str, value: int, change: Change) -> None:
        field = CountField(1, 255)
        field.show_count(value)
        field.valueChanged.connect(lambda given: self._apply(change, given))
        self._add(label, label, field)

    def _add(self, label: str, name: str, field: QWidget, tip: str = "") -> None:
        field.setAccessibleName(name)
        field.setToolTip(tip)
        self.fields[name] = field
        if label:
            self._form.addRow(label, field)
        else:
            self._form.addRow(field)

    def _apply(self, change: Change, value: object) -> bool:
        """Take a value into the options; tell whether it was usable."""
        try:
            self.options = change(self.options, value)
        except LaplineError as error:
            self.refused.emit(error.sentence())
            return False
        self._refresh()
        self.refused.emit("")
        self.changed.emit()
        return True

    def _refresh(self) -> None:
        """Enable what counts for what is chosen."""
        plotter = self.options.plotter
        is_wanted = self.options.has_plotter_files or self.options.has_piece_files
        is_dxf = plotter.format not in (PlotterFormat.HPGL, PlotterFormat.SVG)
        counts = {
            "Cut longer pieces in parts": plotter.longest_feed_mm is not None,
            "Rounds as arcs (DXF)": is_dxf,
            "Turned by 90° (HP-GL/2)": plotter.format is PlotterFormat.HPGL,
            "Knife tool": plotter.format is PlotterFormat.HPGL,
            "Pen tool": plotter.format is PlotterFormat.HPGL,
        }
        has_templates = self.options.templates is not None
        for name in ("Templates on", "Pages share", "Whole panels, too"):
            self.fields[name].setEnabled(has_templates)
        has_paper = self.options.has_bench_sheet or self.options.has_hand_cut
        self.fields["Paper"].setEnabled(has_paper)
        first = list(self.fields).index("Format")
        last = list(self.fields).index("Pen tool")
        for name in list(self.fields)[first : last + 1]:
            self.fields[name].setEnabled(is_wanted and counts.get(name, True))


def _set(name: str) -> Change:
    return lambda options, value: replace(options, **{name: value})


def _set_plotter(name: str) -> Change:
    def change(options: OutputOptions, value: object) -> OutputOptions:
        plotter: Plotter = replace(options.plotter, **{name: value})  # type: ignore[arg-type]
        return replace(options, plotter=plotter)

    return change


def _set_templates(options: OutputOptions, value: bool) -> OutputOptions:  # noqa: FBT001
    return replace(options, templates=TemplateOptions() if value else None)


def _set_template(name: str) -> Change:
    def change(options: OutputOptions, value: object) -> OutputOptions:
        own = options.templates or TemplateOptions()
        template: TemplateOptions = replace(own, **{name: value})  # type: ignore[arg-type]
        return replace(options, templates=template)

    return change


def _set_pen(name: str) -> Change:
    def change(options: OutputOptions, value: int) -> OutputOptions:
        pens = replace(options.plotter.pens, **{name: value})
        return replace(options, plotter=replace(options.plotter, pens=pens))

    return change

"""Pages filled from top to bottom: headings, lines with boxes to tick, tables, pictures.

Lengths are millimetres on paper; text heights are those of capitals. A table that runs over a
page goes on under its head on the next one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from core.write.drawing import Drawing, Look
from core.write.inks import DARK
from core.write.page import FAINT, SOFT, Page, shortened, wrapped
from core.write.papers import FOOT_MM, MARGIN_MM, Sheet
from core.write.placed import Placed, put_together
from core.write.typeface import text_width_mm

BODY_MM, SMALL_MM = 2.6, 2.0
_LEADING = 1.85
"""Height of a line over that of its capitals."""
_BOX_MM = 3.6
_CELL_MM = 1.6
"""Kept free at both sides of a table's cell."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes:
        share: how much of the table's width it takes, against the others.
        is_right: whether its text ends in line.
    """

    title: str
    share: float = 1.0
    is_right: bool = False


@dataclass
class PageFlow:
    """Collects the pages of a document.

    Attributes:
        foot: what stands at the foot of each page, before its number.
    """

    sheet: Sheet
    foot: str
    _names: list[str] = field(default_factory=list)
    _pages: list[list[Placed]] = field(default_factory=list)
    _inks: list[Page] = field(default_factory=list)
    _y: float = 0.0

    @property
    def width_mm(self) -> float:
        """Width of what may be filled."""
        return self.sheet.window_size[0]

    @property
    def left_mm(self) -> float:
        """Height that is still free on the page."""
        return self._y - self.sheet.window[1]

    @property
    def y(self) -> float:
        """Where the next thing starts, from the page's lower edge."""
        return self._y

    @property
    def page(self) -> Page:
        """The page that is being filled."""
        return self._inks[-1]

    def start(self, name: str) -> None:
        """Begin a new page, entered in the list of contents under a name."""
        self._names.append(name)
        self._pages.append([])
        self._inks.append(Page(1.0))
        self._y = self.sheet.window[3]

    def need(self, height_mm: float) -> bool:
        """Begin a new page where that height is not free; return whether one was begun."""
        if self.left_mm >= height_mm:
            return False
        self.start(self._names[-1])
        return True

    def space(self, height_mm: float) -> None:
        """Leave some room."""
        self._y -= height_mm

    def heading(self, text: str, height_mm: float = 3.2, follows_mm: float = 12.0) -> None:
        """Set a heading that is not parted from what follows."""
        lines = wrapped(text, height_mm * 1.05, self.width_mm)
        if self._y < self.sheet.window[3]:
            self._y -= height_mm * 0.6
        self.need(len(lines) * height_mm * _LEADING + follows_mm)
        for line in lines:
            self._y -= height_mm * 1.35
            self.page.text(line, (MARGIN_MM, self._y), height_mm, is_bold=True)
            self._y -= height_mm * 0.5
        self._y -= height_mm * 0.35

    def words(self, text: str, height_mm: float = BODY_MM, colour: str = DARK) -> None:
        """Set a paragraph."""
        for line in wrapped(text, height_mm, self.width_mm):
            self.need(height_mm * _LEADING)
            self._y -= height_mm * _LEADING
            self.page.text(line, (MARGIN_MM, self._y), height_mm, colour=colour)

    def ticks(
        self, items: Sequence[str], boxes: int = 1, height_mm: float = BODY_MM, number: int = 0
    ) -> None:
        """Set lines with boxes to tick before them.

        Args:
            items: one a line; long ones run over.
            boxes: how many each has; none is drawn for 0, a dash stands there then.
            height_mm: of capitals.
            number: the first line's number; 0 sets none.
        """
        inset = max(boxes, 1) * (_BOX_MM + 1.2) + 1.2
        figures = text_width_mm("88", height_mm, is_bold=True) + 1.5 if number else 0.0
        for i, item in enumerate(items):
            lines = wrapped(item, height_mm, self.width_mm - inset - figures)
            self.need(max(len(lines) * height_mm * _LEADING, _BOX_MM) + 1.4)
            self._y -= height_mm * _LEADING * 0.95
            self._boxes(boxes, height_mm)
            left = MARGIN_MM + inset
            if number:
                self.page.text(str(number + i), (left, self._y), height_mm, is_bold=True)
            for k, line in enumerate(lines):
                self._y -= height_mm * _LEADING if k else 0.0
                self.page.text(line, (left + figures, self._y), height_mm)
            self._y -= 1.4

    def _boxes(self, boxes: int, height_mm: float) -> None:
        low = self._y - (_BOX_MM - height_mm) / 2
        if not boxes:
            middle = self._y + height_mm / 2
            self.page.polyline([(MARGIN_MM, middle), (MARGIN_MM + 2.0, middle)], DARK, 0.25)
        for k in range(boxes):
            corner = (MARGIN_MM + k * (_BOX_MM + 1.2), low)
            self.page.rect(corner, (_BOX_MM, _BOX_MM), Look(stroke=DARK, width_mm=0.25))

    def table(
        self,
        columns: Sequence[Column],
        rows: Sequence[Sequence[str]],
        *,
        boxes: int = 0,
        height_mm: float = SMALL_MM,
    ) -> None:
        """Set a table; each row begins with that many boxes to tick."""
        inset = boxes * (_BOX_MM + 1.2) + (1.2 if boxes else 0.0)
        whole = sum(column.share for column in columns)
        widths = [(self.width_mm - inset) * column.share / whole for column in columns]
        head = [[column.title] for column in columns]
        line_mm = height_mm * _LEADING
        self.need(3 * line_mm + 3.0)
        self._row(columns, widths, head, inset, height_mm)
        for row in rows:
            cells = [
                wrapped(text, height_mm, width - 2 * _CELL_MM) or [""]
                for text, width in zip(row, widths, strict=True)
            ]
            tall = max(max(map(len, cells)) * line_mm, _BOX_MM) + 1.6
            if self.need(tall):
                self._row(columns, widths, head, inset, height_mm)
            if boxes:
                self._y -= line_mm
                self._boxes(boxes, height_mm)
                self._y += line_mm
            self._row(columns, widths, cells, inset, height_mm, is_head=False)

    def _row(
        self,
        columns: Sequence[Column],
        widths: Sequence[float],
        cells: Sequence[list[str]],
        inset: float,
        height_mm: float,
        *,
        is_head: bool = True,
    ) -> None:
        """Set one row of cells, each with its lines, and rule it off."""
        x, line_mm = MARGIN_MM + inset, height_mm * _LEADING
        for column, width, lines in zip(columns, widths, cells, strict=True):
            for k, line in enumerate(lines):
                at = x + width - _CELL_MM if column.is_right else x + _CELL_MM
                fits = shortened(line, height_mm, width - 2 * _CELL_MM, is_bold=is_head)
                self.page.text(
                    fits,
                    (at, self._y - (k + 1) * line_mm),
                    height_mm,
                    anchor="end" if column.is_right else "start",
                    colour=SOFT if is_head else DARK,
                    is_bold=is_head,
                )
            x += width
        least = 0.0 if is_head else _BOX_MM
        self._y -= max(max(map(len, cells)) * line_mm, least) + 1.6
        right = self.sheet.width_mm - MARGIN_MM
        stroke = DARK if is_head else FAINT
        self.page.polyline([(MARGIN_MM, self._y), (right, self._y)], stroke, 0.15)

    def picture(self, drawing: Drawing, most_mm: float) -> None:
        """Set a drawing as large as it may be, in the middle."""
        x0, y0, x1, y1 = drawing.extent
        self.need(min(most_mm, 60.0))
        room = min(most_mm, self.left_mm)
        scale = min(self.width_mm / (x1 - x0), room / (y1 - y0))
        left = MARGIN_MM + (self.width_mm - scale * (x1 - x0)) / 2
        self._y -= scale * (y1 - y0)
        self._pages[-1].append(Placed(drawing, (left, self._y), scale))

    def drawings(self) -> tuple[Drawing, ...]:
        """Return the pages, each with its foot."""
        size = (self.sheet.width_mm, self.sheet.height_mm)
        count = len(self._pages)
        pages = []
        for i, (name, placed, ink) in enumerate(
            zip(self._names, self._pages, self._inks, strict=True), 1
        ):
            self._draw_foot(ink, f"{i} of {count}")
            own = ink.drawing(name, (0.0, 0.0, *size))
            pages.append(put_together(name, size, (*placed, Placed(own))))
        return tuple(pages)

    def _draw_foot(self, ink: Page, number: str) -> None:
        left, right = MARGIN_MM, self.sheet.width_mm - MARGIN_MM
        ink.polyline([(left, FOOT_MM - 4.0), (right, FOOT_MM - 4.0)], FAINT, 0.2)
        foot = shortened(self.foot, SMALL_MM, right - left - 25.0)
        ink.text(foot, (left, FOOT_MM - 8.5), SMALL_MM, colour=SOFT)
        ink.text(number, (right, FOOT_MM - 8.5), SMALL_MM, anchor="end", colour=SOFT)

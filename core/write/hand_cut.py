"""How a sheet is cut by hand: blanks with their sizes, cuts with their positions, in order.

For someone with a knife and a straight edge. The order of the cuts is that of
``core/roll/cut_sequence.py``; here it is said, beside the picture of
``core/write/hand_cut_picture.py``. Retakes have pages of their own, as they are cut only when
a piece has failed.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from core.document.job import BlankCut, Job, Units
from core.plan.model import JobPlan
from core.progress import Progress, watched
from core.roll.cut_sequence import KnifeCut, cut_sequence
from core.roll.model import RollPlan, SheetPlan
from core.units import format_length
from core.write.bench_plan import sheet_name
from core.write.drawing import Drawing
from core.write.free_spots import Box
from core.write.hand_cut_picture import AROUND_MM, hand_cut_picture
from core.write.hand_cut_stretches import Stretch, shared, stretches_of
from core.write.measures import size_text
from core.write.page import SOFT, Page, shortened, wrapped
from core.write.papers import MARGIN_MM, Paper, on_its_side
from core.write.pdf import drawings_to_pdf
from core.write.placed import Placed, put_together
from core.write.wording import BLANK_CUT_WORDS, joined

LAY_FOR_IT = "Lay for cutting by hand"
"""What the window calls the way out where straight cuts do not part all pieces."""
JOB_ENDS = "The job ends here: cut the rest only when a piece has failed"
NO_JOB = "Only retakes lie here: cut them only when a piece has failed"
_NOTE = (
    "Cut with a knife and a straight edge, in this order. A cross-cut (whole line) runs across "
    "the roll and is measured from the left end of the part in hand; a slit (dashed) runs "
    "along it and is measured from its lower edge. Trims are waste."
)
_ROW_MM, _LEAST_ROW_MM, _MOST_ROW_MM = 4.2, 2.2, 5.2
_BESIDE_MM = 76.0
"""How wide a column of cuts is beside the picture."""
_WIDEST_MM = 110.0
"""A column of cuts gets no wider than this where there is room."""
_BELOW = 3
"""So many columns of cuts are below the picture."""
_GAP_MM = 4.0
_LEAST_SCALE = 1 / 13.0
"""A stretch of several slabs that would be drawn smaller goes on more pages."""
_SHORTEST_PICTURE_MM = 45.0

Rows = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where picture and list stand on a page.

    Attributes:
        is_roomy: whether all is large enough to be read at the bench.
    """

    scale: float
    picture: Box
    listing: Box
    columns: int
    is_roomy: bool


def hand_cut_pages(
    plan: JobPlan,
    rolls: RollPlan,
    paper: Paper = Paper.A4,
    progress: Progress | None = None,
) -> tuple[Drawing, ...]:
    """Return the pages of each sheet on which something lies; Cancelled when it was stopped."""
    pages: list[Drawing] = []
    used = [
        (film, i, s) for film in rolls.films for i, s in enumerate(film.sheets) if s.placements
    ]
    for film, i, sheet in watched(used, "sheet", progress):
        title = f"{plan.job.film(film.film).name}, {sheet_name(film, i)}"
        found = stretches_of(sheet, cut_sequence(sheet), plan.job, title)
        parts = [part for stretch in found for part in _readable(stretch, paper)]
        for number, part in enumerate(parts, 1):
            is_last = part.is_for_retakes or number == sum(not p.is_for_retakes for p in parts)
            place = f", page {number} of {len(parts)}" if len(parts) > 1 else ""
            pages.append(_page(replace(part, title=title + place), paper, is_last=is_last))
    return tuple(pages)


def may_be_parted(job: Job, rolls: RollPlan) -> bool:
    """Say whether a layout for cutting by hand would part pieces that this one does not."""
    if job.settings.blank_cut is BlankCut.ALL_STRAIGHT:
        return False
    return any(cut_sequence(sheet).stuck for film in rolls.films for sheet in film.sheets)


def hand_cut_pdf(pages: tuple[Drawing, ...], progress: Progress | None = None) -> bytes:
    """Return pages of hand cutting as a PDF."""
    return drawings_to_pdf("Hand cutting", pages, progress)


def cut_words(cut: KnifeCut, sheet: SheetPlan, units: Units) -> str:
    """Return a cut in words: "Part 2: trim with a slit at 620 mm, frees Lid 1"."""
    part = f"Part {cut.part}" if cut.part else sheet.sheet.kind.capitalize()
    knife = f"trim with a {cut.knife.value}" if cut.is_trim else cut.knife.value
    text = f"{part}: {knife} at {format_length(cut.at_mm, units)}"
    return f"{text}, frees {joined(cut.frees)}" if cut.frees else text


def _readable(stretch: Stretch, paper: Paper) -> tuple[Stretch, ...]:
    """Return a stretch shared among as many pages as it takes to read it."""
    room = _window(paper)
    parts: tuple[Stretch, ...] = (stretch,)
    for pages in range(1, 2 * len(stretch.slabs) + 1):
        parts = shared(stretch, pages)
        if all(len(p.slabs) == 1 or _layout(p, _rows(p), room).is_roomy for p in parts):
            break
    return parts


def _window(paper: Paper) -> Box:
    """Return what is left of a page for picture and list, below its head."""
    x0, _, x1, y1 = on_its_side(paper).window
    return (x0, MARGIN_MM, x1, y1 - 22.0)


def _layout(stretch: Stretch, rows: Rows, window: Box) -> _Layout:
    """Return the layout with the largest picture: its list beside it or below."""
    x0, y0, x1, y1 = window
    ways = []
    for columns in (1, 2):
        left = x1 - columns * _BESIDE_MM
        picture = (x0, y0, left - _GAP_MM, y1)
        ways.append(_tried(stretch, rows, picture, (left, y0, x1, y1), columns))
    lines = _lines(rows, _ROW_MM / 2, (x1 - x0) / _BELOW)
    tall = (-(-lines // _BELOW) + 1) * _ROW_MM
    middle = min(y0 + tall, y1 - _SHORTEST_PICTURE_MM)
    picture = (x0, middle + _GAP_MM, x1, y1)
    ways.append(_tried(stretch, rows, picture, (x0, y0, x1, middle), _BELOW))
    return max(ways, key=lambda way: (way.is_roomy, way.scale))


def _tried(stretch: Stretch, rows: Rows, picture: Box, listing: Box, columns: int) -> _Layout:
    left, below, right, above = AROUND_MM
    wide, high = picture[2] - picture[0] - left - right, picture[3] - picture[1] - below - above
    length, width = stretch.size
    scale = min(wide / length, high / width)
    column = (listing[2] - listing[0]) / columns
    fits = _lines(rows, _ROW_MM / 2, column) + columns <= columns * int(
        (listing[3] - listing[1]) / _ROW_MM
    )
    is_roomy = fits and scale >= _LEAST_SCALE
    return _Layout(scale, picture, listing, columns, is_roomy)


def _page(stretch: Stretch, paper: Paper, *, is_last: bool) -> Drawing:
    sheet = on_its_side(paper)
    page = Page(1.0)
    _head(page, stretch, sheet.window)
    rows = _rows(stretch)
    layout = _layout(stretch, rows, _window(paper))
    picture, keyed = hand_cut_picture(stretch, layout.scale)
    px0, py0, px1, py1 = picture.extent
    at = (layout.picture[0], layout.picture[3] - layout.scale * (py1 - py0))
    rows += keyed
    if is_last and not stretch.is_for_retakes and _has_retakes(stretch):
        rows.append(("■", f"{JOB_ENDS}."))
    left = at[0] + layout.scale * (px1 - px0) + _GAP_MM
    x0, y0, x1, y1 = layout.listing
    if x0 > layout.picture[0] + 1.0:  # beside: as near to the picture as it comes
        x0 = min(x0, left)
        x1 = min(x1, x0 + layout.columns * _WIDEST_MM)
    else:
        y1 = at[1] - _GAP_MM
    _list_rows(page, rows, (x0, y0, x1, y1), layout.columns)
    size = (sheet.width_mm, sheet.height_mm)
    drawn = page.drawing(stretch.title, (0.0, 0.0, *size))
    placed = (Placed(picture, at, layout.scale), Placed(drawn))
    return put_together(stretch.title, size, placed)


def _has_retakes(stretch: Stretch) -> bool:
    return any(blank.is_retake for blank in stretch.sequence.blanks)


def _head(page: Page, stretch: Stretch, window: Box) -> None:
    """Write what sheet it is, how large, and how it is cut."""
    x0, _, x1, y1 = window
    y = y1 - 5.0
    retakes = ": retakes" if stretch.is_for_retakes else ""
    title = shortened(f"{stretch.title}{retakes}", 4.5, x1 - x0, is_bold=True)
    page.text(title, (x0, y), 4.5, is_bold=True)
    y -= 6.5
    if stretch.is_for_retakes:
        has_job = not all(b.is_retake for b in stretch.sequence.blanks)
        page.text(f"{JOB_ENDS if has_job else NO_JOB}.", (x0, y), 2.6, is_bold=True)
        y -= 4.6
    sheet = stretch.sheet.sheet
    text = f"{stretch.job.name}. "
    if sheet.length_mm is not None:
        size = size_text(sheet.length_mm, sheet.width_mm, stretch.units)
        text += f"The {sheet.kind} is {size}. "
    for line in wrapped(text + _NOTE, 1.9, x1 - x0):
        page.text(line, (x0, y), 1.9, colour=SOFT)
        y -= 3.6


def _rows(stretch: Stretch) -> Rows:
    """Return what is listed: the cuts, and what no cut parts."""
    rows = [(str(c.number), cut_words(c, stretch.sheet, stretch.units)) for c in stretch.cuts]
    rows += [("!", text) for text in _stuck_words(stretch)]
    return rows or [("", "No cut is needed.")]


def _list_rows(page: Page, rows: Rows, room: Box, columns: int) -> None:
    """Write rows in columns, as large as lets all stand in the room."""
    x0, y0, x1, y1 = room
    wide, row_mm = (x1 - x0) / columns, _MOST_ROW_MM
    fewest = _lines(rows, _ROW_MM / 2, wide)
    while row_mm > _LEAST_ROW_MM:
        held = columns * int((y1 - y0) / row_mm)
        if _lines(rows, row_mm / 2, wide) <= min(held - columns, fewest):
            break
        row_mm -= 0.1
    height = row_mm / 2
    x, y = x0, y1
    for number, text in rows:
        lines = wrapped(text, height, wide - 9.0)
        if y - len(lines) * row_mm < y0 and y < y1:
            x, y = x + wide, y1
        page.text(number, (x + 5.0, y - row_mm * 0.8), height, anchor="end", is_bold=True)
        for line in lines:
            y -= row_mm
            page.text(line, (x + 6.5, y + row_mm * 0.2), height)


def _lines(rows: Rows, height: float, wide: float) -> int:
    return sum(len(wrapped(text, height, wide - 9.0)) for _, text in rows)


def _stuck_words(stretch: Stretch) -> Iterator[str]:
    way_out = "or lay them anew."
    if stretch.job.settings.blank_cut is not BlankCut.ALL_STRAIGHT:
        choice = BLANK_CUT_WORDS[BlankCut.ALL_STRAIGHT]
        way_out = (
            f"or have the rolls laid for it: “{LAY_FOR_IT}” in Hand out, or “Blanks are cut: "
            f"{choice}” in the job settings."
        )
    x0, x1 = stretch.span
    for group in stretch.sequence.stuck:
        is_here = any(x0 <= b.rectangle[0] < x1 for b in group)
        if not is_here or all(b.is_retake for b in group) != stretch.is_for_retakes:
            continue
        labels = [b.label for b in group]
        yield (
            f"{joined(labels)} cannot be parted by cuts from edge to edge: cut round one of "
            f"them, stopping at its corners, {way_out}"
        )

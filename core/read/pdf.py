"""The line work of PDF pages as strokes, one layer a page.

Pages are read by PDFium. A PDF knows its size: one unit is 1/72 inch.
"""

import ctypes
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
from pypdfium2 import raw

from core.errors import ImportFailed
from core.pdf_renderer import RENDERER
from core.progress import Progress, Step
from core.read.limits import Budget
from core.read.strokes import (
    Affine,
    CurveTo,
    LineTo,
    Skipped,
    SourceDrawing,
    SourceLayer,
    Stroke,
    StrokeStep,
    is_finite,
)

MM_PER_POINT = 25.4 / 72
"""Source: ISO 32000-1, 8.3.2.3: the default unit of user space is 1/72 inch."""
MAX_PAGES = 200

_REASONS = {
    raw.FPDF_PAGEOBJ_TEXT: ("Text", "texts are not outlines; turn them into paths"),
    raw.FPDF_PAGEOBJ_IMAGE: ("Image", "a picture"),
    raw.FPDF_PAGEOBJ_SHADING: ("Shading", "a fill, not a line"),
}


def read_pdf(path: Path, progress: Progress) -> SourceDrawing:
    """Read the pages of a PDF file.

    Raises:
        ImportFailed: it is none, it is locked or broken, or it holds too much.
        Cancelled: the user stopped it.
    """
    data = path.read_bytes()  # errors of the disk are told apart from those of the file
    with RENDERER:
        document = _opened(data, str(path))
        try:
            return _read(document, str(path), progress)
        finally:
            document.close()


def _opened(data: bytes, where: str) -> Any:
    try:
        return pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        is_locked = "password" in str(error).lower()
        raise ImportFailed(
            "It is locked by a password." if is_locked else "It is not a PDF that can be read.",
            where=where,
            mend="Save it anew without one." if is_locked else "Save it anew as PDF or SVG.",
        ) from error


def _read(document: Any, where: str, progress: Progress) -> SourceDrawing:
    count = len(document)
    if count > MAX_PAGES:
        raise ImportFailed(
            f"It has {count} pages; {MAX_PAGES} can be read.",
            where=where,
            mend="Save the pages with the panels alone.",
        )
    pages = _Pages(Budget(where, progress))
    strokes: list[Stroke] = []
    for number in range(count):
        progress.tell(Step("Reading the pages", number / count))
        try:
            page = document[number]
        except pdfium.PdfiumError:
            pages.skipped["Page", "it is damaged"] += 1
            continue
        # The only page needs no name: what is on it goes by the file's.
        strokes += pages.strokes(page, f"Page {number + 1}" if count > 1 else "")
        page.close()
    layers = dict.fromkeys(stroke.layer for stroke in strokes)
    return SourceDrawing(
        where=where,
        strokes=tuple(strokes),
        layers=tuple(SourceLayer(name) for name in layers),
        mm_per_unit=MM_PER_POINT,
        units_words="points of 1/72 inch, as in every PDF",
        skipped=tuple(Skipped(k, why, n) for (k, why), n in pages.skipped.most_common()),
    )


class _Pages:
    """Walks through the objects of pages, and the forms in them."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self.skipped: Counter[tuple[str, str]] = Counter()

    def strokes(self, page: Any, layer: str) -> Iterator[Stroke]:
        """Yield the strokes of a page, turned as it is shown."""
        count = raw.FPDFPage_CountObjects(page)
        objects = (raw.FPDFPage_GetObject(page, i) for i in range(count))
        yield from self._through(objects, _turned(page), layer, 0)

    def _through(
        self, objects: Iterator[Any], placed: Affine, layer: str, depth: int
    ) -> Iterator[Stroke]:
        self._budget.check_depth(depth)
        for one in objects:
            self._budget.spend()
            kind = raw.FPDFPageObj_GetType(one)
            own = _chained(placed, _matrix(one))
            if kind == raw.FPDF_PAGEOBJ_FORM:
                parts = range(raw.FPDFFormObj_CountObjects(one))
                inner = (raw.FPDFFormObj_GetObject(one, i) for i in parts)
                yield from self._through(inner, own, layer, depth + 1)
            elif kind == raw.FPDF_PAGEOBJ_PATH:
                yield from self._path(one, own, layer)
            else:
                self.skipped[_REASONS.get(kind, ("Object", "it is no line"))] += 1

    def _path(self, path: Any, placed: Affine, layer: str) -> Iterator[Stroke]:
        fill, stroke = ctypes.c_int(), ctypes.c_int()
        raw.FPDFPath_GetDrawMode(path, fill, stroke)
        if not fill.value and not stroke.value:
            self.skipped["Path", "it is neither filled nor lined, so it is not seen"] += 1
            return
        like = Stroke(0, (), layer=layer, kind="path", is_filled=bool(fill.value))
        for run in _runs(path, like):
            self._budget.spend(points=len(run.steps))
            seen = run.mapped(placed)
            if is_finite(seen):
                yield seen


def _runs(path: Any, like: Stroke) -> Iterator[Stroke]:
    """Yield the unbroken runs of a path."""
    start = 0j
    steps: list[StrokeStep] = []
    controls: list[complex] = []
    for i in range(raw.FPDFPath_CountSegments(path)):
        segment = raw.FPDFPath_GetPathSegment(path, i)
        kind, at = raw.FPDFPathSegment_GetType(segment), _point(segment)
        if kind == raw.FPDF_SEGMENT_MOVETO:
            if steps:
                yield replace(like, start=start, steps=tuple(steps))
            start, steps, controls = at, [], []
        elif kind == raw.FPDF_SEGMENT_LINETO:
            steps.append(LineTo(at))
        else:  # the three points of a curve come one by one
            controls.append(at)
            if len(controls) == 3:
                steps.append(CurveTo(*controls))
                controls = []
        if raw.FPDFPathSegment_GetClose(segment) and steps:
            yield replace(like, start=start, steps=tuple(steps), is_closed=True)
            steps = []
    if steps:
        yield replace(like, start=start, steps=tuple(steps))


def _point(segment: Any) -> complex:
    x, y = ctypes.c_float(), ctypes.c_float()
    raw.FPDFPathSegment_GetPoint(segment, x, y)
    return complex(x.value, y.value)


def _matrix(one: Any) -> Affine:
    m = raw.FS_MATRIX()
    if not raw.FPDFPageObj_GetMatrix(one, m):
        return Affine()
    origin = complex(m.e, m.f)
    return Affine.from_frame(origin, origin + complex(m.a, m.b), origin + complex(m.c, m.d))


def _chained(outer: Affine, inner: Affine) -> Affine:
    return Affine.from_frame(outer(inner(0)), outer(inner(1)), outer(inner(1j)))


def _turned(page: Any) -> Affine:
    """Return the turn under which a page is shown, clockwise in steps of a right angle."""
    quarters = int(raw.FPDFPage_GetRotation(page))
    return Affine((1, -1j, -1, 1j)[quarters % 4])

"""The marker board's PDF, read back by PDFium and by OpenCV, which share no code with it."""

import cv2
import numpy as np
import pypdfium2
import pytest

from core.errors import InputError
from core.read.photo import Picture
from core.read.photo_board import find_sheets
from core.write.board import board_pdf

MM = 25.4 / 72
SCALE = 8.0
"""Pixels for a point: 0.044 mm each."""


def _raster(data):
    page = pypdfium2.PdfDocument(data)[0]
    return np.array(page.render(scale=SCALE).to_numpy())[..., :3][..., ::-1].copy()


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))]
)
def test_the_page_is_of_the_paper(paper, size):
    """ISO 216; ANSI/ASME Y14.1: 8 1/2 by 11 inches."""
    document = pypdfium2.PdfDocument(board_pdf(paper))
    assert len(document) == 1
    width, height = document[0].get_size()
    assert (width * MM, height * MM) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("sheet", [1, 4])
def test_opencv_finds_every_crossing_true_to_size(paper, sheet):
    (seen,) = find_sheets(Picture("board", _raster(board_pdf(paper, sheet))))
    assert (seen.sheet, len(seen.ids)) == (sheet, 48)
    on_paper = seen.px / SCALE * MM * np.array([1, -1])
    off = (on_paper - on_paper.mean(axis=0)) - (seen.mm - seen.mm.mean(axis=0))
    assert np.abs(off).max() < 0.05


def test_the_squares_are_those_of_opencvs_own_picture():
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    ids = np.arange(31, 62, dtype=np.int32)
    board = cv2.aruco.CharucoBoard((7, 9), 25.0, 18.0, dictionary, ids)
    theirs = board.generateImage((175 * 8, 225 * 8))
    raster = _raster(board_pdf("A4", 2))[..., 0]
    left, top = round(17.5 / MM * SCALE), round(12.0 / MM * SCALE)
    size = (round(175 / MM * SCALE), round(225 / MM * SCALE))
    ours = cv2.resize(raster[top : top + size[1], left : left + size[0]], (1400, 1800))
    assert np.mean((ours > 128) == (theirs > 128)) > 0.99


def test_the_check_line_is_100_mm_long():
    raster = _raster(board_pdf("A4"))[..., 0]
    right = round((17.5 + 102) / MM * SCALE)  # its words stand farther right
    below = raster[round(240 / MM * SCALE) : round(254 / MM * SCALE), :right]
    row = below[np.argmax((below < 128).sum(axis=1))]
    dark = np.flatnonzero(row < 128)
    assert (dark[-1] - dark[0] + 1) / SCALE * MM == pytest.approx(100, abs=0.3)


def test_the_page_says_what_to_do():
    text = pypdfium2.PdfDocument(board_pdf("A4", 3))[0].get_textpage().get_text_range()
    assert "100 mm" in text
    assert "Print at 100 %" in text
    assert "sheet 3 of 4" in text


def test_the_same_board_gives_the_same_bytes():
    assert board_pdf("Letter", 2) == board_pdf("Letter", 2)


@pytest.mark.parametrize(("paper", "sheet"), [("A3", 1), ("A4", 0), ("A4", 5)])
def test_other_papers_and_sheets_are_refused(paper, sheet):
    with pytest.raises(InputError, match="no marker board"):
        board_pdf(paper, sheet)

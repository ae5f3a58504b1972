import pytest

from core.document.job import Units
from core.write.page import round_length_mm, shortened, wrapped
from core.write.typeface import text_width_mm


@pytest.mark.parametrize(
    ("about", "units", "length"),
    [
        (180, Units.MM, 200),
        (130, Units.CM, 100),
        (60, Units.MM, 50),
        (240, Units.IN, 254),
        (500, Units.IN, 508),
    ],
)
def test_round_lengths(about, units, length):
    assert round_length_mm(about, units) == pytest.approx(length)


def test_text_is_shortened_only_where_it_must_be():
    assert shortened("Lid", 10, 1000) == "Lid"
    cut = shortened("A rather long name", 10, 80)
    assert cut.endswith("…")
    assert text_width_mm(cut, 10) <= 80


def test_text_is_wrapped_between_words_and_no_word_is_lost():
    text = "2.41 m of Deep fjord, 1520 mm wide, must be bought"
    lines = wrapped(text, 10, 150)
    assert len(lines) > 2
    assert " ".join(lines) == text
    assert all(text_width_mm(line, 10) <= 150 for line in lines)
    assert wrapped("", 10, 100) == []
    assert wrapped("Unbreakablelongword", 10, 50)[0].endswith("…")

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import InputError
from core.units import Units, format_length, parse_length

# International inch: 25.4 mm exactly (international yard and pound agreement, 1959: a yard is
# 0.9144 m, so a foot is 304.8 mm).
INCH = 25.4


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 in", 25.4),
        ("36 in", 914.4),
        ("3 ft", 914.4),
        ("29 1/2 in", 749.3),
        ('29 1/2"', 749.3),
        ("29½ in", 749.3),
        ("1/16 in", 1.5875),
        ("2 ft 5 1/2 in", 749.3),
        ("2' 5\"", 736.6),
        ("2' 5", 736.6),
        ("-1 ft 3 in", -381.0),
        ("75 cm", 750.0),
        ("75CM", 750.0),
        ("0,75 m", 750.0),
        ("0,750 m", 750.0),
        (".5 m", 500.0),
        ("750+2*15", 780.0),
        ("75 cm + 2*15", 780.0),
        ("2*15 cm", 300.0),
        ("2 × 15 cm", 300.0),
        ("1 m - 12 mm - 1 cm", 978.0),
        ("1 m − 12 mm", 988.0),
        ("750/2", 375.0),
        ("15 cm/2", 75.0),
        ("  8  ", 8.0),
        ("+8", 8.0),
        ("-8", -8.0),
        ("12,5", 12.5),
        ("1500", 1500.0),
        ("0", 0.0),
    ],
)
def test_reads_what_people_write(text: str, mm: float) -> None:
    assert parse_length(text, Units.MM) == mm


def test_bare_numbers_are_in_the_units_of_the_job() -> None:
    assert parse_length("3", Units.CM) == 30.0
    assert parse_length("3", Units.IN) == 76.2
    assert parse_length("3+1/2", Units.IN) == 88.9
    assert parse_length("3 + 5 mm", Units.CM) == 35.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "No length"),
        ("   ", "No length"),
        ("wide", '"wide"'),
        ("5 furlong", '"furlong"'),
        ("5 mmm", '"mmm"'),
        ("1 500", '"500"'),
        ("1,500", "two ways"),
        ("1.2.3", '".3"'),
        ("1e5", '"e"'),
        ("0x10", '"x"'),
        ("5 cm * 2 cm", '"cm"'),
        ("5/0", "divides by nothing"),
        ("5 1/0 in", '"1/0"'),
        ("750-", "is not a length"),
        ("* 5", '"*"'),
        ("++5", '"+"'),
        ("5 + - 3", '"-"'),
        ("2 ft 5", "after feet come inches"),
        ("2 ft 5 cm", "after feet come inches"),
        ("٣ mm", '"٣ mm"'),
        ("5²", '"²"'),
        ("nan", '"nan"'),
        ("inf", '"inf"'),
        ("2000 m", "longer than a kilometre"),
        ("9" * 99, "longer than a kilometre"),
        ("1+" * 60 + "1", "too long for a length"),
    ],
)
def test_refuses_and_says_what_was_not_understood(text: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        parse_length(text, Units.MM)
    assert said in refused.value.sentence()


@settings(deadline=None)
@given(st.text(max_size=30))
def test_any_text_is_a_length_or_refused(text: str) -> None:
    try:
        mm = parse_length(text, Units.CM)
    except InputError:
        return
    assert math.isfinite(mm)


@pytest.mark.parametrize(
    ("mm", "units", "decimals", "text"),
    [
        (750.0, Units.MM, None, "750 mm"),
        (749.34, Units.MM, None, "749.3 mm"),
        (749.35, Units.MM, None, "749.4 mm"),
        (1000.0, Units.MM, None, "1000 mm"),
        (750.0, Units.CM, None, "75 cm"),
        (754.0, Units.CM, None, "75.4 cm"),
        (749.3, Units.IN, None, "29.5 in"),
        (8.0, Units.IN, None, "0.315 in"),
        (8.0, Units.MM, 1, "8.0 mm"),
        (0.04, Units.MM, None, "0 mm"),
        (-0.04, Units.MM, None, "0 mm"),
        (-12.5, Units.MM, None, "-12.5 mm"),
        (1e6, Units.MM, 0, "1000000 mm"),
    ],
)
def test_writes_lengths(mm: float, units: Units, decimals: int | None, text: str) -> None:
    assert format_length(mm, units, decimals=decimals) == text


def test_no_length_is_not_written() -> None:
    with pytest.raises(InputError):
        format_length(math.nan, Units.MM)


@settings(deadline=None)
@given(st.floats(-9e5, 9e5), st.sampled_from(Units))
def test_what_is_written_is_read_back_to_its_last_digit(mm: float, units: Units) -> None:
    half_mm = {Units.MM: 0.05, Units.CM: 0.05, Units.IN: 0.0005 * INCH}[units]
    assert parse_length(format_length(mm, units), units) == pytest.approx(
        mm, abs=half_mm + 1e-9
    )

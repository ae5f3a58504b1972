import pytest

from core.document.places import limit_in_words, place_in_words

JOB = {
    "films": [{"name": "Fir"}],
    "variants": [{"name": "Bright", "schemes": [{"stripes": [{"name": "", "nodes": []}]}]}],
}


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("$", ""),
        ("", ""),
        ("$.name", "name"),
        ("$.films[0].roll_width_mm", "film 1 (Fir), roll width"),
        ("$.films[0].stock[1].length_mm", "film 1 (Fir), stock 2, length"),
        ("$.panels[2].outline[3].at[0]", "panel 3, outline node 4, position x"),
        (
            "$.panels[2].openings[0].nodes[1].after[1]",
            "panel 3, opening 1, node 2, handle after y",
        ),
        (
            "$.variants[0].schemes[0].stripes[0].rule.lap_mm",
            "variant 1 (Bright), scheme 1, stripe 1, how it meets, lap",
        ),
        ("$.settings.blank_step_mm", "settings, blank step"),
        ("$.films[...]", "films"),
    ],
)
def test_places_in_words(place: str, words: str) -> None:
    assert place_in_words(place, JOB) == words


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("Expected `float` >= 0.0", "The number must be at least 0."),
        ("Expected `int` <= 100", "The number must be at most 100."),
        ("Expected `float`, got `str`", "A text stands where a number is expected."),
        (
            "Expected `float | null`, got `str`",
            "A text stands where a number or null is expected.",
        ),
        ("Expected `array` of length >= 2", "It needs at least 2 entries."),
        ("Object missing required field `name`", "The entry name is missing."),
        ("Object contains unknown field `nam`", "The entry nam is not known here."),
        ("Invalid enum value 'shiny'", "The value shiny is not one of those known here."),
        ("Something quite new", "Something quite new."),
    ],
)
def test_limits_in_words(said: str, words: str) -> None:
    assert limit_in_words(f"{said} - at `$.a`") == (words, "$.a")

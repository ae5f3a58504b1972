"""Checked against figures that the Web Content Accessibility Guidelines' own papers give."""

import pytest

from core.write.inks import DARK, LIGHT, apart, contrast, ink_on, luminance, mix


def test_contrast_has_the_guidelines_ends():
    # WCAG 2.2, definition of contrast ratio: it ranges from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#2f6b4f", "#2f6b4f") == pytest.approx(1)


def test_the_lightest_grey_that_passes_on_white():
    # From memory of WCAG techniques: #767676 on white is 4.54, #777777 falls short of 4.5.
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") < 4.5


def test_luminance_of_the_primaries():
    # WCAG 2.2, definition of relative luminance: the weights of red, green and blue.
    assert luminance("#ff0000") == pytest.approx(0.2126)
    assert luminance("#00ff00") == pytest.approx(0.7152)
    assert luminance("#0000ff") == pytest.approx(0.0722)


def test_ink_reads_on_every_film():
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 for text, 3 for large text.
    shades = range(0, 256, 17)
    for colour in (f"#{r:02x}{g:02x}{b:02x}" for r in shades for g in shades for b in shades):
        assert contrast(ink_on(colour), colour) > 4.0


def test_a_shade_is_moved_until_it_stands_out():
    assert apart("#2f6b4f", "#ffffff") == "#2f6b4f"
    pairs = (("#f2f0e9", "#f2f0e9"), ("#000000", "#101010"), ("#777777", "#777777"))
    for colour, ground in pairs:
        assert contrast(apart(colour, ground), ground) >= 1.6


def test_mixing_runs_from_one_colour_to_the_other():
    assert mix("#102030", "#ffffff", 0) == "#102030"
    assert mix("#102030", "#ffffff", 1) == "#ffffff"
    assert {ink_on("#ffffff"), ink_on("#000000")} == {DARK, LIGHT}

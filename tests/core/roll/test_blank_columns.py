"""Columns of blanks: what rounding leaves of them."""

import numpy as np

from core.roll.blank_columns import Stacks, Ways


def test_a_section_as_long_as_a_blank_of_odd_length_has_no_column_rather_than_a_crash():
    """Lengths are counted in whole millimetres, rounded up: 425.9 mm is too long for itself."""
    one = np.array([1.0])
    ways = Ways(np.array([0]), one * 425.9, one * 300.0, one)
    assert Stacks(ways, np.array([0]), 425.9, 1.0).chosen(1500.0, 425.9, one) is None

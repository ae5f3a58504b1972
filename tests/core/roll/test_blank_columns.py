"""Columns of blanks: what rounding leaves of them."""

import numpy as np

from core.roll.blank_columns import Stacks, Ways


def test_a_blank_just_as_long_as_its_section_fits_whatever_parts_of_a_millimetre():
    one = np.ones(1)
    ways = Ways(np.array([0]), np.array([425.9]), np.array([300.0]), one)
    assert Stacks(ways, np.array([0]), 425.9, 1.0).chosen(1500.0, 425.9, one) == 0


def test_a_blank_that_is_longer_fits_no_column():
    one = np.ones(1)
    ways = Ways(np.array([0]), np.array([426.9]), np.array([300.0]), one)
    assert Stacks(ways, np.array([0]), 425.9, 1.0).chosen(1500.0, 425.9, one) is None

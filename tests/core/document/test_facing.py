"""The two sides of a line by what the eye sees."""

import pytest

from core.document.facing import side_names
from core.document.path import straight_path


@pytest.mark.parametrize(
    ("end", "names"),
    [
        ((100.0, 10.0), ("upper", "lower")),
        ((-100.0, 10.0), ("lower", "upper")),
        ((10.0, 100.0), ("left", "right")),
        ((10.0, -100.0), ("right", "left")),
        ((0.0, 0.0), ("upper", "lower")),
    ],
)
def test_sides_are_called_as_they_are_seen(end, names):
    assert side_names(straight_path([(0.0, 0.0), end])) == names

import pytest

from core.read.photo import Picture
from helpers.synthetic_photo import LENS, Shot, part_shot, small_shot


@pytest.fixture(scope="session")
def hard_shot() -> Shot:
    """12 megapixels: perspective, noise, lens distortion and a strong shadow."""
    return part_shot(shadow=0.6, height_mm=1050.0, **LENS)


@pytest.fixture(scope="session")
def plain_shot() -> Shot:
    """4 megapixels through a lens that bends nothing."""
    return small_shot(height_mm=1050.0)


@pytest.fixture(scope="session")
def hard_picture(hard_shot) -> Picture:
    return Picture("hard.jpg", hard_shot.pixels)


@pytest.fixture(scope="session")
def plain_picture(plain_shot) -> Picture:
    return Picture("plain.jpg", plain_shot.pixels)

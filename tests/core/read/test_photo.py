import io
import zlib
from struct import pack

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from core.errors import ImportFailed
from core.read.photo import Picture, halved, load_picture, picture_from_bytes, stored_bytes

RED, BLUE = (200, 30, 20), (20, 40, 210)
ORIENTATION, GPS = 0x0112, 0x8825


def _two_tone(width=160, height=96):
    """Red on the left, blue on the right."""
    pixels = np.empty((height, width, 3), np.uint8)
    pixels[:, : width // 2], pixels[:, width // 2 :] = RED, BLUE
    return Image.fromarray(pixels)


def _saved(image, kind, **options):
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def _with_exif(orientation=1):
    image = _two_tone()
    exif = image.getexif()
    exif[ORIENTATION] = orientation
    exif[0x0110] = "A camera"
    exif.get_ifd(GPS).update({1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 17.0)})
    return _saved(image, "JPEG", quality=95, exif=exif)


def _is(colour, at):
    return np.abs(np.asarray(at, int) - colour).max() < 40


@pytest.mark.parametrize(
    ("kind", "options"),
    [("JPEG", {"quality": 95}), ("PNG", {}), ("WEBP", {"quality": 95}), ("HEIF", {})],
)
def test_each_kind_of_file_opens(kind, options, tmp_path):
    pillow_heif.register_heif_opener()
    path = tmp_path / "photo.bin"
    path.write_bytes(_saved(_two_tone(), kind, **options))
    picture = load_picture(path)
    assert picture.size_px == (160, 96)
    assert _is(RED, picture.pixels[48, 20])
    assert _is(BLUE, picture.pixels[48, 140])


@pytest.mark.parametrize(
    ("orientation", "size", "red_at"),
    [(1, (160, 96), (20, 48)), (3, (160, 96), (140, 48)), (6, (96, 160), (48, 20)),
     (8, (96, 160), (48, 140)), (2, (160, 96), (140, 48))],
)  # fmt: skip
def test_the_camera_turned_is_the_photo_upright(orientation, size, red_at):
    """Orientations as in the Exif standard (CIPA DC-008), tag 0x0112."""
    picture = picture_from_bytes(_with_exif(orientation), "x.jpg")
    assert picture.size_px == size
    assert _is(RED, picture.pixels[red_at[1], red_at[0]])


def test_what_is_stored_names_no_place_and_no_camera():
    data = _with_exif(6)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(GPS), "the photo did name its place"
    stored = stored_bytes(picture_from_bytes(data, "x.jpg").pixels)
    image = Image.open(io.BytesIO(stored))
    assert dict(image.getexif()) == {}
    assert image.getexif().get_ifd(GPS) == {}
    assert b"Exif" not in stored
    assert b"A camera" not in stored
    assert image.size == (96, 160)


def test_what_can_be_seen_through_becomes_white():
    image = Image.new("RGBA", (80, 80), (255, 0, 0, 0))
    assert (picture_from_bytes(_saved(image, "PNG"), "x.png").pixels == 255).all()


@pytest.mark.parametrize("mode", ["L", "P", "CMYK", "1", "I;16"])
def test_pictures_of_other_modes_open(mode):
    image = Image.new(mode, (80, 80))
    kind = "JPEG" if mode == "CMYK" else "PNG"
    assert picture_from_bytes(_saved(image, kind), "x").pixels.shape == (80, 80, 3)


def test_fifty_megapixels_open():
    data = _saved(Image.new("RGB", (8660, 5774), (90, 120, 60)), "JPEG", quality=60)
    picture = picture_from_bytes(data, "large.jpg")
    assert picture.width_px * picture.height_px > 50_000_000


def _png_that_says(width, height):
    """A PNG whose header names a size, and whose data are a few bytes."""

    def chunk(kind, data):
        return pack(">I", len(data)) + kind + data + pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n"
        + head
        + chunk(b"IDAT", zlib.compress(b"\0" * 64))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("side", [12_000, 60_000])
def test_a_bomb_of_pixels_is_refused(side):
    with pytest.raises(ImportFailed, match="million pixels"):
        picture_from_bytes(_png_that_says(side, side), "bomb.png")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_cut_short_is_refused(kind):
    noise = np.random.default_rng(1).integers(0, 255, (300, 300, 3), np.uint8)
    data = _saved(Image.fromarray(noise), kind)
    with pytest.raises(ImportFailed, match="broken or cut short"):
        picture_from_bytes(data[: len(data) // 2], "half.bin")


@pytest.mark.parametrize("data", [b"", b"GIF89a but not really", b"%PDF-1.4", b"\0" * 5000])
def test_what_is_no_photo_is_refused(data):
    with pytest.raises(ImportFailed, match="not a photo"):
        picture_from_bytes(data, "note.txt")


def test_a_tiny_picture_is_refused():
    with pytest.raises(ImportFailed, match="only 20 × 20"):
        picture_from_bytes(_saved(Image.new("RGB", (20, 20)), "PNG"), "icon.png")


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(ImportFailed, match="cannot be opened"):
        load_picture(tmp_path / "gone.jpg")


def test_half_the_size_shows_the_mean_of_four():
    pixels = np.array([[[0], [100]], [[200], [100]]], np.uint8).repeat(3, axis=2)
    assert halved(pixels).tolist() == [[[100, 100, 100]]]


def test_the_pixels_of_a_picture_cannot_be_changed():
    picture: Picture = picture_from_bytes(_saved(_two_tone(), "PNG"), "x.png")
    with pytest.raises(ValueError, match="read-only"):
        picture.pixels[0, 0] = 1

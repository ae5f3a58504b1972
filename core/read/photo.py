"""Photos from files: opened with suspicion, turned upright, and stored without their secrets.

A *picture* is an array of pixels, red, green, blue, row by row from the top. Places in it are
in pixels from its upper left corner, x to the right and y down: the middle of the first pixel
is (0.5, 0.5).
"""

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from core.errors import ImportFailed

if TYPE_CHECKING:
    from PIL.Image import Image

Pixels = NDArray[np.uint8]

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
MOST_PX = 120_000_000
"""Pixels of the largest photo that is opened; phones make up to 108 million."""
LEAST_SIDE_PX = 64
MOST_BYTES = 256 * 2**20
STORED_QUALITY = 90


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo in memory.

    Attributes:
        name: its file's name.
        pixels: shape (height, width, 3), read-only.
    """

    name: str
    pixels: Pixels

    @property
    def width_px(self) -> int:
        """Pixels across."""
        return int(self.pixels.shape[1])

    @property
    def height_px(self) -> int:
        """Pixels down."""
        return int(self.pixels.shape[0])

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        return self.width_px, self.height_px


def load_picture(path: Path) -> Picture:
    """Read a JPEG, PNG, WebP or HEIF file, turned as its camera was held.

    Raises:
        ImportFailed: not such a file, broken, or larger than a photo can be.
    """
    where = path.name
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ImportFailed(f"It cannot be opened: {reason}.", where=where) from error
    if size > MOST_BYTES:
        raise ImportFailed("The file is larger than a photo can be.", where=where)
    return picture_from_bytes(data, where)


def picture_from_bytes(data: bytes, name: str) -> Picture:
    """Read a photo's bytes. See load_picture."""
    from PIL import Image, ImageOps, UnidentifiedImageError  # noqa: PLC0415 - see the layout

    _know_heif()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the size is judged here, not by Pillow
            opened = Image.open(io.BytesIO(data), formats=FORMATS)
        _refuse_size(opened.size, name)
        opened.load()
        upright = ImageOps.exif_transpose(opened)
        pixels = np.array(_without_alpha(upright), dtype=np.uint8)
    except UnidentifiedImageError as error:
        raise ImportFailed(
            "It is not a photo that can be read.",
            where=name,
            mend="Use a JPEG, PNG, WebP or HEIF file.",
        ) from error
    except Image.DecompressionBombError as error:
        raise _too_large(name) from error
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError, OverflowError) as error:
        raise ImportFailed(
            "The photo is broken or cut short.", where=name, mend="Copy it anew."
        ) from error
    pixels.setflags(write=False)
    return Picture(name, pixels)


def stored_bytes(pixels: Pixels) -> bytes:
    """Return a picture as the JPEG that goes into a job: pixels alone.

    Where and when it was taken, and by which camera, is left behind with the file.
    """
    from PIL import Image  # noqa: PLC0415

    buffer = io.BytesIO()
    Image.fromarray(pixels).save(
        buffer, "JPEG", quality=STORED_QUALITY, subsampling=0, optimize=False
    )
    return buffer.getvalue()


def halved(pixels: Pixels) -> Pixels:
    """Return a picture at half its size, each pixel the mean of four."""
    import cv2  # noqa: PLC0415

    size = (max(1, pixels.shape[1] // 2), max(1, pixels.shape[0] // 2))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def grey(pixels: Pixels) -> Pixels:
    """Return a picture's brightness, shape (height, width)."""
    import cv2  # noqa: PLC0415

    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def _know_heif() -> None:
    import pillow_heif  # noqa: PLC0415

    pillow_heif.register_heif_opener(thumbnails=False)


def _refuse_size(size: tuple[int, int], name: str) -> None:
    width, height = size
    if width * height > MOST_PX:
        raise _too_large(name)
    if min(width, height) < LEAST_SIDE_PX:
        raise ImportFailed(f"The picture is only {width} × {height} pixels.", where=name)


def _too_large(name: str) -> ImportFailed:
    return ImportFailed(
        f"The picture has more than {MOST_PX // 1_000_000} million pixels.",
        where=name,
        mend="Make it smaller first.",
    )


def _without_alpha(image: "Image") -> "Image":
    """Return the picture in red, green, blue; what can be seen through becomes white."""
    from PIL import Image  # noqa: PLC0415

    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        ground = Image.new("RGBA", image.size, (255, 255, 255, 255))
        return Image.alpha_composite(ground, image.convert("RGBA")).convert("RGB")
    return image.convert("RGB")

"""Colours that stay readable: contrast, ink on any film, tints.

Source: "relative luminance", "contrast ratio" in the Web Content Accessibility Guidelines 2.2
(W3C Recommendation).
"""

DARK, LIGHT = "#1b1f24", "#ffffff"


def luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb``: 0 for black, 1 for white."""
    r, g, b = (_linear(c / 255) for c in _channels(colour))
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    """Return the contrast ratio of two colours, from 1 to 21.

    >>> round(contrast("#000000", "#ffffff"))
    21
    """
    dark, light = sorted((luminance(a), luminance(b)))
    return (light + 0.05) / (dark + 0.05)


def ink_on(colour: str) -> str:
    """Return the ink, dark or light, that reads better on a colour."""
    return max((DARK, LIGHT), key=lambda ink: contrast(ink, colour))


def mix(colour: str, other: str, share: float) -> str:
    """Return the colour with a share (0 to 1) of the other in it.

    >>> mix("#000000", "#ffffff", 0.5)
    '#808080'
    """
    pairs = zip(_channels(colour), _channels(other), strict=True)
    return "#" + "".join(f"{int(a + (b - a) * share + 0.5):02x}" for a, b in pairs)


def apart(colour: str, ground: str, ratio: float = 1.6) -> str:
    """Return the colour, moved towards the ground's ink until it stands out by the ratio."""
    ink = ink_on(ground)
    for step in range(11):
        shade = mix(colour, ink, step / 10)
        if contrast(shade, ground) >= ratio:
            return shade
    return ink


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

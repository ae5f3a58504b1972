"""Places in a job file, said in words: ``$.films[0].roll_width_mm`` is "film 1, roll width"."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

_STEP = re.compile(r"\.([A-Za-z_0-9]+)|\[(\d+|\.\.\.)\]")

_LIST_WORDS = {
    "films": "film",
    "panels": "panel",
    "variants": "variant",
    "schemes": "scheme",
    "seams": "seam",
    "stripes": "stripe",
    "inlays": "inlay",
    "spots": "paint spot",
    "openings": "opening",
    "marks": "mark",
    "nodes": "node",
    "outline": "outline node",
    "stock": "stock",
    "nests": "kept nest",
    "sheets": "sheet",
    "placements": "placement",
    "pieces": "choice for a piece",
    "pins": "pin",
    "damaged": "damaged stretch",
    "offers": "roll width on offer",
    "cuts": "film cut",
    "path": "point",
    "offsets": "station",
    "lengths": "lengths after station",
}
_WORDS = {
    "at": "position",
    "rule": "how it meets",
    "before": "handle before",
    "after": "handle after",
    "dx_mm": "x",
    "dy_mm": "y",
    "colour": "swatch colour",
    "turn_mm": "edge turn",
    "flow_deg": "flow arrow",
    "is_pair": "mirrored pair",
    "to_left": "diagonal to the left",
    "to_right": "diagonal to the right",
    "first_beside": "tight tape beside the mark of the first station",
    "last_beside": "tight tape beside the mark of the last station",
    "id": "id",
}
_PAIRS = {"at", "before", "after"}
_UNIT_TAIL = re.compile(r"_(mm|deg|pct)$")


def place_in_words(path: str, data: object = None) -> str:
    """Return where a path of the file leads, in words.

    Args:
        path: such as ``$.panels[2].outline[3].at[0]``.
        data: the tree that the path runs through, for the names of films and panels; or None.

    >>> place_in_words("$.films[0].roll_width_mm")
    'film 1, roll width'
    >>> place_in_words("$.panels[1].outline[3].at[0]", {"panels": [{}, {"name": "Lid"}]})
    'panel 2 (Lid), outline node 4, position x'
    """
    words: list[str] = []
    key = ""
    here: object = data
    for name, index in _STEP.findall(path):
        if name:
            here = _step(here, name)
            if key:
                words.append(_word(key))
            key = name
        elif index.isdigit():
            here = _step(here, int(index))
            words.append(_item(key, int(index), here))
            key = ""
    if key:
        words.append(_word(key))
    return ", ".join(words)


def _word(key: str) -> str:
    return _WORDS.get(key) or _UNIT_TAIL.sub("", key).replace("_", " ")


def _item(key: str, index: int, item: object) -> str:
    """Say one item of a list, with its own name where it has one."""
    if key in _PAIRS or (not key and index < 2):
        axis = "xy"[index] if index < 2 else f"number {index + 1}"
        return f"{_word(key)} {axis}".strip()
    word = f"{_LIST_WORDS.get(key, _word(key))} {index + 1}"
    name = item.get("name") if isinstance(item, Mapping) else None
    return f"{word} ({name})" if isinstance(name, str) and name else word


def _step(here: object, step: str | int) -> object:
    if isinstance(here, Mapping):
        return here.get(step)
    if isinstance(here, Sequence) and isinstance(step, int) and step < len(here):
        return here[step]
    return None


_REASONS: tuple[tuple[str, str], ...] = (
    (r"Expected `(?:float|int)` (>=|<=|>|<) ([-\d.e+]+)", "The number must be {0} {1}."),
    (r"Expected `str` of length <= (\d+)", "The text must be no longer than {0} characters."),
    (r"Expected `str` matching regex '\^#.*", "A colour is written as # and six digits."),
    (r"Expected `str` matching regex .*", "An id is a letter and a number, such as s3."),
    (r"Expected `array` of length >= (\d+)", "It needs at least {0} entries."),
    (r"Expected `array` of (?:at least )?length (\d+).*", "It must have {0} numbers."),
    (r"Object missing required field `(\w+)`", "The entry {0} is missing."),
    (r"Object contains unknown field `(\w+)`", "The entry {0} is not known here."),
    (r"Invalid enum value '?([^']*)'?", "The value {0} is not one of those known here."),
    (r"Invalid value '?([^']*)'?", "The value {0} is not one of those known here."),
    (r"Expected `([\w |]+)`, got `(\w+)`", "{1} stands where {0} is expected."),
    (r"Number out of range.*", "The number is too large."),
)
_SIGNS = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than"}
_TYPES = {
    "float": "a number",
    "int": "a whole number",
    "str": "a text",
    "bool": "true or false",
    "array": "a list",
    "object": "an object",
    "null": "null",
}


def limit_in_words(message: str) -> tuple[str, str]:
    """Return what a validation message says in plain words, and the path that it names.

    >>> limit_in_words("Expected `float` > 0.0 - at `$.stock[0].length_mm`")
    ('The number must be more than 0.', '$.stock[0].length_mm')
    """
    said, _, path = message.partition(" - at `")
    for pattern, words in _REASONS:
        match = re.fullmatch(pattern, said)
        if match:
            sentence = words.format(*(_plain(part) for part in match.groups()))
            return sentence[0].upper() + sentence[1:], path.rstrip("`")
    return f"{said}.", path.rstrip("`")


def _plain(part: str) -> str:
    if part in _SIGNS:
        return _SIGNS[part]
    kinds = part.split(" | ")
    if all(kind in _TYPES for kind in kinds):
        return " or ".join(_TYPES[kind] for kind in kinds)
    return part.removesuffix(".0")


def quoted(value: Any) -> str:
    """Return a scrap of a file short enough for a message."""
    text = str(value)
    return f"“{text[:40]}…”" if len(text) > 41 else f"“{text}”"

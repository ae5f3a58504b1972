"""The door for values from outside: numbers become floats, limits are held."""

from collections.abc import Iterable
from typing import TypeVar

import msgspec

from core.document.path import Path
from core.document.places import limit_in_words, place_in_words
from core.errors import EditRefused

T = TypeVar("T", bound=msgspec.Struct)


def accept(value: T) -> T:
    """Return the value as a file would give it back: floats for whole numbers, limits held.

    Raises:
        EditRefused: when a number is not finite or out of its limits, an id is ill-formed, and
            so on; says which.
    """
    plain = msgspec.to_builtins(value)
    try:
        return msgspec.convert(plain, type(value))
    except msgspec.ValidationError as error:
        limit, path = limit_in_words(str(error))
        where = place_in_words(path, plain)
        raise EditRefused(limit, where=where, mend="Change that value.") from None


def refuse_repeats(ids: Iterable[str], where: str) -> None:
    """Refuse ids of which two are the same."""
    seen: set[str] = set()
    for one in ids:
        if one in seen:
            raise EditRefused(f"Two things have the id {one}.", where=where)
        seen.add(one)


def refuse_repeated_nodes(path: Path, where: str) -> None:
    """Refuse a path in which two nodes have the same id."""
    refuse_repeats((node.id for node in path), where)

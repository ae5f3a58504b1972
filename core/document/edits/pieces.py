"""Edits of what was decided about single pieces: tries, pins, and stock kept away from them."""

import re

from msgspec.structs import replace

from core.document.choices import PieceChoice, Pin
from core.document.edits.accept import accept
from core.document.job import Job
from core.document.variant import Variant
from core.errors import EditRefused


def set_piece_tries(job: Job, variant: str, piece: str, tries: int | None) -> Job:
    """Say how many times a piece may have to be cut; None takes the panel's word."""
    choice = job.variant(variant).choice(piece)
    return _with_choice(job, variant, replace(choice, tries=tries))


def pin_piece(job: Job, variant: str, piece: str, pin: Pin) -> Job:
    """Tie one try of a piece to a roll or offcut, or to a place on it.

    Raises:
        EditRefused: the piece is forbidden there, or there is no such roll or offcut.
    """
    choice = job.variant(variant).choice(piece)
    _refuse_unknown(job, pin.stock)
    if pin.stock in choice.forbidden:
        raise EditRefused(
            f"The piece is kept off {pin.stock}.", mend="Allow it there, then pin it."
        )
    others = tuple(p for p in choice.pins if p.attempt != pin.attempt)
    pins = tuple(sorted((*others, pin), key=lambda p: p.attempt))
    return _with_choice(job, variant, replace(choice, pins=pins))


def unpin_piece(job: Job, variant: str, piece: str, attempt: int | None = None) -> Job:
    """Let go of a piece's pin on one try, or of all its pins."""
    choice = job.variant(variant).choice(piece)
    kept = tuple(p for p in choice.pins if attempt is not None and p.attempt != attempt)
    return _with_choice(job, variant, replace(choice, pins=kept))


def forbid_stock(job: Job, variant: str, piece: str, stock: str) -> Job:
    """Keep a piece off a roll or offcut.

    Raises:
        EditRefused: the piece is pinned to it, or there is no such roll or offcut.
    """
    choice = job.variant(variant).choice(piece)
    _refuse_unknown(job, stock)
    if any(pin.stock == stock for pin in choice.pins):
        raise EditRefused(f"The piece is pinned to {stock}.", mend="Let go of the pin first.")
    forbidden = tuple(dict.fromkeys((*choice.forbidden, stock)))
    return _with_choice(job, variant, replace(choice, forbidden=forbidden))


def allow_stock(job: Job, variant: str, piece: str, stock: str) -> Job:
    """Let a piece be cut from a roll or offcut again."""
    choice = job.variant(variant).choice(piece)
    kept = tuple(s for s in choice.forbidden if s != stock)
    return _with_choice(job, variant, replace(choice, forbidden=kept))


def without_pieces_of(variant: Variant, panels: set[str]) -> Variant:
    """Return a variant without what was decided about the pieces of some panels."""
    kept = tuple(c for c in variant.pieces if _panel_of(c.piece) not in panels)
    return variant if len(kept) == len(variant.pieces) else replace(variant, pieces=kept)


def _panel_of(piece: str) -> str:
    """Return the panel that a piece's id starts with: ``p3`` of ``p3L.s1L``."""
    found = re.match(r"[a-z][0-9]+", piece)
    return found.group() if found else ""


def _refuse_unknown(job: Job, stock: str) -> None:
    known = {"buy", *(s.id for film in job.films for s in film.stock)}
    if stock not in known:
        raise EditRefused(
            f"There is no roll or offcut {stock}.", mend="Choose one that is in stock."
        )


def _with_choice(job: Job, variant: str, choice: PieceChoice) -> Job:
    """Put a choice in the place of the piece's old one; an empty one is dropped."""
    old = job.variant(variant)
    fresh = accept(choice)
    if fresh == old.choice(choice.piece):
        return job
    is_empty = fresh == PieceChoice(piece=fresh.piece)
    kept = [c for c in old.pieces if c.piece != fresh.piece]
    pieces = tuple(kept if is_empty else [*kept, fresh])
    changed = replace(old, pieces=pieces)
    return replace(job, variants=tuple(changed if v.id == variant else v for v in job.variants))

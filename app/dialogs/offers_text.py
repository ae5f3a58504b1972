"""Roll widths on offer as a person writes them: ``1220 at 16.50; 760 at 9``."""

import re

from PySide6.QtWidgets import QLineEdit

from core.document.film import Offer
from core.errors import InputError, LaplineError
from core.units import Units, format_length, parse_length

_AT = re.compile(r"\s*(?:\bat\b|@)\s*")


def offers_text(offers: tuple[Offer, ...], units: Units) -> str:
    """Return widths on offer as text.

    >>> offers_text((Offer(width_mm=1220.0, price_per_m=16.5),), Units.MM)
    '1220 mm at 16.5'
    """
    return "; ".join(f"{format_length(o.width_mm, units)} at {o.price_per_m:g}" for o in offers)


def offers_hint(units: Units) -> str:
    """Return an example of how to write them."""
    return f"{format_length(1220.0, units, decimals=0)} at 16.50; …"


def read_offers(field: QLineEdit, units: Units) -> tuple[Offer, ...]:
    """Return the widths that a field names. InputError names the field."""
    label = field.accessibleName()
    parts = [part.strip() for part in field.text().split(";") if part.strip()]
    found: list[Offer] = []
    for part in parts:
        width, *price = _AT.split(part)
        try:
            width_mm = parse_length(width, units)
            per_m = float(price[0].replace(",", ".")) if price else 0.0
        except LaplineError as error:
            raise InputError(error.what, where=label, mend=error.mend) from error
        except ValueError:
            width_mm, per_m = 0.0, 0.0
        if not (10 <= width_mm <= 1e5 and 0 <= per_m <= 1e6) or len(price) > 1:
            raise InputError(
                f'"{part}" is no width with its price.',
                where=label,
                mend="Write it like 1220 at 16.50, several with ; between.",
            )
        if any(offer.width_mm == width_mm for offer in found):
            raise InputError(
                f"{format_length(width_mm, units)} stands there twice.",
                where=label,
                mend="Give each width one price.",
            )
        found.append(Offer(width_mm=width_mm, price_per_m=per_m))
    return tuple(found)

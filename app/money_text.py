"""How sums of money are said in the window."""

_LONG = 1e5


def money_text(amount: float, currency: str) -> str:
    """Return a sum of money; one too long to read at a glance loses its cents.

    >>> money_text(53.755, "€"), money_text(1234567.8, "EUR")
    ('53.76 €', '1,234,568 EUR')
    """
    digits = f"{amount:,.0f}" if abs(amount) >= _LONG else f"{amount:,.2f}"
    return f"{digits} {currency}".strip()

"""What to buy and what it costs: as lines of text for a terminal, and as values for JSON."""

from collections.abc import Iterator
from typing import Any

from core.plan.model import JobPlan
from core.roll.buying import BuyingList, FilmBuying, WidthChoice
from core.roll.costs import CostTable
from core.roll.wording import length_on_hand, length_to_buy, told_mm
from core.units import format_length
from core.write.wording import counted, joined, text_table

Values = dict[str, Any]


def buying_lines(plan: JobPlan, buying: BuyingList, table: CostTable) -> Iterator[str]:
    """Yield each film with its widths on offer, then the costs of each panel."""
    yield f"{plan.job.name} · {plan.variant.name}"
    for film in buying.films:
        yield ""
        yield film.name
        yield f"  {_taken(plan, film)}"
        yield from text_table(
            [_width_row(plan, film, w, buying.currency) for w in film.widths],
            frozenset({0, 1, 2, 3}),
        )
        yield from _comparison(film)
    yield ""
    yield f"To buy: {_money(buying.price, buying.currency)}{_without(buying)}"
    saved = buying.price - buying.least_price
    if saved > 0.005:
        yield f"At the cheapest widths: {_money(buying.least_price, buying.currency)}"
    yield ""
    yield f"Costs ({buying.currency or 'money'})"
    yield from text_table(_cost_rows(table), frozenset(range(1, 7)))
    used = _money(table.total.film_used, buying.currency)
    yield f"Film used (film, waste and retakes, from stock too): {used}"


def _without(buying: BuyingList) -> str:
    """Name the films that the sum leaves out."""
    names = [f.name for f in buying.unmade]
    return f", without {joined(names)}: too narrow for a piece" if names else ""


def buying_values(plan: JobPlan, buying: BuyingList, table: CostTable) -> Values:
    """Return what to buy and its costs as values; the keys are in docs/command-line.md."""
    return {
        "job": plan.job.name,
        "variant": {"id": plan.variant.id, "name": plan.variant.name},
        "currency": buying.currency,
        "price": buying.price,
        "least_price": buying.least_price,
        "too_narrow": [f.film for f in buying.unmade],
        "film_used_price": table.total.film_used,
        "films": [_film_values(film) for film in buying.films],
        "costs": {
            "panels": [
                {
                    "panel": r.panel,
                    "name": r.name,
                    **_amounts(r.film, r.waste, r.retakes, r.tape),
                }
                for r in table.rows
            ],
            "total": _amounts(
                table.total.film, table.total.waste, table.total.retakes, table.total.tape
            ),
            "tape_mm": table.tape_mm,
            "areas": [
                {
                    "film": a.film,
                    "stock_mm2": a.stock_mm2,
                    "pieces_mm2": a.pieces_mm2,
                    "retakes_mm2": a.retakes_mm2,
                    "waste_mm2": a.waste_mm2,
                    "left_mm2": a.left_mm2,
                }
                for a in table.films
            ],
        },
    }


def _film_values(film: FilmBuying) -> Values:
    cheapest = film.cheapest
    return {
        "id": film.film,
        "name": film.name,
        "job_length_mm": film.job_mm,
        "with_retakes_mm": film.with_retakes_mm,
        "in_stock_mm": film.on_shelf_mm,
        "offcuts_used": film.offcuts_used,
        "compared_as": "packed" if film.is_packed else "at_once",
        "widths": [
            {
                "width_mm": w.width_mm,
                "price_per_m": w.price_per_m,
                "needed_mm": w.needed_mm,
                "bought_mm": w.bought_mm,
                "price": w.price,
                "left_mm": w.left_mm,
                "laid_out": w.is_current,
                "at_once_price": w.at_once_price,
                "packed_price": w.packed_price,
                "cheapest": w is cheapest,
            }
            for w in film.widths
        ],
        "retakes": [
            {
                "retakes": p.retakes,
                "pieces": p.pieces,
                "used_mm": p.used_mm,
                "needed_mm": p.needed_mm,
                "bought_mm": p.bought_mm,
                "price": p.price,
                "planned": p.is_planned,
            }
            for p in film.curve
        ],
    }


def _amounts(film: float, waste: float, retakes: float, tape: float) -> Values:
    return {"film": film, "waste": waste, "retakes": retakes, "tape": tape}


def _taken(plan: JobPlan, film: FilmBuying) -> str:
    units = plan.job.units
    text = f"job {length_to_buy(told_mm(film.job_lengths_mm, units), units)}"
    if film.with_retakes_mm > film.job_mm + 0.5:
        whole = told_mm(film.used_lengths_mm, units)
        text += f"; with retakes {length_to_buy(whole, units)}"
    text += f"; in stock {length_on_hand(film.on_shelf_mm, units)}"
    return text + (
        f", {counted(film.offcuts_used, 'offcut')} used" if film.offcuts_used else ""
    )


def _comparison(film: FilmBuying) -> Iterator[str]:
    """Yield how widths were compared, where there is anything to compare."""
    if not film.has_choice:
        return
    if film.is_packed:
        yield "  (each width as it was packed)"
    elif film.is_mixed:
        yield "  (compared as laid out at once, as not every width was packed)"
    else:
        yield "  (each width as it is laid out at once; --pack compares packed ones)"


def _width_row(
    plan: JobPlan, film: FilmBuying, choice: WidthChoice, currency: str
) -> tuple[str, ...]:
    units = plan.job.units
    width = f"  {format_length(choice.width_mm, units)}"
    if not choice.is_possible:
        return width, "not laid out" if choice.has_failed else "too narrow", "", "", ""
    notes = ["laid out"] if choice.is_current else []
    if choice is film.cheapest and len(film.widths) > 1 and choice.bought_mm:
        notes.append("cheapest")
    if not choice.bought_mm:
        return width, "nothing to buy", "", "", ", ".join(notes)
    return (
        width,
        f"buy {length_to_buy(choice.bought_mm, units)}",
        _money(choice.price, currency) if choice.price_per_m else "",
        f"leaves {length_on_hand(choice.left_mm, units)}",
        ", ".join(notes),
    )


def _cost_rows(table: CostTable) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        ("  panel", "film", "waste", "tape", "job", "retakes", "all")
    ]
    for row in (*table.rows, table.total):
        amounts = (row.film, row.waste, row.tape, row.job, row.retakes, row.total)
        rows.append((f"  {row.name}", *(f"{a:,.2f}" for a in amounts)))
    return rows


def _money(amount: float, currency: str) -> str:
    return f"{amount:,.2f} {currency}".strip()

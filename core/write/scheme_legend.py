"""The legend of a scheme: films with their place in the lay order, and the signs used."""

from collections.abc import Callable, Mapping, Sequence

from shapely import LineString, box

from core.document.film import Film
from core.document.lines import SeamCut
from core.plan.model import JobPlan, PanelPlan
from core.write.film_patterns import FilmPattern, pattern_ink, pattern_lines
from core.write.hatching import hatch_lines
from core.write.inks import DARK, LIGHT, apart, mix
from core.write.measures import area_text
from core.write.page import PAPER, SOFT, Page, shortened
from core.write.scheme_panel import (
    HATCH_DEG,
    SEAM_DASHES,
    badge,
    draw_relief,
    hatch_spacing,
)
from core.write.typeface import text_width_mm
from core.write.wording import counted

_NAME, _DETAIL, _SIGN = 0.95, 0.75, 0.75
_SWATCH = 2.4
_SAMPLE_FILM, _SAMPLE_UNDER = "#9fb4b8", "#e8c872"
"""Colours of the legend's own samples: no film of the job is meant."""


def films_seen(plan: JobPlan, panels: Sequence[PanelPlan]) -> list[str]:
    """Return the films of the panels' pieces, in the order in which they are laid."""
    ranks = {film.id: film.rank for film in plan.job.films}
    orders: dict[str, list[int]] = {}
    for panel in panels:
        for piece in panel.pieces:
            orders.setdefault(piece.film, []).append(piece.order)
    return sorted(orders, key=lambda film: (min(orders[film]), ranks[film], max(orders[film])))


def order_ranges(numbers: Sequence[int]) -> str:
    """Return numbers as ranges.

    >>> order_ranges([3, 1, 2, 5])
    '1–3, 5'
    """
    runs: list[list[int]] = []
    for n in sorted(set(numbers)):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs)


def draw_films(
    page: Page,
    plan: JobPlan,
    panels: Sequence[PanelPlan],
    place: tuple[float, float],
    patterns: Mapping[str, FilmPattern],
) -> float:
    """Draw a swatch and two lines for each film, in columns; return the lower end."""
    top, width = place
    unit = page.unit
    x, y = 0.0, top
    for film_id in films_seen(plan, panels):
        film = plan.job.film(film_id)
        pieces = [p for panel in panels for p in panel.pieces if p.film == film_id]
        laid = order_ranges([p.order for p in pieces])
        area = area_text(sum(p.cut.area for p in pieces), plan.job.units)
        count = counted(len(pieces), "piece")
        detail = f"laid {laid}  ·  {count}  ·  {area}"
        wide = _SWATCH * unit + unit
        name = shortened(film.name, _NAME * unit, width - wide, is_bold=True)
        wide += max(
            text_width_mm(name, _NAME * unit, is_bold=True),
            text_width_mm(detail, _DETAIL * unit),
        )
        if x > 0 and x + wide > width:
            x, y = 0.0, y - 4.0 * unit
        draw_swatch(page, film, (x, y), patterns.get(film_id, FilmPattern.PLAIN))
        left = x + (_SWATCH + 0.8) * unit
        page.text(name, (left, y - 0.95 * unit), _NAME, is_bold=True)
        page.text(detail, (left, y - 2.35 * unit), _DETAIL, colour=SOFT)
        x += wide + 3.5 * unit
    return y - 4.2 * unit


def draw_swatch(
    page: Page, film: Film, corner: tuple[float, float], pattern: FilmPattern
) -> None:
    """Draw a film's colour and pattern in a square by its upper left corner."""
    (x, y), side = corner, _SWATCH * page.unit
    swatch = page.look(film.colour, mix(film.colour, DARK, 0.45), 0.1)
    page.rect((x, y - side), (side, side), swatch)
    page.line(
        pattern_lines(box(x, y - side, x + side, y), pattern, page.unit * 0.8),
        pattern_ink(film.colour),
    )


def draw_signs(page: Page, names: Sequence[str], place: tuple[float, float]) -> float:
    """Draw a sample and a word for each sign; return the lower end."""
    top, width = place
    unit = page.unit
    x, y = 0.0, top - unit
    for name in names:
        draw, text = _SIGNS[name]
        wide = 3.4 * unit + text_width_mm(text, _SIGN * unit)
        if x > 0 and x + wide > width:
            x, y = 0.0, y - 2.8 * unit
        draw(page, x, y)
        page.text(text, (x + 3.4 * unit, y - _SIGN * unit / 2), _SIGN, colour=SOFT)
        x += wide + 2.6 * unit
    return y - 2.2 * unit


def _number(page: Page, x: float, y: float) -> None:
    badge(page, (x + 1.3 * page.unit, y), "1")


def _seam(cut: SeamCut) -> Callable[[Page, float, float], None]:
    def draw(page: Page, x: float, y: float) -> None:
        line = LineString([(x, y), (x + 2.6 * page.unit, y)])
        page.line(line, DARK, 0.18, SEAM_DASHES[cut])

    return draw


def _relief(page: Page, x: float, y: float) -> None:
    draw_relief(page, LineString([(x, y), (x + 2.2 * page.unit, y)]))


def _lap(page: Page, x: float, y: float) -> None:
    u = page.unit
    page.rect((x, y - 0.9 * u), (0.9 * u, 1.8 * u), page.look(_SAMPLE_UNDER))
    page.rect((x + 0.9 * u, y - 0.9 * u), (1.7 * u, 1.8 * u), page.look(_SAMPLE_FILM))
    band = box(x + 0.9 * u, y - 0.9 * u, x + 2.1 * u, y + 0.9 * u)
    lines = hatch_lines(band, hatch_spacing(u), HATCH_DEG)
    page.line(lines, apart(_SAMPLE_UNDER, _SAMPLE_FILM), 0.13)
    page.line(LineString([(x + 0.9 * u, y - 0.9 * u), (x + 0.9 * u, y + 0.9 * u)]), DARK, 0.15)


def _tick(page: Page, x: float, y: float) -> None:
    u = page.unit
    page.line(LineString([(x, y), (x + 2.6 * u, y)]), DARK, 0.15)
    page.line(LineString([(x + 1.3 * u, y - 0.7 * u), (x + 1.3 * u, y + 0.7 * u)]), DARK, 0.12)


def _turn(page: Page, x: float, y: float) -> None:
    u = page.unit
    page.rect((x, y - 0.8 * u), (2.6 * u, 0.8 * u), page.look(_SAMPLE_FILM))
    page.rect((x, y), (2.6 * u, 0.7 * u), page.look(mix(_SAMPLE_FILM, PAPER, 0.6)))
    page.line(LineString([(x, y), (x + 2.6 * u, y)]), DARK, 0.15)
    edge = LineString([(x, y + 0.7 * u), (x + 2.6 * u, y + 0.7 * u)])
    page.line(edge, SOFT, 0.1, (0.6, 0.4))


def _mark(page: Page, x: float, y: float) -> None:
    u = page.unit
    page.disc((x + 1.3 * u, y), 0.6 * u, page.look(LIGHT, DARK, 0.1))
    page.polyline([(x + 0.95 * u, y), (x + 1.65 * u, y)], DARK, 0.1)
    page.polyline([(x + 1.3 * u, y - 0.35 * u), (x + 1.3 * u, y + 0.35 * u)], DARK, 0.1)


_SIGNS: dict[str, tuple[Callable[[Page, float, float], None], str]] = {
    "number": (_number, "place in the lay order"),
    "seam": (_seam(SeamCut.PRE_CUT), "seam, cut beforehand"),
    "tape": (_seam(SeamCut.CUTTING_TAPE), "seam, cut by tape"),
    "butt": (_seam(SeamCut.BUTT), "butt seam"),
    "relief": (_relief, "relief cut"),
    "lap": (_lap, "runs on beneath"),
    "tick": (_tick, "match tick"),
    "turn": (_turn, "edge turn"),
    "mark": (_mark, "mark (bolt, damage, …)"),
}

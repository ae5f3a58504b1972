"""A film's properties and what of it is on the shelf."""

from msgspec.structs import replace
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QIcon, QPainter, QPixmap
from PySide6.QtWidgets import (
    QColorDialog,
    QPushButton,
    QWidget,
)

from app.dialogs.film_limits import FilmLimits
from app.dialogs.form import FormDialog, read_length, read_name, read_number
from app.dialogs.offers_text import offers_hint, offers_text, read_offers
from app.dialogs.stock_table import StockTable
from app.panes.controls import Combo, Spin
from core.document.film import Film, Finish, Grain, Turning
from core.document.job import Job
from core.errors import InputError
from core.units import Units, format_length

FINISH_WORDS = {
    Finish.GLOSS: "Gloss", Finish.SATIN: "Satin", Finish.MATT: "Matt",
    Finish.METALLIC: "Metallic", Finish.BRUSHED: "Brushed", Finish.WEAVE: "Weave",
    Finish.PATTERN: "Pattern",
}  # fmt: skip
GRAIN_WORDS = {
    (Grain.NONE, Turning.ANY): "None: pieces may lie any way, in steps of 1°",
    (Grain.NONE, Turning.QUARTERS): "None, in quarter turns: along or across the roll",
    (Grain.TWO_WAY, Turning.ANY): "Two-way: along the roll, either way",
    (Grain.ONE_WAY, Turning.ANY): "One-way: along the roll, one way only",
    (Grain.QUARTER_TURN, Turning.ANY): "Weave: along or across the roll",
}


class FilmDialog(FormDialog):
    """Edits a film. ``film`` is the result after it was accepted."""

    def __init__(self, film: Film, job: Job, title: str, parent: QWidget | None) -> None:
        super().__init__(title, parent, button="Save film")
        self.film, self._job = film, job
        units = job.units
        self.name = self.add_text("Name", film.name)
        self.colour = ColourButton(film.colour)
        self.add_field("Colour", self.colour)
        self.finish = _combo(FINISH_WORDS, film.finish)
        self.add_field("Finish", self.finish)
        self.rank = Spin()
        self.rank.setRange(0, 1000)
        self.rank.setValue(film.rank)
        self.rank.setToolTip("The higher rank lies on top at a seam; the base film is lowest")
        self.add_field("Rank", self.rank)
        self.limits = FilmLimits(film, units)
        self.add_field("Kind and limits", self.limits)
        self.radius = self.add_length("Inside radius from", film.min_inside_radius_mm, units)
        self.radius.setToolTip("Inside corners of pieces are rounded at least so much")
        side = self.begin_side()
        self._add_rolls(film, units)
        self.stock = StockTable(film, job)
        side.addWidget(self.stock, 1)
        self.finish_layout()
        self.setMinimumWidth(1000)
        self.name.selectAll()

    def _add_rolls(self, film: Film, units: Units) -> None:
        self.roll_width, self.margin = self.add_pair(
            ("Roll width", format_length(film.roll_width_mm, units)),
            ("Unused edge", format_length(film.edge_margin_mm, units)),
        )
        self.grain = Combo()
        self.grain.addItems(list(GRAIN_WORDS.values()))
        turning = film.turning if film.grain is Grain.NONE else Turning.ANY
        self.grain.setCurrentIndex(list(GRAIN_WORDS).index((film.grain, turning)))
        self.add_field("Grain", self.grain)
        self.price, self.step = self.add_pair(
            ("Price per metre", f"{film.price_per_m:g}"),
            ("Sold in steps of", format_length(film.buy_step_mm, units)),
        )
        self.offers = self.add_text("Other widths", offers_text(film.offers, units))
        self.offers.setPlaceholderText(offers_hint(units))
        self.offers.setToolTip("Roll widths that the shop has, each with its price per metre")

    def check(self) -> None:
        """Read the film from the fields."""
        units = self._job.units
        kind, limits = self.limits.read()
        grain, turning = list(GRAIN_WORDS)[self.grain.currentIndex()]
        width_mm = read_length(self.roll_width, units, least_mm=10.0)
        margin_mm, price = read_length(self.margin, units), read_number(self.price)
        if 2 * margin_mm >= width_mm:
            raise InputError(
                "It leaves nothing of the roll.",
                where=self.margin.accessibleName(),
                mend="Take less than half of the roll's width.",
            )
        offers = read_offers(self.offers, units)
        if any(o.width_mm == width_mm and o.price_per_m != price for o in offers):
            raise InputError(
                f"{format_length(width_mm, units)} is the roll width, with another price.",
                where=self.offers.accessibleName(),
                mend="Leave it out there; its price is the one above.",
            )
        self.film = replace(
            self.film,
            name=read_name(self.name),
            colour=self.colour.colour,
            finish=list(FINISH_WORDS)[self.finish.currentIndex()],
            rank=self.rank.value(),
            roll_width_mm=width_mm,
            edge_margin_mm=margin_mm,
            grain=grain,
            turning=turning,
            price_per_m=price,
            offers=offers,
            buy_step_mm=read_length(self.step, units, least_mm=1.0),
            min_inside_radius_mm=read_length(self.radius, units),
            kind=kind,
            bunching_limit_pct=limits.bunching_pct,
            stretch_limit_pct=limits.stretch_pct,
            warm_stretch_limit_pct=limits.warm_stretch_pct,
            stock=self.stock.read(),
        )


class ColourButton(QPushButton):
    """Shows a colour and lets it be chosen."""

    def __init__(self, colour: str) -> None:
        super().__init__()
        self.colour = colour
        self.setAutoDefault(False)
        self.setIconSize(QSize(48, 16))
        self.clicked.connect(self._on_clicked)
        self.show_colour(colour)

    def show_colour(self, colour: str) -> None:
        """Take on a colour, ``#rrggbb``."""
        self.colour = colour
        pixmap = QPixmap(96, 32)
        pixmap.fill(QColor(colour))
        painter = QPainter(pixmap)
        painter.setPen(QColor("#80808080"))
        painter.drawRect(0, 0, 95, 31)
        painter.end()
        self.setIcon(QIcon(pixmap))
        self.setText(colour)

    def _on_clicked(self) -> None:
        chosen = QColorDialog.getColor(QColor(self.colour), self, "Colour of the film")
        if chosen.isValid():
            self.show_colour(chosen.name())


def _combo(words: dict[Finish, str], value: object) -> Combo:
    combo = Combo()
    combo.addItems(list(words.values()))
    combo.setCurrentIndex([str(k) for k in words].index(str(value)))
    return combo

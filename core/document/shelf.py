"""The shelf: rolls and offcuts that all jobs share, apart from any of them.

A job takes a roll or offcut from the shelf by copying it: it works from its own copy, wherever
it is opened. The shelf notes which job has it, and counts changes of each entry, so that two
jobs that cut from one roll find out. Nothing here reads or writes files.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import replace

from core.document.edits.accept import accept
from core.document.edits.films import set_stock
from core.document.edits.ids import free_id
from core.document.film import Film, Finish, Offcut, Roll, ShelfPlace, Stock
from core.document.job import Job
from core.document.path import Name
from core.errors import EditRefused, ShelfConflict

Key = Annotated[str, Meta(pattern=r"^[0-9a-f]{8,32}$")]
Colour = Annotated[str, Meta(pattern="^#[0-9a-f]{6}$")]


class ShelfEntry(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One roll or offcut on the shelf.

    Attributes:
        key: its name for good; never used again.
        film: name of the film; jobs find their film by it.
        stock: its size; the id in it means nothing here.
        revision: goes up with every change.
        taken_by: the job that has it in its stock, or "".
        taken_file: name of that job's file, where it is known.
    """

    key: Key
    film: Name
    colour: Colour
    finish: Finish = Finish.GLOSS
    stock: Stock
    revision: Annotated[int, Meta(ge=1)] = 1
    taken_by: Name = ""
    taken_file: Annotated[str, Meta(max_length=255)] = ""


class Shelf(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """All that lies on the shelf, in the order in which it came there."""

    entries: tuple[ShelfEntry, ...] = ()

    def entry(self, key: str) -> ShelfEntry:
        """Return an entry; ShelfConflict when it is not there (any more)."""
        for entry in self.entries:
            if entry.key == key:
                return entry
        raise ShelfConflict(
            "It is no longer on the shelf.", mend="Look at the shelf again, and choose anew."
        )


@dataclass(frozen=True, slots=True)
class ShelfChange:
    """Something to be done to the shelf, to be agreed to before.

    Attributes:
        film: whose stock it is.
        before: the entry as it was seen, or None for film that comes anew.
        after: what of it there is then; None when it is used up.
        text: what happens, in the bench's words.
    """

    film: Film
    before: ShelfPlace | None
    after: Stock | None
    text: str


@dataclass(frozen=True, slots=True)
class StockConflict:
    """A roll or offcut of which job and shelf say different things.

    Attributes:
        film, stock: ids in the job.
        entry: the shelf's, or None when it is gone from there.
    """

    film: str
    stock: str
    entry: ShelfEntry | None
    text: str


def put_on_shelf(shelf: Shelf, film: Film, stock: Stock, key: str) -> Shelf:
    """Put a roll or offcut on the shelf under a new key."""
    if any(entry.key == key for entry in shelf.entries):
        raise ShelfConflict("Two things on the shelf would have one key.", mend="Try again.")
    entry = ShelfEntry(
        key=key,
        film=film.name,
        colour=film.colour,
        finish=film.finish,
        stock=_for_shelf(stock, film),
    )
    return replace(shelf, entries=(*shelf.entries, accept(entry)))


def remove_from_shelf(shelf: Shelf, key: str, revision: int) -> Shelf:
    """Take an entry off the shelf for good. ShelfConflict when it changed meanwhile."""
    _seen(shelf, key, revision)
    return replace(shelf, entries=tuple(e for e in shelf.entries if e.key != key))


def change_on_shelf(shelf: Shelf, key: str, revision: int, stock: Stock) -> Shelf:
    """Change an entry's size. ShelfConflict when it changed meanwhile."""
    entry = _seen(shelf, key, revision)
    kept = replace(stock, id=entry.stock.id, shelf=None)
    return _with(shelf, replace(entry, stock=kept, revision=revision + 1))


def take_from_shelf(
    job: Job, shelf: Shelf, film: str, keys: Iterable[str]
) -> tuple[Job, Shelf]:
    """Copy entries into a film's stock, and note on the shelf which job has them.

    Raises:
        EditRefused: the job has one of them already, or another job has it.
        ShelfConflict: one is not there any more.
    """
    held = {s.shelf.key for f in job.films for s in f.stock if s.shelf is not None}
    for key in keys:
        entry = shelf.entry(key)
        if key in held:
            raise EditRefused("The job has this roll or offcut already.", where=entry.film)
        if entry.taken_by:
            raise EditRefused(
                f"The job {holder_text(shelf, entry, job)} has this roll or offcut.",
                where=entry.film,
                mend="Finish that job, or put the film back from there.",
            )
        fresh = replace(entry, taken_by=_name_of(job), revision=entry.revision + 1)
        place = ShelfPlace(key=key, revision=fresh.revision)
        prefix = "r" if isinstance(entry.stock, Roll) else "k"
        own = replace(entry.stock, id=free_id(job, prefix), shelf=place)
        job = set_stock(job, film, (*job.film(film).stock, own))
        shelf = _with(shelf, fresh)
    return job, shelf


def put_back(job: Job, shelf: Shelf, stocks: Collection[str]) -> tuple[Job, Shelf]:
    """Take stock out of the job and free it on the shelf, as it is in the job.

    Stock that did not come from the shelf, or is gone from there, comes onto it anew only by
    ``put_on_shelf``; here it is left in the job.
    """
    for film in job.films:
        gone = [s for s in film.stock if s.id in stocks and s.shelf is not None]
        for stock in gone:
            assert stock.shelf is not None
            entry = _seen(shelf, stock.shelf.key, stock.shelf.revision)
            kept = replace(_for_shelf(stock, film), id=entry.stock.id)
            revision = entry.revision + 1
            shelf = _with(shelf, replace(entry, stock=kept, revision=revision, taken_by=""))
        if gone:
            left = tuple(s for s in film.stock if s not in gone)
            job = set_stock(job, film.id, left)
    return job, shelf


def with_files(before: Shelf, after: Shelf, file: str) -> Shelf:
    """Return a shelf on which what a job has taken since is noted with the job's file."""
    known = {e.key: e for e in before.entries}

    def noted(entry: ShelfEntry) -> ShelfEntry:
        old = known.get(entry.key)
        is_new = old is None or (old.taken_by, old.revision) != (entry.taken_by, entry.revision)
        if not entry.taken_by:
            return replace(entry, taken_file="")
        return replace(entry, taken_file=file[:255]) if is_new else entry

    return replace(after, entries=tuple(noted(e) for e in after.entries))


def holder_text(shelf: Shelf, entry: ShelfEntry, job: Job | None = None) -> str:
    """Return the title of the job that has an entry, with its file where titles do not tell.

    Args:
        shelf: all that lies there.
        entry: what a job has.
        job: the one that asks.
    """
    alike = {e.taken_file for e in shelf.entries if e.taken_by == entry.taken_by}
    is_shared = len(alike) > 1 or (job is not None and _name_of(job) == entry.taken_by)
    if entry.taken_file and is_shared:
        return f"{entry.taken_by} ({entry.taken_file})"
    return entry.taken_by


def free_on_shelf(shelf: Shelf, key: str, revision: int) -> Shelf:
    """Forget which job has an entry: that job was given up, say.

    Raises:
        ShelfConflict: it changed meanwhile, as by another job that took it.
    """
    entry = _seen(shelf, key, revision)
    return _with(shelf, replace(entry, taken_by="", revision=entry.revision + 1))


def apply_changes(
    shelf: Shelf, changes: Iterable[ShelfChange], new_keys: Iterable[str]
) -> Shelf:
    """Return the shelf after changes that were agreed to.

    Args:
        shelf: as it is now.
        changes: in order.
        new_keys: unused keys, one for each thing that comes anew.

    Raises:
        ShelfConflict: an entry is not as it was seen; nothing is changed then.
    """
    keys = iter(new_keys)
    for change in changes:
        if change.before is None:
            if change.after is not None:
                shelf = put_on_shelf(shelf, change.film, change.after, next(keys))
            continue
        key, revision = change.before.key, change.before.revision
        if change.after is None:
            shelf = remove_from_shelf(shelf, key, revision)
        else:
            shelf = change_on_shelf(shelf, key, revision, _for_shelf(change.after, change.film))
            shelf = _with(shelf, replace(shelf.entry(key), taken_by=""))
    return shelf


def stock_conflicts(job: Job, shelf: Shelf) -> tuple[StockConflict, ...]:
    """Return where the job's copies and the shelf differ; films that were cut are past that."""
    done = {cut.film for cut in job.cuts}
    entries = {entry.key: entry for entry in shelf.entries}
    found = []
    for film in job.films:
        for stock in film.stock if film.id not in done else ():
            if stock.shelf is None:
                continue
            entry = entries.get(stock.shelf.key)
            why = _difference(entry, stock, stock.shelf, _name_of(job))
            if why:
                text = f"{film.name}, {stock.id}: {why}"
                found.append(StockConflict(film.id, stock.id, entry, text))
    return tuple(found)


def follow_shelf(job: Job, shelf: Shelf, conflict: StockConflict) -> tuple[Job, Shelf]:
    """Let the job have a roll or offcut as the shelf says.

    One that is gone, or that another job has, is taken out of this one; one that lies free is
    noted as this job's again.
    """
    entry = conflict.entry
    is_lost = entry is None or entry.taken_by not in {"", _name_of(job)}
    fresh: list[Stock] = []
    for one in job.film(conflict.film).stock:
        if one.id != conflict.stock:
            fresh.append(one)
        elif entry is not None and not is_lost:
            if not entry.taken_by:
                entry = replace(entry, taken_by=_name_of(job), revision=entry.revision + 1)
                shelf = _with(shelf, entry)
            place = ShelfPlace(key=entry.key, revision=entry.revision)
            fresh.append(replace(entry.stock, id=one.id, shelf=place))
    return set_stock(job, conflict.film, tuple(fresh)), shelf


def entries_for(shelf: Shelf, film: Film) -> tuple[ShelfEntry, ...]:
    """Return what lies on the shelf of a film, found by its name in any case."""
    wanted = film.name.strip().casefold()
    return tuple(e for e in shelf.entries if e.film.strip().casefold() == wanted)


def names_without(shelf: Shelf, job: Job) -> tuple[str, ...]:
    """Return the names of films on the shelf that no film of the job has."""
    own = {film.name.strip().casefold() for film in job.films}
    names = (e.film for e in shelf.entries if e.film.strip().casefold() not in own)
    return tuple(dict.fromkeys(names))


def _name_of(job: Job) -> str:
    """Return what the shelf notes of a job."""
    return job.name or "a job"


def _difference(
    entry: ShelfEntry | None, stock: Stock, place: ShelfPlace, own_name: str
) -> str:
    if entry is None:
        return "it is no longer on the shelf; another job may have used it up."
    if entry.revision == place.revision:
        return ""
    if entry.taken_by not in {"", own_name}:
        return f"the job {entry.taken_by} has it now."
    if entry.stock.length_mm != stock.length_mm:
        now, own = entry.stock.length_mm / 1000, stock.length_mm / 1000
        return f"on the shelf it is {now:.2f} m long now, in this job {own:.2f} m."
    return "it was changed on the shelf since this job took it."


def _seen(shelf: Shelf, key: str, revision: int) -> ShelfEntry:
    entry = shelf.entry(key)
    if entry.revision != revision:
        raise ShelfConflict(
            "It was changed on the shelf meanwhile.",
            where=entry.film,
            mend="Look at the shelf again, and decide anew.",
        )
    return entry


def _with(shelf: Shelf, fresh: ShelfEntry) -> Shelf:
    entries = tuple(accept(fresh) if e.key == fresh.key else e for e in shelf.entries)
    return replace(shelf, entries=entries)


def _for_shelf(stock: Stock, film: Film) -> Stock:
    """Return stock as it lies on the shelf, where no film says how wide a roll is."""
    if isinstance(stock, Offcut):
        return replace(stock, id="k1", shelf=None)
    return replace(stock, id="r1", width_mm=stock.width_mm or film.roll_width_mm, shelf=None)

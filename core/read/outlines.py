"""The one way in for drawing files: DXF, SVG and PDF become panels with openings.

Reading has two halves. ``load_source`` reads the file, which may take long; ``make_outlines``
joins and sorts what was read, with the units, layers and tolerance that the user chose, and is
quick enough to be done again at each change.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from msgspec.structs import replace

from core.document.edits.paths import translate_path
from core.document.panel import Opening, Panel
from core.errors import ImportFailed, InputError
from core.ids import OpeningId, PanelId
from core.progress import Progress, Silent, Step, stop_if_cancelled
from core.read.joining import Chain, Gap, Joined, Run, join
from core.read.limits import MAX_FILE_BYTES, MAX_LOOPS, MAX_NAME, MAX_SPAN_MM
from core.read.loops import LEAST_MM2, Nest, Ring, nest, to_ring, without_doubles
from core.read.strokes import Skipped, SourceDrawing, segments_of
from core.units import Units, parse_length

CURVE_MM = 0.01
"""How far a curve may be off the arc or spline that it stands for."""
JOIN_MM = 0.1
NEAR_MM = 10.0
"""Open lines whose ends are no farther apart are named one by one: they look like mistakes."""
MOST_NAMED = 40
DECIMALS = 7
SUFFIXES = (".dxf", ".svg", ".svgz", ".pdf")
_ANY_FILM = "f1"


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """What the user chooses about a file.

    Attributes:
        units: of the drawing; None takes what the file says, else millimetres.
        layers: those to read; None takes those that the file shows.
        join_mm: ends no farther apart are joined.
    """

    units: Units | None = None
    layers: tuple[str, ...] | None = None
    join_mm: float = JOIN_MM


@dataclass(frozen=True, slots=True)
class LayerFound:
    """A layer of the file.

    Attributes:
        is_read: whether its lines are among the panels.
        count: its lines and curves.
    """

    name: str
    is_shown: bool
    is_read: bool
    count: int


@dataclass(frozen=True)
class Outlines:
    """What was found in a file.

    Attributes:
        panels: candidates. Each outline starts from its own corner; ``at`` is where that is in
            the file. Ids are good within these outlines alone.
        panel_layers: the layer of each panel's outline.
        origins: for each panel the place in the file of the stroke that its outline starts
            with; it stays the same when the same source is sorted anew.
        mm_per_unit: the scale that was used.
        units_words: what its unit is and who says so, "" when nothing is said.
        is_unit_assumed: whether neither the file nor the user said, so that it was a guess.
        repairs: what was mended, as sentences.
        skipped: what was left out.
        notes: what else there is to know, as sentences.
        deviation_mm: how far the curves may be off those in the file.
    """

    where: str
    panels: tuple[Panel, ...]
    panel_layers: tuple[str, ...]
    origins: tuple[int, ...]
    mm_per_unit: float
    units_words: str
    is_unit_assumed: bool
    layers: tuple[LayerFound, ...]
    repairs: tuple[str, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    notes: tuple[str, ...] = ()
    deviation_mm: float = field(default=CURVE_MM)


def read_outlines(
    path: Path, options: ReadOptions | None = None, progress: Progress | None = None
) -> Outlines:
    """Read a DXF, SVG or PDF file.

    Raises:
        ImportFailed: it cannot be read, holds no lines, or holds too much.
        Cancelled: the user stopped it.
    """
    progress = progress or Silent()
    return make_outlines(load_source(path, progress), options or ReadOptions(), progress)


def load_source(path: Path, progress: Progress) -> SourceDrawing:
    """Read a file as strokes, its kind told by its name.

    Raises:
        ImportFailed, Cancelled: see ``read_outlines``.
    """
    read = _reader(path)
    try:
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            raise ImportFailed(
                f"It is larger than {MAX_FILE_BYTES // 2**20} MiB.",
                where=str(path),
                mend="Save the panels alone in a file of their own.",
            )
        source = read(path, progress)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ImportFailed(f"It cannot be opened: {reason}.", where=str(path)) from error
    if not source.strokes:
        left_out = ", ".join(f"{s.count} {s.kind}" for s in source.skipped[:4])
        more = f" What it holds was left out: {left_out}." if left_out else ""
        raise ImportFailed(
            f"There is no line or curve in it.{more}",
            where=str(path),
            mend="Export the outlines as lines or paths.",
        )
    return source


def _reader(path: Path) -> Callable[[Path, Progress], SourceDrawing]:
    """Return what reads a file; the libraries are loaded when they are first needed."""
    suffix = path.suffix.lower()
    if suffix == ".dxf":
        from core.read.dxf import read_dxf  # noqa: PLC0415 - a library of its own

        return read_dxf
    if suffix in (".svg", ".svgz"):
        from core.read.svg import read_svg  # noqa: PLC0415

        return read_svg
    if suffix == ".pdf":
        from core.read.pdf import read_pdf  # noqa: PLC0415

        return read_pdf
    raise ImportFailed(
        "Outlines are read from DXF, SVG and PDF files.",
        where=str(path),
        mend="Save it as one of these from the program that drew it.",
    )


def make_outlines(source: SourceDrawing, options: ReadOptions, progress: Progress) -> Outlines:
    """Join and sort what was read into panels with openings.

    Raises:
        InputError: the tolerance cannot be used.
        ImportFailed: it comes to more, or larger, panels than can be.
        Cancelled: the user stopped it.
    """
    if not 0 <= options.join_mm <= 1000:
        raise InputError("The join tolerance has to be between 0 and 1000 mm.")
    scale = _scale(source, options)
    layers = _layers(source, options)
    read = {layer.name for layer in layers if layer.is_read}
    progress.tell(Step("Joining lines"))
    joined = join(_runs(source, scale, read, progress), options.join_mm, progress)
    if len(joined.loops) > MAX_LOOPS:
        raise ImportFailed(
            f"It holds {len(joined.loops):,} closed outlines; {MAX_LOOPS:,} can be read.",
            where=source.where,
            mend="Choose fewer layers, or save the panels alone in a file of their own.",
        )
    progress.tell(Step("Sorting outlines"))
    found = [to_ring(loop) for loop in joined.loops]
    rings, twice = without_doubles([ring for ring in found if ring])
    nests = nest(rings, progress)
    _check_span(nests, source, options)
    panels = _panels(nests, Path(source.where).stem)
    return Outlines(
        where=source.where,
        panels=panels,
        panel_layers=tuple(n.outline.layer for n in nests),
        origins=tuple(n.outline.order for n in nests),
        mm_per_unit=scale,
        units_words=source.units_words,
        is_unit_assumed=options.units is None and source.mm_per_unit is None,
        layers=layers,
        repairs=(*source.repairs, *_repairs(joined, twice)),
        skipped=(*source.skipped, *_left_out(joined, found.count(None))),
        notes=(*source.notes, *_crossings(nests, panels)),
    )


def _scale(source: SourceDrawing, options: ReadOptions) -> float:
    if options.units is not None:
        return parse_length("1", options.units)
    return source.mm_per_unit or 1.0


def _layers(source: SourceDrawing, options: ReadOptions) -> tuple[LayerFound, ...]:
    counts = Counter(stroke.layer for stroke in source.strokes)
    if options.layers is not None:
        _refuse_unknown(options.layers, source)
    return tuple(
        LayerFound(
            layer.name,
            layer.is_shown,
            layer.is_shown if options.layers is None else layer.name in options.layers,
            counts[layer.name],
        )
        for layer in source.layers
    )


def _refuse_unknown(wanted: tuple[str, ...], source: SourceDrawing) -> None:
    names = [layer.name for layer in source.layers]
    for name in wanted:
        if name not in names:
            listed = ", ".join(n or "(no name)" for n in names[:12])
            raise InputError(
                f"There is no layer named {name} with lines in it.",
                where=source.where,
                mend=f"Its layers are: {listed}.",
            )


def _runs(
    source: SourceDrawing, scale: float, layers: set[str], progress: Progress
) -> list[Run]:
    runs = []
    for count, stroke in enumerate(source.strokes):
        if count % 500 == 0:
            stop_if_cancelled(progress)
        if stroke.layer not in layers:
            continue
        segments = tuple(segments_of(stroke, scale, CURVE_MM))
        if segments:
            runs.append(
                Run(
                    segments,
                    stroke.layer,
                    stroke.name,
                    count,
                    is_closed=stroke.is_closed,
                    is_filled=stroke.is_filled,
                )
            )
    return runs


def _check_span(nests: list[Nest], source: SourceDrawing, options: ReadOptions) -> None:
    for one in nests:
        left, bottom, right, top = one.outline.shape.bounds
        if max(right - left, top - bottom) > MAX_SPAN_MM:
            chosen = options.units.value if options.units else source.units_words
            raise ImportFailed(
                "An outline in it is more than a kilometre long.",
                where=source.where,
                mend=f"Check the units: it was read as {chosen or 'millimetres'}.",
            )


def _panels(nests: list[Nest], stem: str) -> tuple[Panel, ...]:
    names = _names(nests, stem)
    panels = []
    opening = 0
    for i, (one, name) in enumerate(zip(nests, names, strict=True), 1):
        left, bottom = (round(v, DECIMALS) for v in one.outline.corner)
        openings = []
        for ring in one.openings:
            opening += 1
            nodes = translate_path(ring.nodes, -left, -bottom)
            openings.append(Opening(id=OpeningId(f"o{opening}"), nodes=nodes))
        panels.append(
            Panel(
                id=PanelId(f"p{i}"),
                name=name,
                outline=translate_path(one.outline.nodes, -left, -bottom),
                base_film=_ANY_FILM,
                openings=tuple(openings),
                at=(left, bottom),
            )
        )
    return tuple(panels)


def _names(nests: list[Nest], stem: str) -> list[str]:
    """Name each panel after what the file calls it, else after its layer, else the file."""
    counts = Counter(n.outline.layer for n in nests)
    wanted = [_name(n.outline, counts[n.outline.layer]) or _clean(stem) for n in nests]
    totals = Counter(wanted)
    seen: Counter[str] = Counter()
    names = []
    for name in wanted:
        seen[name] += 1
        names.append(name if totals[name] == 1 else f"{name} {seen[name]}")
    return names


def _name(ring: Ring, on_its_layer: int) -> str:
    name = _clean(ring.name)
    if not name and on_its_layer == 1 and ring.layer not in ("", "0"):
        name = _clean(ring.layer)
    return name


def _clean(text: str) -> str:
    """Return a name as one short line."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(plain.replace("_", " ").split())[:MAX_NAME]


def _place(at: complex) -> str:
    return f"x {at.real:.1f}, y {at.imag:.1f} mm"


def _repairs(joined: Joined, twice: int) -> list[str]:
    said = [_gap(gap) for gap in joined.gaps]
    if joined.doubled:
        said.append(
            _count(joined.doubled, "line was", "lines were") + " drawn twice; one is kept."
        )
    if twice:
        said.append(
            _count(twice, "outline was", "outlines were") + " drawn twice; one is kept."
        )
    if joined.closed_by_fill:
        count = _count(joined.closed_by_fill, "open path is", "open paths are")
        said.append(f"{count} closed by a straight line, as its fill shows it.")
    return said


def _gap(gap: Gap) -> str:
    layer = f", layer {gap.layer}" if gap.layer not in ("", "0") else ""
    return f"A gap of {gap.gap_mm:.2g} mm was closed at {_place(gap.at)}{layer}."


def _left_out(joined: Joined, tiny: int) -> list[Skipped]:
    near = sorted(
        (c for c in joined.open_chains if c.gap_mm <= NEAR_MM and c.count > 1),
        key=lambda chain: chain.gap_mm,
    )
    found = [_open(chain) for chain in near[:MOST_NAMED]]
    rest = len(joined.open_chains) - len(found)
    if rest:
        found.append(Skipped("Open line", "it encloses nothing", rest))
    if tiny:
        least = f"it encloses less than {LEAST_MM2:g} mm²"
        found.append(Skipped("Closed line", least, tiny))
    return found


def _open(chain: Chain) -> Skipped:
    reason = f"its ends are {chain.gap_mm:.2g} mm apart, at {_place(chain.at)}"
    return Skipped("Open line", reason, 1)


def _crossings(nests: list[Nest], panels: tuple[Panel, ...]) -> list[str]:
    said = []
    for one, panel in zip(nests, panels, strict=True):
        if one.outline.is_crossing:
            said.append(f"{panel.name}: the outline crosses itself; mend it after the import.")
        if any(opening.is_crossing for opening in one.openings):
            said.append(f"{panel.name}: an opening crosses itself; mend it after the import.")
    return said


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def renamed(panel: Panel, name: str) -> Panel:
    """Return a candidate under another name."""
    return replace(panel, name=_clean(name) or panel.name)

"""An SVG file made safe and plain before it is interpreted.

The XML is read with expat, which fetches nothing from outside; entities are refused, for that
is how a small file becomes a huge one. Then what is not drawn is taken out, references are put
in place (each counted), and every shape is told its layer and its name.
"""

import copy
import re
import zlib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree as ET
from xml.parsers import expat

from core.errors import ImportFailed
from core.progress import Progress
from core.read.limits import MAX_DEPTH, MAX_TEXT_BYTES, Budget

SVG = "http://www.w3.org/2000/svg"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
LAYER, NAME = "lapline-layer", "lapline-name"
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_KEPT = SHAPES | {"svg", "g", "a", "switch", "use", "defs", "symbol", "style"}
_REASONS = {
    "text": "texts are not outlines; turn them into paths",
    "image": "a picture",
    "foreignObject": "not a drawing",
}
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
"""Source: CSS Values and Units, absolute lengths."""
_GZIP = b"\x1f\x8b"
_BOX = {"x", "y", "width", "height"}


@dataclass(frozen=True)
class PlainSvg:
    """An SVG with groups and shapes alone.

    Attributes:
        skipped: what was taken out, by kind and reason.
        width_mm, height_mm: where the file says how large it is in the world.
    """

    root: ET.Element
    skipped: Counter[tuple[str, str]]
    width_mm: float | None
    height_mm: float | None


def plain_svg(path: Path, progress: Progress) -> PlainSvg:
    """Return an SVG file made plain.

    Raises:
        ImportFailed: it is no SVG, declares entities, or expands to too much.
    """
    where = str(path)
    root = _parsed(_unpacked(path), where)
    if _tag(root) != "svg":
        raise ImportFailed(
            "It is not an SVG drawing.", where=where, mend="Choose another file."
        )
    width_mm, height_mm = (_length_mm(root.get(key, "")) for key in ("width", "height"))
    _say_other_side(root, width_mm, height_mm)
    plain = _Plain(root, Budget(where, progress))
    for child in list(root):
        plain.clean(child, root, 1)
    for count, child in enumerate(child for child in root if _tag(child) == "g"):
        own = child.get(LABEL) or child.get("id") or f"Group {count + 1}"
        child.set(LAYER, own)
    return PlainSvg(root, plain.skipped, width_mm, height_mm)


def _unpacked(path: Path) -> bytes:
    with path.open("rb") as stream:
        data = stream.read(MAX_TEXT_BYTES + 1)
    if data.startswith(_GZIP):
        inflate = zlib.decompressobj(wbits=31)
        try:
            data = inflate.decompress(data, MAX_TEXT_BYTES + 1)
        except zlib.error as error:
            raise ImportFailed(
                "It is packed, and broken.", where=str(path), mend="Save it anew."
            ) from error
    if len(data) > MAX_TEXT_BYTES:
        raise ImportFailed(
            f"It comes to more than {MAX_TEXT_BYTES // 2**20} MiB of text.",
            where=str(path),
            mend="Save the panels alone in a file of their own.",
        )
    return data


class _Guard:
    """Builds the tree and stops at what does not belong into a drawing."""

    def __init__(self, where: str) -> None:
        self._where = where
        self._depth = 0
        self._build = ET.TreeBuilder()
        self.parser = expat.ParserCreate(namespace_separator="}")
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self.parser.EntityDeclHandler = self._refuse_entity
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._build.data

    def tree(self, data: bytes) -> ET.Element:
        """Return the root element."""
        self.parser.Parse(data, True)  # noqa: FBT003 - expat's own signature
        return self._build.close()

    def _refuse_entity(self, name: str, *_rest: object) -> None:
        raise ImportFailed(
            f"It declares an entity ({name[:40]}), which a drawing has no need of.",
            where=f"{self._where}, line {self.parser.CurrentLineNumber}",
            mend="Save it anew as plain SVG.",
        )

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise ImportFailed(
                f"It holds groups nested more than {MAX_DEPTH} deep.",
                where=f"{self._where}, line {self.parser.CurrentLineNumber}",
                mend="Ungroup the outlines and save them again.",
            )
        self._build.start(_braced(tag), {_braced(k): v for k, v in attributes.items()})

    def _end(self, tag: str) -> None:
        self._depth -= 1
        self._build.end(_braced(tag))


def _braced(name: str) -> str:
    return f"{{{name}" if "}" in name else name


def _parsed(data: bytes, where: str) -> ET.Element:
    try:
        return _Guard(where).tree(data)
    except (expat.ExpatError, ValueError, LookupError) as error:
        if isinstance(error, ImportFailed):
            raise
        said = str(error).rstrip(".")
        raise ImportFailed(
            f"It is not whole XML ({said}).",
            where=where,
            mend="Save it anew from the program that drew it.",
        ) from error


def _tag(element: ET.Element) -> str:
    """Return an SVG element's name; "" for those of other vocabularies."""
    tag = element.tag
    if tag.startswith("{"):
        space, _, name = tag[1:].partition("}")
        return name if space == SVG else ""
    return tag


def _length_mm(length: str) -> float | None:
    """Return a length in a unit of the world; None for pixels, percents and the like."""
    parts = re.fullmatch(r"\s*([+\d.eE-]+?)\s*(mm|cm|in|pt|pc|[qQ])\s*", length)
    try:
        value = float(parts[1]) * _MM[parts[2].lower()] if parts else 0.0
    except ValueError:
        return None
    return value if 0 < value < 1e9 else None


def _say_other_side(root: ET.Element, width_mm: float | None, height_mm: float | None) -> None:
    """Where one side alone is given in the world, have the other follow from the view box."""
    box = re.split(r"[\s,]+", root.get("viewBox", "").strip())
    if len(box) != 4 or (width_mm is None) == (height_mm is None):
        return
    other = "height" if width_mm else "width"
    if root.get(other, "100%").strip().endswith("%") or root.get(other) == "auto":
        try:
            across, upright = float(box[2]), float(box[3])
            mm = (
                width_mm * upright / across if width_mm else (height_mm or 0) * across / upright
            )
        except (ValueError, ZeroDivisionError):
            return
        root.set(other, f"{mm!r}mm")


class _Plain:
    """Takes out what is not drawn, and puts references in place."""

    def __init__(self, root: ET.Element, budget: Budget) -> None:
        self._by_id = {e.get("id", ""): e for e in root.iter() if e.get("id")}
        # Copies are made from what the file says, not from what was changed meanwhile.
        self._originals = {i: copy.deepcopy(e) for i, e in self._used(root)}
        self._budget = budget
        self._under_way: list[str] = []
        self.skipped: Counter[tuple[str, str]] = Counter()

    def _used(self, root: ET.Element) -> list[tuple[str, ET.Element]]:
        wanted = {_target(e) for e in root.iter() if _tag(e) == "use"}
        return [(i, self._by_id[i]) for i in wanted if i in self._by_id]

    def clean(self, element: ET.Element, parent: ET.Element, depth: int) -> None:
        """Make an element plain, with all below it."""
        self._budget.check_depth(depth)
        self._budget.spend()
        tag = _tag(element)
        if tag in ("defs", "symbol") or tag not in _KEPT:
            if tag in _REASONS:
                self.skipped[tag, _REASONS[tag]] += 1
            parent.remove(element)
            if tag == "defs":
                self._keep_styles(element, parent)
            return
        if tag == "use":
            self._put_in_place(element, depth)
        elif tag in ("a", "switch"):
            element.tag = f"{{{SVG}}}g"
        elif tag in ("svg", "rect"):
            _say_box(element, tag)
        name = element.get(LABEL) or element.get("id")
        if name:
            element.set(NAME, name)
        for child in list(element):
            self.clean(child, element, depth + 1)

    def _keep_styles(self, defs: ET.Element, parent: ET.Element) -> None:
        for style in defs.iter(f"{{{SVG}}}style"):
            parent.insert(0, style)

    def _put_in_place(self, use: ET.Element, depth: int) -> None:
        """Turn a reference into a group with a copy of what it refers to."""
        target = _target(use)
        box = {key: use.attrib.pop(key) for key in _BOX & set(use.attrib)}
        for key in ("href", XLINK_HREF):
            use.attrib.pop(key, None)
        use.tag = f"{{{SVG}}}g"
        for child in list(use):
            use.remove(child)
        original = self._originals.get(target)
        if original is None:
            self.skipped["use", "what it refers to is not in the file"] += 1
            return
        if target in self._under_way:
            self.skipped["use", "it refers to itself"] += 1
            return
        self._add_copy(use, original, box)
        self._under_way.append(target)
        for child in list(use):
            self.clean(child, use, depth + 1)
        self._under_way.pop()

    def _add_copy(self, group: ET.Element, original: ET.Element, box: dict[str, str]) -> None:
        fresh = copy.deepcopy(original)
        self._budget.spend()
        if _tag(fresh) == "symbol":
            fresh.tag = f"{{{SVG}}}svg"
        if _tag(fresh) == "svg":
            fresh.attrib |= {k: v for k, v in box.items() if k in ("width", "height")}
        x, y = box.get("x", "0"), box.get("y", "0")
        mover = ET.SubElement(group, f"{{{SVG}}}g", {"transform": f"translate({x},{y})"})
        mover.append(fresh)


def _target(use: ET.Element) -> str:
    href = use.get("href") or use.get(XLINK_HREF) or ""
    return href[1:] if href.startswith("#") else ""


def _say_box(element: ET.Element, tag: str) -> None:
    """Say what the standard has a box mean that does not say it, lest it be inherited."""
    for key in ("x", "y"):
        element.attrib.setdefault(key, "0")
    if tag == "svg":
        for key in ("width", "height"):
            element.attrib.setdefault(key, "100%")

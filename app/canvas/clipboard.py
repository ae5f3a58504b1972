"""The clipboard: what was copied as text of our own, with the scans of its panels."""

from msgspec.structs import replace
from PySide6.QtGui import QGuiApplication

from app.session import Session
from core.document.edits.copies import LONGEST_TEXT, Clip, ScanClip, from_text, to_text
from core.document.surface import ScannedSurface
from core.errors import Damaged
from core.shape.scanned import mesh_from_bytes


def put(clip: Clip, session: Session) -> None:
    """Put a clip on the clipboard; scans go along, so that panels stay curved elsewhere."""
    found = {name: session.scan_data(name) for name in _scans_named(clip)}
    scans = tuple(ScanClip(file=name, data=data) for name, data in found.items() if data)
    text = to_text(replace(clip, scans=scans))
    if len(text) > LONGEST_TEXT:
        text = to_text(clip)
    QGuiApplication.clipboard().setText(text)


def take(session: Session) -> tuple[Clip, frozenset[str]]:
    """Return the clip that the clipboard holds, and which of its scans are at hand.

    Scans that came with it are held ready for the job from then on.

    Raises:
        InputError: there is no clip.
    """
    clip = from_text(QGuiApplication.clipboard().text())
    came = {one.file: one.data for one in clip.scans}
    at_hand = set()
    for name in _scans_named(clip):
        held, data = session.scan_data(name), came.get(name)
        if held is None and data is not None and _is_scan(data, name):
            session.keep_scan(name, data)
            at_hand.add(name)
        elif held is not None and data in (None, held):
            at_hand.add(name)  # another scan of that name would not be the panel's
    return clip, frozenset(at_hand)


def _scans_named(clip: Clip) -> tuple[str, ...]:
    surfaces = [one.panel.surface for one in clip.panels]
    return tuple({s.file: None for s in surfaces if isinstance(s, ScannedSurface)})


def _is_scan(data: bytes, name: str) -> bool:
    try:
        mesh_from_bytes(data, name)
    except Damaged:
        return False
    return True

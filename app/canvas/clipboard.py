"""The clipboard: what was copied as text of our own, with the scans of its panels beside it."""

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QGuiApplication

from app.session import Session
from core.document.edits.copies import Clip, from_text, to_text
from core.document.surface import ScannedSurface
from core.errors import Damaged
from core.shape.scanned import mesh_from_bytes

_SCAN = "application/x-lapline-scan+"
"""With the name of the scan's file behind it."""
_LARGEST = 2**26
"""A scan as it is kept has some 20 bytes a triangle; more is not read from a clipboard."""


def put(clip: Clip, session: Session) -> None:
    """Put a clip on the clipboard; scans go along, so that panels stay curved elsewhere."""
    data = QMimeData()
    data.setText(to_text(clip))
    for name in _scans_named(clip):
        scan = session.scan_data(name)
        if scan is not None:
            data.setData(_SCAN + name, scan)
    QGuiApplication.clipboard().setMimeData(data)


def take(session: Session) -> tuple[Clip, frozenset[str]]:
    """Return the clip that the clipboard holds, and which of its scans are at hand.

    Scans that came with it are held ready for the job from then on.

    Raises:
        InputError: there is no clip.
    """
    data = QGuiApplication.clipboard().mimeData()
    clip = from_text(data.text())
    at_hand = set()
    for name in _scans_named(clip):
        held, came = session.scan_data(name), bytes(data.data(_SCAN + name).data())
        if held is None and _is_scan(came, name):
            session.keep_scan(name, came)
            at_hand.add(name)
        elif held is not None and came in (b"", held):
            at_hand.add(name)  # another scan of that name would not be the panel's
    return clip, frozenset(at_hand)


def _scans_named(clip: Clip) -> tuple[str, ...]:
    surfaces = [one.panel.surface for one in clip.panels]
    return tuple({s.file: None for s in surfaces if isinstance(s, ScannedSurface)})


def _is_scan(data: bytes, name: str) -> bool:
    if not 0 < len(data) <= _LARGEST:
        return False
    try:
        mesh_from_bytes(data, name)
    except Damaged:
        return False
    return True

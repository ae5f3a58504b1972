"""Help texts: keys and mouse, working safely, about."""

from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

from app.actions import MENUS, Actions

MOUSE = (
    ("Wheel", "Zoom about the pointer"),
    ("Middle button or Space with drag", "Move the view"),
    ("Click", "Select, or set the next point of a line"),
    ("Enter or double click", "Finish a line"),
    ("Drag on empty ground, Ctrl with drag anywhere", "Select all that lies in the band"),
    ("Shift with click", "Select more"),
    ("Drag out of a ruler", "A guide; put back on the ruler it is gone"),
    ("Digits while drawing", "Type the length or the width; Tab goes on to the angle"),
    ("X while drawing", "Type how far across and how far up the next point is"),
    ("Alt while drawing", "Catch nothing"),
    ("X on a selected line", "The other film goes on top"),
    ("C on a selected node", "Corner or smooth"),
    ("Insert on a selected node", "Another node after it"),
    ("Esc", "Leave what is going on"),
    ("Ctrl with wheel over the rolls", "Zoom the rolls"),
    ("Drag, Shift with drag, wheel over a part in space", "Turn it, move it, come nearer"),
    ("Drag a piece on its roll", "It is pinned there, and the rest is laid around it"),
    ("Wheel while dragging it", "Turn it by 5°, with Shift by 1°"),
)

ROLLS = (
    ("K", "Pin the piece where it lies, or let go of it"),
    ("Arrows", "Move it by 1 mm, with Shift by 10 mm, and pin it"),
    ("R, Shift+R", "Turn it by a quarter, or to the next turn that its grain allows"),
    ("Comma, full stop", "Turn it by 1°, where there is no grain"),
    ("Esc while dragging", "Put it back"),
)

CAUTIONS = """
<h2>Working safely</h2>
<p>Lapline plans; it does not see the part in front of you. These are common practice in the
trade and do not replace the data sheets of your film and cleaners.</p>
<ul>
<li><b>Blades.</b> Cut away from your hand, change blades often, and collect them in a closed
box.</li>
<li><b>Cutting on the part.</b> A blade on a painted part can cut the lacquer. Use cutting tape,
or cut on a protected strip.</li>
<li><b>Heat.</b> Hot air burns skin, softens plastics and lifts poor lacquer. Keep it moving and
away from tanks, batteries and air bags.</li>
<li><b>Solvents.</b> Air the room, wear gloves, and keep them away from hot air.</li>
<li><b>Loose and weak lacquer.</b> Film takes it along when it comes off. Test a hidden
place first.</li>
<li><b>Vents, sensors, lamps and plates.</b> Never cover air inlets, radar or parking sensors,
reflectors, lamps or the type plate.</li>
<li><b>Moving parts.</b> A loose edge near a wheel, chain or brake can be drawn in. Keep laps
facing away from wind and water, and press edges down again after a day.</li>
<li><b>Measure before you cut.</b> Cut one piece, hold it to the part, then cut the rest.</li>
</ul>
"""

ABOUT = """
<h2>Lapline {version}</h2>
<p>Plans a colour change in adhesive film before any film is touched: seams, laps, pieces, rolls
and plotter files.</p>
<p>Set in Inter, used under the SIL Open Font License 1.1. Made with Qt for Python (LGPL 3),
Shapely and GEOS, NumPy, ezdxf and spyrrow.</p>
"""


class HelpDialog(QDialog):
    """Shows one page of text."""

    def __init__(self, title: str, html: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(560, 520)
        text = QTextBrowser()
        text.setHtml(html)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 16, 20, 16)
        column.addWidget(text)
        column.addWidget(buttons)


def keys_html(actions: Actions) -> str:
    """Return the list of keys, menu by menu, and the mouse."""
    parts = ["<h2>Keys and mouse</h2>"]
    for title, ids in MENUS:
        rows = [
            (_keys(actions, name), actions[name].text().replace("…", ""))
            for name in ids
            if name[0] not in "-*" and not actions[name].shortcut().isEmpty()
        ]
        parts.append(_table(title.replace("&", ""), rows))
    parts.append(_table("Mouse", list(MOUSE)))
    parts.append(_table("A piece clicked on its roll", list(ROLLS)))
    return "".join(parts)


def _keys(actions: Actions, name: str) -> str:
    native = QKeySequence.SequenceFormat.NativeText
    return ", ".join(keys.toString(native) for keys in actions[name].shortcuts())


def _table(title: str, rows: list[tuple[str, str]]) -> str:
    lines = "".join(
        f"<tr><td width='230'><b>{keys}</b></td><td>{text}</td></tr>" for keys, text in rows
    )
    return f"<h3>{title}</h3><table cellpadding='3'>{lines}</table>"

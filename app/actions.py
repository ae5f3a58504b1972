"""Everything that can be done from a menu, a key or the list of actions, in one table."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from app.icons import icon


@dataclass(frozen=True, slots=True)
class Spec:
    """One action.

    Attributes:
        keys: the key shown first, then others that work too.
        hint: what it does, where the text does not say it all.
    """

    id: str
    text: str
    keys: tuple[str, ...] = ()
    icon: str = ""
    hint: str = ""
    is_checkable: bool = False


SPECS: tuple[Spec, ...] = (
    Spec("new", "New job", ("Ctrl+N",), "add"),
    Spec("open", "Open…", ("Ctrl+O",), "open"),
    Spec("save", "Save", ("Ctrl+S",), "save"),
    Spec("save_as", "Save as…", ("Ctrl+Shift+S",)),
    Spec("import_outlines", "Import outlines…", ("Ctrl+I",), "",
         "Panels from a DXF, SVG or PDF file; or drop the file on the window"),
    Spec("hand_out", "Hand out…", ("Ctrl+E",), "export",
         "Plotter files, paper templates, the bench sheet, tables and pictures: "
         "seen first, then written or printed"),
    Spec("open_folder", "Open the folder written to", ("Ctrl+Shift+E",), "open",
         "The files that were written last"),
    Spec("close", "Quit", ("Ctrl+Q",)),
    Spec("undo", "Undo", ("Ctrl+Z",), "undo"),
    Spec("redo", "Redo", ("Ctrl+Shift+Z", "Ctrl+Y"), "redo"),
    Spec("delete", "Delete what is selected", ("Del",), "delete"),
    Spec("copy", "Copy", ("Ctrl+C",)),
    Spec("cut", "Cut", ("Ctrl+X",)),
    Spec("paste", "Paste", ("Ctrl+V",), "",
         "Panels where the pointer is; lines on the panel that is selected"),
    Spec("duplicate", "Duplicate", ("Ctrl+D",)),
    Spec("repeat", "Repeat in rows and columns…", ("Ctrl+Shift+D",)),
    Spec("lock", "Lock", ("Ctrl+Shift+K",), "",
         "Neither the panel nor what is drawn on it can be changed"),
    Spec("hide", "Hide", ("H",), "", "Hidden panels are planned and cut all the same"),
    Spec("show_hidden", "Show hidden panels", ("Shift+H",)),
    Spec("unlink_run", "Unlink a stripe from its run", ("Ctrl+Shift+U",), "",
         "Its stripes on several panels become stripes of their own"),
    Spec("line_up_run", "Line up the run again", ("Ctrl+Shift+N",), "",
         "Its stripes become one line again, over its panels as they stand now"),
    Spec("clear_guides", "Delete all guides", ("Shift+G",)),
    Spec("show_rulers", "Rulers", ("Shift+R",), "", "Drag guides out of them",
         is_checkable=True),
    Spec("show_grid", "Grid", ("G",), "", "Its spacing is in the job's settings",
         is_checkable=True),
    Spec("show_hatch", "Hatch of hidden film", ("Shift+L",), "",
         "Where film runs on beneath other film", is_checkable=True),
    Spec("show_numbers", "Lay-order numbers", ("Shift+N",), "",
         "The number of each piece on the panels", is_checkable=True),
    Spec("select_all", "Select all", ("Ctrl+A",), "",
         "All panels, or all lines of a panel while one is selected"),
    Spec("select_none", "Select nothing", ("Ctrl+Shift+A",)),
    Spec("tool_select", "Select", ("V",), "select", "Select and move panels, lines and nodes",
         is_checkable=True),
    Spec("tool_seam", "Seam", ("S",), "seam", "Draw a line where two films meet and lap",
         is_checkable=True),
    Spec("tool_relief", "Relief cut", ("R",), "relief",
         "Cut into film from the rim, so that it can lie: click at the rim, then inside",
         is_checkable=True),
    Spec("tool_stripe", "Stripe", ("T",), "stripe", "Draw a stripe by its centre line",
         is_checkable=True),
    Spec("tool_inlay", "Inlay", ("I",), "inlay", "Draw a closed shape set in a panel",
         is_checkable=True),
    Spec("tool_paint", "Paint", ("P",), "paint", "Give a region the chosen film",
         is_checkable=True),
    Spec("tool_flip", "On top", ("O",), "flip", "Click a seam: the other film goes on top",
         is_checkable=True),
    Spec("tool_opening", "Opening", ("N",), "opening",
         "Cut a hole in a panel: round, rectangular, or point by point", is_checkable=True),
    Spec("tool_mark", "Mark", ("A",), "mark",
         "Mark a bolt, a recess, damage, a badge or a ridge", is_checkable=True),
    Spec("tool_measure", "Measure", ("M",), "measure",
         "Click two points; Enter keeps the size as a dimension", is_checkable=True),
    Spec("zoom_in", "Zoom in", ("Ctrl++", "Ctrl+="), "zoom_in"),
    Spec("zoom_out", "Zoom out", ("Ctrl+-",), "zoom_out"),
    Spec("zoom_fit", "Show all panels", ("Ctrl+0",), "zoom_fit"),
    Spec("theme_system", "Look as the system", is_checkable=True),
    Spec("theme_light", "Light look", is_checkable=True),
    Spec("theme_dark", "Dark look", is_checkable=True),
    Spec("job_settings", "Job settings…", ("Ctrl+,",), "",
         "Units, currency, lap, gap between pieces, grip, match ticks, tries"),
    Spec("add_panel", "New panel by measures…", ("Ctrl+P",), "panel",
         "A plain shape, or a polygon from its sides and diagonals"),
    Spec("from_photo", "New panel from a photo…", ("Ctrl+Shift+P",), "photo",
         "Put a photo to scale and trace the panel on it"),
    Spec("save_board", "Save the marker board…", (), "",
         "A page to print, which puts photos to scale"),
    Spec("show_photo", "Show the panel's photo", ("Ctrl+Shift+G",), is_checkable=True),
    Spec("photo_strength", "How strongly the photo shows…"),
    Spec("scale_panel", "Scale to measures…", ("Ctrl+M",), "",
         "Make one length, or width and height, as measured on the part"),
    Spec("edge_length", "Set the length of an edge…", ("Ctrl+Shift+L",)),
    Spec("rotate_panel", "Turn the panel…", ("Ctrl+R",), "",
         "By an angle, or to its flow arrow"),
    Spec("mirror_panel", "Mirror the panel…", ("Ctrl+Shift+M",)),
    Spec("make_symmetric", "Make the panel symmetric…", (), "",
         "Keep one half and mirror it"),
    Spec("keep_symmetric", "Keep symmetric…", ("Ctrl+Shift+Y",), "",
         "Mirror one half, and from then on every edit of either"),
    Spec("let_go_symmetry", "Let go of symmetry", ("Ctrl+Shift+H",), "",
         "Each half is edited on its own again"),
    Spec("split_panel", "Cut the panel in two…", (), "", "Along a line between two nodes"),
    Spec("join_panels", "Join with another panel…", ("Ctrl+J",)),
    Spec("cut_away", "Cut away another panel's shape…"),
    Spec("round_corners", "Round corners…", ("Ctrl+Shift+R",)),
    Spec("offset_outline", "Offset the outline…"),
    Spec("straighten", "Straighten a stretch…"),
    Spec("simplify", "Simplify the outline…", (), "",
         "Fewer nodes within a tolerance"),
    Spec("align_nodes", "Align nodes…"),
    Spec("weld_nodes", "Make one node of two…"),
    Spec("measure_panel", "Measure over the part…", ("Ctrl+Shift+T",), "",
         "Stations and lines by tape: what bunches, what stretches"),
    Spec("from_scan", "New panel from a scan…", ("Ctrl+Shift+I",), "",
         "Choose on a STL, OBJ, PLY or 3MF file what is to be covered"),
    Spec("propose_seams", "Where must a seam go?…", ("Ctrl+Shift+W",), "",
         "Seams and stripes that let film lie on a curved panel, three to choose from"),
    Spec("show_part", "See the part in space…", ("Ctrl+Shift+V",), "",
         "A scanned or measured part with the variant's films on it, or bunching and stretch"),
    Spec("show_strain", "Bunching and stretch", ("B",), "",
         "Colours on the panels: blue where film bunches, red where it stretches",
         is_checkable=True),
    Spec("add_film", "Add film…", ("Ctrl+F",), "add"),
    Spec("edit_film", "Edit chosen film…", (), "edit",
         "Its colour, rank, width and grain, and the rolls and offcuts in stock"),
    Spec("delete_film", "Delete chosen film", (), "delete"),
    Spec("add_variant", "Add variant…", (), "add"),
    Spec("rename_variant", "Rename variant…"),
    Spec("delete_variant", "Delete variant"),
    Spec("tighten", "Pack the rolls tighter", ("Ctrl+T",), "tighten",
         "Look for a shorter layout in the background"),
    Spec("stop_tighten", "Stop packing", ("Ctrl+.",), "halt", "Keeps the best layout so far"),
    Spec("large_rolls", "Rolls large", ("F9",), "",
         "The rolls take the window, to lay pieces by hand", is_checkable=True),
    Spec("keep_layout", "Keep this layout", ("Ctrl+L",), "keep",
         "Hold on to the layout of the rolls while the pieces stay as they are"),
    Spec("let_go", "Let go of the kept layout", (), "",
         "The rolls are laid out anew with every change again"),
    Spec("film_to_buy", "Film to buy…", ("Ctrl+B",), "price",
         "What to buy of each film, at which width, what it costs, and the retakes it affords"),
    Spec("shelf", "Shelf…", ("Ctrl+Shift+B",), "",
         "Rolls and offcuts that all jobs share: take film into the job, put it back"),
    Spec("film_cut", "Film is cut…", (), "",
         "Tell the shelf: rolls get shorter, what is left comes onto it"),
    Spec("find_action", "Find a command…", ("Ctrl+K", "F1"), "search"),
    Spec("keys", "Keys and mouse"),
    Spec("cautions", "Working safely"),
    Spec("about", "About Lapline"),
)  # fmt: skip

MENUS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("&File", ("new", "open", "*recent", "*samples", "-", "save", "save_as", "-",
               "import_outlines", "hand_out", "open_folder", "-", "close")),
    ("&Edit", ("undo", "redo", "-", "copy", "cut", "paste", "duplicate", "repeat", "delete",
               "-", "select_all", "select_none", "-", "lock", "hide", "show_hidden",
               "line_up_run", "unlink_run", "-", "tool_select", "tool_seam", "tool_stripe",
               "tool_inlay", "tool_relief", "tool_paint", "tool_flip", "tool_opening",
               "tool_mark", "tool_measure")),
    ("&View", ("zoom_in", "zoom_out", "zoom_fit", "-", "show_hatch", "show_numbers",
               "show_rulers", "show_grid", "clear_guides", "-", "large_rolls", "-",
               "theme_system", "theme_light", "theme_dark")),
    ("&Panel", ("add_panel", "from_photo", "save_board", "-", "show_photo",
                "photo_strength", "-", "scale_panel", "rotate_panel", "mirror_panel",
                "make_symmetric", "keep_symmetric", "let_go_symmetry", "-", "split_panel",
                "join_panels", "cut_away", "-",
                "round_corners", "offset_outline", "straighten", "simplify", "-",
                "edge_length", "align_nodes", "weld_nodes")),
    ("&Shape", ("measure_panel", "from_scan", "-", "show_strain", "show_part", "-",
                "propose_seams")),
    ("&Job", ("job_settings", "-", "add_film", "edit_film", "delete_film", "-",
              "*variants", "add_variant", "rename_variant", "delete_variant", "-", "tighten",
              "stop_tighten", "keep_layout", "let_go", "-",
              "film_to_buy", "shelf", "film_cut")),
    ("&Help", ("find_action", "keys", "cautions", "about")),
)  # fmt: skip


class Actions:
    """The window's actions by id, with the menus that show them."""

    def __init__(self, window: QMainWindow) -> None:
        self.submenus: dict[str, QMenu] = {}
        self._by_id = {spec.id: _make(spec, window) for spec in SPECS}
        self._hints = {spec.id: spec.hint for spec in SPECS}
        self.menu_of: dict[str, str] = {}
        for title, ids in MENUS:
            self._fill(window.menuBar().addMenu(title), title.replace("&", ""), ids)

    def __getitem__(self, action: str) -> QAction:
        return self._by_id[action]

    def __iter__(self) -> Iterator[tuple[str, QAction]]:
        return iter(self._by_id.items())

    def on(self, action: str, slot: Callable[[], object]) -> None:
        """Run the slot when the action is triggered."""
        self._by_id[action].triggered.connect(lambda _checked: slot())

    def set_ready(self, action: str, *, unless: str) -> None:
        """Enable an action, or disable it with the reason in its tool tip.

        Args:
            action: its id.
            unless: why it cannot be done now, or "" when it can.
        """
        it = self._by_id[action]
        it.setEnabled(not unless)
        it.setToolTip(tip_of(it, unless or self._hints[action]))

    def hint_of(self, action: str) -> str:
        """Return what is said of an action beside its name."""
        return self._hints[action]

    def _fill(self, menu: QMenu, title: str, ids: tuple[str, ...]) -> None:
        menu.setToolTipsVisible(True)
        for name in ids:
            if name == "-":
                menu.addSeparator()
            elif name.startswith("*"):
                self.submenus[name[1:]] = menu.addMenu("")
                self.submenus[name[1:]].setToolTipsVisible(True)
            else:
                menu.addAction(self._by_id[name])
                self.menu_of[name] = title


def tip_of(action: QAction, hint: str) -> str:
    """Return an action's tool tip: its text, its key, and a hint or the reason it is off."""
    text = action.text().replace("…", "").replace("&", "")
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    head = f"{text} ({keys})" if keys else text
    return f"{head}\n{hint}" if hint else head


def _make(spec: Spec, window: QMainWindow) -> QAction:
    action = QAction(spec.text, window)
    action.setObjectName(spec.id)
    action.setShortcuts([QKeySequence(keys) for keys in spec.keys])
    action.setCheckable(spec.is_checkable)
    action.setIconVisibleInMenu(not spec.is_checkable)  # there the tick shows
    if spec.icon:
        action.setIcon(icon(spec.icon))
    gap = " " if spec.icon else ""  # keeps off the icon
    action.setIconText(gap + spec.text.replace("…", ""))
    action.setToolTip(tip_of(action, spec.hint))
    window.addAction(action)
    return action

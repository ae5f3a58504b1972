"""The menu of the thing under the pointer."""

from collections.abc import Callable, Sequence

from PySide6.QtGui import QAction, QIcon, QPixmap
from PySide6.QtWidgets import QInputDialog, QMenu, QWidget

from app.canvas import deeds
from app.canvas.gestures.base import Desk, Pointer
from app.canvas.gestures.drafting import dimension_under, guide_under
from app.canvas.gestures.select import SelectTool, thing_under
from app.canvas.owners import line_owner
from app.canvas.style import film_brush
from app.selection import Selection
from core.document.edits.belongings import Belonging
from core.document.edits.lines import find_dividing_line, find_line
from core.document.film import Film
from core.document.lines import Line, Relief, Under, line_name
from core.errors import InputError
from core.ids import NodeId
from core.plan.lookup import find_region_at, to_panel
from core.units import format_length, parse_length

Ask = Callable[[QWidget, str, str], str | None]


def ask_text(parent: QWidget, label: str, text: str) -> str | None:
    """Ask for one line; None when it was not given."""
    answer, is_given = QInputDialog.getText(parent, "Lapline", label, text=text)
    return answer if is_given else None


def add_actions(menu: QMenu, actions: Sequence[QAction | None]) -> None:
    """Add actions of the window below a menu's own; None is a line between them."""
    if actions:
        menu.addSeparator()
    for action in actions:
        if action is None:
            menu.addSeparator()
        else:
            menu.addAction(action)


def build_menu(
    parent: QWidget, desk: Desk, tool: SelectTool, pointer: Pointer, ask: Ask = ask_text
) -> QMenu:
    """Select what is under the pointer and return the start of its menu.

    What is under the pointer and selected with others stays so; the menu is empty then, as it
    is over the empty canvas, and has only what the window adds.
    """
    menu = QMenu(parent)
    grip = tool.grip_under(pointer)
    if grip is not None and grip.kind == "node":
        owner = grip.owner
        desk.session.select(Selection("node", (owner.id,), owner.panel, NodeId(grip.node)))
        _add_node(menu, desk, None if owner.kind == "ridge" else grip.is_smooth)
        if owner.kind in ("opening", "ridge"):
            _add_belonging(menu, desk, owner.belonging)
        return menu
    found = _found_under(desk, pointer)
    now = desk.session.selection
    if now.kind == found.kind and len(now.ids) > 1 and set(found.ids) & set(now.ids):
        return menu
    desk.session.select(found)
    _add_found(menu, desk, tool, pointer, ask)
    held = deeds.belonging_under(desk, pointer.at)
    if held is not None and found.kind not in ("line", "guide", "dimension"):
        _add_belonging(menu, desk, held)
    return menu


def _add_belonging(menu: QMenu, desk: Desk, one: Belonging) -> None:
    menu.addAction(f"Delete {one.words}", lambda: deeds.delete_opening_or_mark(desk, one))


def _add_found(menu: QMenu, desk: Desk, tool: SelectTool, pointer: Pointer, ask: Ask) -> None:
    """Add what can be done with what was found under the pointer and is selected now."""
    found = desk.session.selection
    match found.kind:
        case "none" | "guide" | "dimension":
            pass
        case "line":
            _add_line(menu, desk, found, pointer, ask)
        case "region":
            _add_region(menu, desk, found, pointer)
            menu.addSeparator()
            _add_panel(menu, desk, tool, found, pointer)
        case _:
            _add_panel(menu, desk, tool, found, pointer)


def _found_under(desk: Desk, pointer: Pointer) -> Selection:
    dimension = dimension_under(desk, pointer)
    if dimension is not None:
        return Selection("dimension", (dimension,))
    found = thing_under(desk, pointer)
    guide = guide_under(desk, pointer) if found.kind in ("none", "region") else None
    return found if guide is None else Selection("guide", (guide,))


def _add_node(menu: QMenu, desk: Desk, is_smooth: bool | None) -> None:  # noqa: FBT001 - the state
    """Add what can be done with a node; None where all are corners."""
    if is_smooth is not None:
        word = "Make it a corner" if is_smooth else "Make it smooth"
        menu.addAction(word, lambda: deeds.toggle_smooth(desk))
    menu.addAction("Insert a node after it", lambda: deeds.insert_after_selected(desk))
    menu.addSeparator()
    menu.addAction("Delete the node", lambda: deeds.delete_selected_node(desk))


def _add_line(menu: QMenu, desk: Desk, found: Selection, pointer: Pointer, ask: Ask) -> None:
    line_id = found.ids[0]
    panel, line = find_line(desk.job, desk.variant, line_id)
    owner = line_owner(desk.job, desk.variant, line_id, panel)
    at = owner.local(desk.job, pointer.at)
    _add_meeting(menu, desk, line, ask)
    menu.addAction("Insert a node here", lambda: deeds.insert_at(desk, owner, at))
    menu.addAction("Reverse", lambda: deeds.reverse_line(desk, line_id))
    menu.addSeparator()
    menu.addAction(f"Delete {line_name(line)}", lambda: deeds.delete_selected(desk))


def _add_meeting(menu: QMenu, desk: Desk, line: Line, ask: Ask) -> None:
    """Add how the films along a line meet; along a relief cut none do."""
    if isinstance(line, Relief):
        return
    menu.addAction("Flip what lies on top", lambda: deeds.flip_line(desk, line.id))
    menu.addAction("Lap width …", lambda: _ask_lap(menu, desk, line.id, ask))
    full = menu.addAction("Film all the way beneath")
    full.setCheckable(True)
    full.setChecked(line.rule.under is Under.FULL)
    full.triggered.connect(lambda _: deeds.toggle_full_under(desk, line.id))
    menu.addSeparator()


def _ask_lap(parent: QWidget, desk: Desk, line_id: str, ask: Ask) -> None:
    job = desk.job
    lap = find_dividing_line(job, desk.variant, line_id).rule.lap_mm
    shown = format_length(job.settings.lap_mm if lap is None else lap, job.units)
    text = ask(parent, "Lap width (leave empty for the job's own)", shown)
    if text is None:
        return
    try:
        wanted = parse_length(text, job.units) if text.strip() else None
    except InputError as refusal:
        desk.session.message(refusal.sentence())
        return
    deeds.set_line_lap(desk, line_id, wanted)


def _film_menu(menu: QMenu, title: str, desk: Desk, choose: Callable[[str], object]) -> None:
    films = menu.addMenu(title)
    for film in desk.job.films:
        films.addAction(_swatch(film), film.name, lambda f=film.id: choose(f))


def _swatch(film: Film) -> QIcon:
    chip = QPixmap(16, 16)
    chip.fill(film_brush(film).color())
    return QIcon(chip)


def _add_region(menu: QMenu, desk: Desk, found: Selection, pointer: Pointer) -> None:
    assert found.panel is not None
    panel = desk.job.panel(found.panel)
    plan = desk.plan_of(panel)
    at = to_panel(panel, pointer.at)
    region = find_region_at(plan, at) if plan else None
    if region is None:
        return
    _film_menu(
        menu,
        "Colour with film",
        desk,
        lambda film: deeds.colour_region(desk, panel, region, at, film),
    )
    menu.addAction("Remove its own colour", lambda: deeds.clear_paint(desk, found))


def _add_panel(
    menu: QMenu, desk: Desk, tool: SelectTool, found: Selection, pointer: Pointer
) -> None:
    assert found.panel is not None
    panel = desk.job.panel(found.panel)
    whole = Selection("panel", (panel.id,), found.panel)
    is_path = found.kind in ("panel", "mark")
    owner = tool.owner_under(pointer) if is_path else None
    if owner is not None:
        at = owner.local(desk.job, pointer.at)
        menu.addAction("Insert a node here", lambda: deeds.insert_at(desk, owner, at))
    if found.kind != "panel":
        menu.addAction(f"Edit the outline of {panel.name}", lambda: desk.session.select(whole))
    _film_menu(menu, "Cover the panel in", desk, lambda f: deeds.turn_base(desk, panel, f))
    if found.kind == "panel":
        menu.addSeparator()
        menu.addAction(f"Delete {panel.name}", lambda: deeds.delete_selected(desk))

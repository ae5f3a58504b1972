"""A traced panel in the main window: one undo step, the photo on the canvas and in the file."""

import io
import subprocess
import sys
from dataclasses import replace

import pytest
from PIL import Image
from PySide6.QtCore import QMimeData, QUrl
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox

from app.photo_commands import PHOTOS
from app.selection import NOTHING
from core.document.edits.panels import delete_panels
from core.document.file import load_job
from core.read.photo import Picture
from core.read.photo_flat import make_flat
from core.read.photo_methods import scale_by_board
from core.read.photo_trace import Tracing, drawn_ring, pulled_node
from helpers.gui import close_window, open_window


@pytest.fixture
def main(qtbot, qapp, tmp_path):
    window = open_window(qapp, tmp_path)
    qtbot.waitExposed(window)
    yield window
    close_window(window)


def _square(window):
    """Put the photo to scale and trace a square, without waiting for threads."""
    scale = scale_by_board(window.desk.picture)
    flat = make_flat(window.desk.picture, scale)
    left, bottom, right, top = flat.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    places = ((x, y), (x + 300, y), (x + 300, y + 200), (x, y + 200))
    ring = drawn_ring([pulled_node(f"n{i}", at, None) for i, at in enumerate(places, 1)])
    draft = replace(window.desk.draft, scale=scale, flat=flat, tracing=Tracing(ring))
    window.desk.do("Trace", draft)


@pytest.fixture
def traced(main, picture, monkeypatch):
    """The main window after a panel was traced."""
    monkeypatch.setattr("app.photo.window.QTimer.singleShot", lambda *_: None)
    main.photos.show_picture(picture)
    _square(main.photos.dialog)
    main.photos.dialog.go(2)
    main.photos.dialog.panel_page.name.setText("Side")
    main.photos.dialog.go_on()
    return main


def _items(window):
    return window.canvas.canvas_scene.grounds.items


def test_the_panel_is_one_undo_step_with_its_photo(traced):
    session = traced.session
    assert [p.name for p in session.job.panels] == ["Side"]
    assert session.selection.ids == ("p1",)
    assert session.undo_text == "Add Side from a photo"
    assert set(session.file.photos) == {session.job.photos[0].file}
    item = _items(traced)["g1"]
    assert item.opacity() == 0.5
    assert item.parentItem() is not None
    corner = item.mapToParent(item.boundingRect().topLeft())
    assert corner.x() == pytest.approx(-60, abs=1.0)
    assert corner.y() == pytest.approx(260, abs=1.0)
    session.undo()
    assert session.job.panels == ()
    assert _items(traced) == {}
    assert session.file.photos == {}
    session.redo()
    assert set(_items(traced)) == {"g1"}


def test_the_photo_travels_with_the_file_and_names_no_place(traced, tmp_path):
    path = tmp_path / "side.lapline"
    traced.session.save(path)
    held = load_job(path)
    image = Image.open(io.BytesIO(held.photos[held.job.photos[0].file]))
    assert dict(image.getexif()) == {}
    assert image.size == (held.job.photos[0].width_px, held.job.photos[0].height_px)
    traced.session.new()
    assert _items(traced) == {}
    traced.session.open(path)
    assert not _items(traced)["g1"].boundingRect().isEmpty()


def test_the_photo_is_hidden_shown_and_dimmed(traced):
    actions = traced.actions_by_id
    assert actions["show_photo"].isChecked()
    actions["show_photo"].trigger()
    assert _items(traced) == {}
    assert not actions["show_photo"].isChecked()
    traced.session.undo()
    assert set(_items(traced)) == {"g1"}
    traced.photos.set_strength(80)
    assert _items(traced)["g1"].opacity() == pytest.approx(0.8)


def test_without_a_photo_its_actions_say_why_they_are_off(main):
    main.session.select(NOTHING)
    assert not main.actions_by_id["show_photo"].isEnabled()
    assert "traced" in main.actions_by_id["show_photo"].toolTip()


def test_leaving_the_photo_window_changes_nothing(main, picture, monkeypatch):
    monkeypatch.setattr("app.photo.window.QTimer.singleShot", lambda *_: None)
    main.photos.show_picture(picture)
    _square(main.photos.dialog)
    main.photos.dialog.reject()
    assert main.session.job.panels == ()
    assert not main.session.can_undo
    assert main.photos.dialog is None


def test_a_photo_is_opened_from_its_file(qtbot, main, tmp_path, picture, monkeypatch):
    monkeypatch.setattr("app.photo.window.QTimer.singleShot", lambda *_: None)
    path = tmp_path / "side.jpg"
    Image.fromarray(picture.pixels).save(path)
    chosen = staticmethod(lambda *_: (str(path), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", chosen)
    main.actions_by_id["from_photo"].trigger()
    qtbot.waitUntil(lambda: main.photos.dialog is not None, timeout=20_000)
    assert main.photos.dialog.desk.picture.size_px == picture.size_px
    main.photos.dialog.reject()


def test_what_is_no_photo_is_refused_in_a_dialog(qtbot, main, tmp_path, monkeypatch):
    said = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: said.append(box.text()) or 0)
    path = tmp_path / "note.jpg"
    path.write_text("not a photo")
    main.photos.open(path)
    qtbot.waitUntil(lambda: bool(said))
    assert said == ["It is not a photo that can be read."]
    assert main.photos.dialog is None


def test_the_board_is_saved(main, tmp_path, monkeypatch):
    path = tmp_path / "board.pdf"
    monkeypatch.setattr(
        QInputDialog, "getItem", staticmethod(lambda *_, **__: ("Sheet 2 on Letter", True))
    )
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(path), ""))
    )
    main.actions_by_id["save_board"].trigger()
    assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("name", ["a.JPG", "b.heic", "c.webp"])
def test_photos_can_be_dropped(name, tmp_path):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / name))])
    assert PHOTOS.dropped(data).name == name


def test_other_things_are_no_photos(tmp_path):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / "a.dxf"))])
    assert PHOTOS.dropped(data) is None


def test_a_photo_goes_with_its_panel_and_comes_back_with_it(traced, tmp_path, picture):
    session, path = traced.session, tmp_path / "side.lapline"
    session.save(path)
    session.open(path)
    before = session.file
    session.do("Delete", delete_panels(session.job, ["p1"]))
    assert session.file.photos == {}
    darker = Picture("other.jpg", picture.pixels // 2)
    traced.photos.show_picture(darker)
    _square(traced.photos.dialog)
    traced.photos.dialog.go(2)
    traced.photos.dialog.go_on()
    assert session.job.photos[0].id == "g1"
    session.undo()
    session.undo()
    assert session.file == before


def test_the_window_starts_without_what_reads_photos():
    code = "import sys, app.window; print(*sorted(sys.modules))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
    assert not {"cv2", "PIL", "reportlab", "pillow_heif"} & set(told.decode().split())

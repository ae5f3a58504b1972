"""Photos of known scenes: a part on the floor with marker sheets beside it, seen by a camera.

The scene is drawn flat by Qt in mm, y up; a camera with its lens then looks at it. Neither
shares code with what is tested: the camera model is OpenCV's calibration model, the sheets are
OpenCV's own board pictures.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QTransform

Place = tuple[float, float]
SUPER = 2
"""Each pixel of the camera is the mean of so many squared."""


@dataclass(frozen=True)
class Sheet:
    """A printed board: its number, where its middle lies, and how it is turned."""

    number: int
    at: Place
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Scene:
    """What lies on the floor.

    Attributes:
        part: the part's rim; holes: rings that show the floor.
        bounds: left, bottom, right, top of the floor that is drawn.
        lines: thin dark frames, such as a known rectangle's.
    """

    part: QPainterPath
    holes: tuple[QPainterPath, ...] = ()
    sheets: tuple[Sheet, ...] = (Sheet(1, (0.0, 0.0)),)
    bounds: tuple[float, float, float, float] = (-780, -660, 780, 660)
    part_colour: str = "#b04a2f"
    floor_colour: str = "#c9c6bd"
    rectangle: tuple[Place, ...] = ()
    grain: float = 6.0
    px_mm: float = 5.0


@dataclass(frozen=True)
class Camera:
    """Where the camera stands and what it does to the picture.

    Attributes:
        aim: the place in the middle of the picture; height_mm above the floor.
        tilt_deg, swing_deg: how far it leans, and towards where.
        k1, k2: radial distortion of OpenCV's model.
        shadow: how much light a strong shadow takes: 0 none, 0.6 strong.
    """

    size_px: tuple[int, int] = (4000, 3000)
    focal_px: float = 3000.0
    aim: Place = (0.0, 0.0)
    height_mm: float = 1100.0
    tilt_deg: float = 12.0
    swing_deg: float = 30.0
    roll_deg: float = 3.0
    k1: float = 0.0
    k2: float = 0.0
    noise: float = 2.5
    blur_px: float = 0.7
    shadow: float = 0.0
    seed: int = 5


@dataclass(frozen=True)
class Shot:
    """A rendered photo, and where floor places are in it."""

    pixels: np.ndarray = field(repr=False)
    camera: Camera

    def px_of(self, places: Sequence[Place]) -> np.ndarray:
        """Pixels from the picture's upper left corner, of floor places; shape (n, 2)."""
        return view_of(self.camera)(places)


def view_of(camera: Camera) -> Callable[[Sequence[Place]], np.ndarray]:
    """Where floor places are in a camera's photo: pixels from its upper left corner."""
    turn, move = _pose(camera)

    def px_of(places: Sequence[Place]) -> np.ndarray:
        flat = np.array([[x, y, 0.0] for x, y in places])
        px, _ = cv2.projectPoints(
            flat, cv2.Rodrigues(turn)[0], move, _matrix(camera), _lens(camera)
        )
        return px.reshape(-1, 2) + 0.5

    return px_of


def shoot(scene: Scene, camera: Camera) -> Shot:
    """Render the photo."""
    floor = _draw_floor(scene, camera)
    turn, move = _pose(camera)
    width, height = (n * SUPER for n in camera.size_px)
    step = 16
    us = np.arange(-step, width + 2 * step, step, dtype=np.float64)
    vs = np.arange(-step, height + 2 * step, step, dtype=np.float64)
    grid = np.stack(np.meshgrid(us, vs), axis=-1).reshape(-1, 1, 2)
    fine = (grid + 0.5) / SUPER - 0.5  # middles of fine pixels, in camera pixels
    rays = cv2.undistortPoints(
        fine,
        _matrix(camera),
        _lens(camera),
        criteria=(cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 100, 1e-12),
    ).reshape(-1, 2)
    to_rays = np.column_stack([turn[:, 0], turn[:, 1], move])
    flat = np.column_stack([rays, np.ones(len(rays))]) @ np.linalg.inv(to_rays).T
    mm = flat[:, :2] / flat[:, 2:]
    left, _, _, top = scene.bounds
    s = scene.px_mm
    xy = np.stack([(mm[:, 0] - left) * s - 0.5, (top - mm[:, 1]) * s - 0.5], axis=1)
    coarse = xy.reshape(len(vs), len(us), 2).astype(np.float32)
    # One coarse cell is `step` fine pixels; fine pixel i lies at coarse place 1 + i / step.
    picture = np.empty((camera.size_px[1], camera.size_px[0], 3), np.uint8)
    rows = 256
    for start in range(0, height, rows):
        n = min(rows, height - start)
        px, py = np.meshgrid(
            1 + np.arange(width, dtype=np.float32) / step,
            1 + (start + np.arange(n, dtype=np.float32)) / step,
        )
        where = cv2.remap(coarse, px, py, cv2.INTER_LINEAR)
        strip = cv2.remap(floor, where, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        small = cv2.resize(strip, (width // SUPER, n // SUPER), interpolation=cv2.INTER_AREA)
        picture[start // SUPER : (start + n) // SUPER] = small
    return Shot(_developed(picture, camera), camera)


def _developed(picture: np.ndarray, camera: Camera) -> np.ndarray:
    if camera.blur_px:
        picture = cv2.GaussianBlur(picture, (0, 0), camera.blur_px)
    random = np.random.default_rng(camera.seed)
    noise = random.standard_normal((camera.size_px[1], camera.size_px[0], 1), np.float32)
    noisy = picture.astype(np.float32) + camera.noise * noise
    return np.clip(noisy + 0.5, 0, 255).astype(np.uint8)


def _matrix(camera: Camera) -> np.ndarray:
    w, h = camera.size_px
    f = camera.focal_px
    return np.array([[f, 0, (w - 1) / 2], [0, f, (h - 1) / 2], [0, 0, 1.0]])


def _lens(camera: Camera) -> np.ndarray:
    return np.array([camera.k1, camera.k2, 0.0, 0.0])


def _pose(camera: Camera) -> tuple[np.ndarray, np.ndarray]:
    """Turn and move from floor to camera, which looks down; in its frame y runs down."""
    tilt, swing, roll = (
        math.radians(a) for a in (camera.tilt_deg, camera.swing_deg, camera.roll_deg)
    )
    down = np.diag([1.0, -1.0, -1.0])
    lean = cv2.Rodrigues(tilt * np.array([math.cos(swing), math.sin(swing), 0.0]))[0]
    spin = cv2.Rodrigues(np.array([0.0, 0.0, roll]))[0]
    turn = spin @ lean @ down
    move = np.array([0, 0, camera.height_mm]) - turn @ np.array([*camera.aim, 0.0])
    return turn, move


def _draw_floor(scene: Scene, camera: Camera) -> np.ndarray:
    left, bottom, right, top = scene.bounds
    s = scene.px_mm
    width, height = round((right - left) * s), round((top - bottom) * s)
    image = QImage(width, height, QImage.Format.Format_RGB888)
    image.fill(QColor(scene.floor_colour))
    painter = QPainter(image)
    painter.setRenderHints(
        QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
    )
    painter.setTransform(QTransform(s, 0, 0, -s, -left * s, top * s))
    painter.setPen(QColor(0, 0, 0, 0))
    part = scene.part
    for hole in scene.holes:
        part = part.subtracted(hole)
    painter.fillPath(part, QColor(scene.part_colour))
    if scene.rectangle:
        frame = QPainterPath(QPointF(*scene.rectangle[0]))
        for corner in scene.rectangle[1:]:
            frame.lineTo(*corner)
        frame.closeSubpath()
        painter.fillPath(frame.subtracted(scene.part), QColor("#f4f3ee"))
    for sheet in scene.sheets:
        _draw_sheet(painter, sheet)
    painter.end()
    pixels = np.array(image.constBits(), np.uint8).reshape(height, image.bytesPerLine())
    pixels = pixels[:, : width * 3].reshape(height, width, 3)
    return _lit(pixels, scene, camera)


def _draw_sheet(painter: QPainter, sheet: Sheet) -> None:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    ids = np.arange((sheet.number - 1) * 31, sheet.number * 31)
    board = cv2.aruco.CharucoBoard((7, 9), 25.0, 18.0, dictionary, ids)
    k = 8
    grey = np.ascontiguousarray(board.generateImage((175 * k, 225 * k)))
    image = QImage(grey.data, 175 * k, 225 * k, 175 * k, QImage.Format.Format_Grayscale8).copy()
    painter.save()
    painter.translate(*sheet.at)
    painter.rotate(sheet.turn_deg)
    painter.fillRect(QRectF(-105, -148.5, 210, 297), QColor("#fdfdfb"))
    painter.scale(1, -1)
    painter.drawImage(QRectF(-87.5, -112.5, 175, 225), image)
    painter.restore()


def _lit(pixels: np.ndarray, scene: Scene, camera: Camera) -> np.ndarray:
    """Grain of the floor, light that falls off, and a shadow with a hard edge across it all."""
    height, width = pixels.shape[:2]
    random = np.random.default_rng(camera.seed + 1)
    coarse = random.standard_normal((height // 12 + 1, width // 12 + 1), np.float32)
    grain = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    x = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    y = np.linspace(0, 1, height, dtype=np.float32)[:, None]
    light = 1.0 - 0.18 * x - 0.1 * y
    if camera.shadow:
        edge = 0.35 + 0.3 * x - y
        light = light * (1 - camera.shadow / (1 + np.exp(-edge * 120)))
    lit = (pixels.astype(np.float32) + scene.grain * grain[..., None]) * light[..., None]
    return np.clip(lit, 0, 255).astype(np.uint8)


def path_of(points: Sequence[Place]) -> QPainterPath:
    """A closed path of straight lines."""
    path = QPainterPath(QPointF(*points[0]))
    for point in points[1:]:
        path.lineTo(*point)
    path.closeSubpath()
    return path


def side_panel() -> tuple[QPainterPath, tuple[QPainterPath, ...]]:
    """The invented trike's side panel, about 800 × 420 mm, with a hand hole and a lamp hole."""
    path = QPainterPath(QPointF(-400, -190))
    path.lineTo(250, -210)
    path.cubicTo(330, -208, 400, -150, 400, -70)
    path.lineTo(380, 90)
    path.cubicTo(360, 180, 260, 210, 160, 205)
    path.cubicTo(20, 195, -120, 150, -250, 170)
    path.lineTo(-400, 150)
    path.closeSubpath()
    hand = QPainterPath()
    hand.addRoundedRect(QRectF(-330, -40, 110, 60), 30, 30)
    lamp = QPainterPath()
    lamp.addEllipse(QPointF(250, -60), 45, 45)
    return path, (hand, lamp)


def ring_of(path: QPainterPath, step_mm: float = 1.0) -> np.ndarray:
    """Points along a path of one ring, closely spaced, shape (n, 2)."""
    length = path.length()
    n = max(8, round(length / step_mm))
    points = [path.pointAtPercent(path.percentAtLength(length * i / n)) for i in range(n)]
    return np.array([[p.x(), p.y()] for p in points])


FRAME = ((-460.0, -270.0), (460.0, -270.0), (460.0, 270.0), (-460.0, 270.0))
"""A white board of 920 × 540 mm under the part: the known rectangle."""
TWO_SHEETS = (Sheet(1, (-260.0, -395.0), 90.0), Sheet(2, (250.0, 395.0), 84.0))
LENS = {"k1": -0.12, "k2": 0.02}


def part_shot(
    *, sheets: tuple[Sheet, ...] = TWO_SHEETS, frame: bool = True, **camera: object
) -> Shot:
    """The side panel on its board, with marker sheets around it."""
    part, holes = side_panel()
    scene = Scene(part, holes, sheets=sheets, rectangle=FRAME if frame else ())
    return shoot(scene, Camera(**camera))


def small_shot(**scene_or_camera: object) -> Shot:
    """The same as a photo of 4 million pixels, quick to render."""
    small = {"size_px": (2400, 1800), "focal_px": 1800.0, **scene_or_camera}
    return part_shot(**small)

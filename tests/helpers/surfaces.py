"""Surfaces with known answers: cylinders, cones, caps, saddles, strips of a sphere."""

import numpy as np
from scipy.spatial import Delaunay


def disc(rings: int, radius: float = 1.0):
    """Points and triangles of a flat disc, rings of 6, 12, 18, ... points."""
    points = [np.zeros((1, 2))]
    for ring in range(1, rings + 1):
        around = 2 * np.pi * np.arange(6 * ring) / (6 * ring)
        points.append(radius * ring / rings * np.column_stack((np.cos(around), np.sin(around))))
    flat = np.vstack(points)
    return flat, counter_clockwise(flat, Delaunay(flat).simplices.astype(np.int64))


def counter_clockwise(flat, triangles):
    a, b, c = flat[triangles[:, 0]], flat[triangles[:, 1]], flat[triangles[:, 2]]
    cross = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    triangles = triangles[np.abs(cross) > 1e-9 * np.abs(cross).max()]
    cross = cross[np.abs(cross) > 1e-9 * np.abs(cross).max()]
    turned = triangles.copy()
    turned[cross < 0] = triangles[cross < 0][:, [0, 2, 1]]
    return turned


def grid(columns: int, rows: int):
    """A unit square of columns × rows cells, split by diagonals that alternate."""
    x, y = np.meshgrid(np.linspace(0, 1, columns + 1), np.linspace(0, 1, rows + 1))
    flat = np.column_stack((x.ravel(), y.ravel()))
    corner = (np.arange(rows)[:, None] * (columns + 1) + np.arange(columns)).ravel()
    a, b, c, d = corner, corner + 1, corner + columns + 2, corner + columns + 1
    even = ((corner // (columns + 1) + corner % (columns + 1)) % 2 == 0)[:, None]
    first = np.where(even, np.column_stack((a, b, c)), np.column_stack((a, b, d)))
    second = np.where(even, np.column_stack((a, c, d)), np.column_stack((b, c, d)))
    return flat, np.vstack((first, second)).astype(np.int64)


def cap(angle_deg: float, radius: float = 300.0, rings: int = 18):
    """A spherical cap up to an angle from its pole, as seen from outside."""
    flat, triangles = disc(rings)
    angle = np.radians(angle_deg) * np.hypot(*flat.T)
    around = np.arctan2(flat[:, 1], flat[:, 0])
    vertices = radius * np.column_stack(
        (np.sin(angle) * np.cos(around), np.sin(angle) * np.sin(around), np.cos(angle))
    )
    return vertices, triangles


def cylinder(radius=150.0, angle_deg=180.0, length=400.0, around=32, along=27):
    flat, triangles = grid(around, along)
    angle = np.radians(angle_deg) * (flat[:, 0] - 0.5)
    vertices = np.column_stack(
        (radius * np.sin(angle), length * flat[:, 1], radius * np.cos(angle))
    )
    return vertices, triangles


def cone(half_angle_deg=20.0, slants=(300.0, 700.0), angle_deg=180.0, around=40, along=25):
    flat, triangles = grid(around, along)
    angle = np.radians(angle_deg) * (flat[:, 0] - 0.5)
    slant = slants[0] + (slants[1] - slants[0]) * flat[:, 1]
    half = np.radians(half_angle_deg)
    vertices = np.column_stack(
        (
            slant * np.sin(half) * np.sin(angle),
            slant * np.cos(half),
            slant * np.sin(half) * np.cos(angle),
        )
    )
    return vertices, triangles


def sphere_strip(width_half, length=900.0, radius=300.0, across=8):
    """A strip along a great circle; its half-width is measured on the sphere."""
    along = max(8, round(length / (2 * width_half) * across))
    flat, triangles = grid(along, across)
    s = length / radius * (flat[:, 0] - 0.5)
    t = 2 * width_half / radius * (flat[:, 1] - 0.5)
    vertices = radius * np.column_stack(
        (np.cos(t) * np.sin(s), np.sin(t), np.cos(t) * np.cos(s))
    )
    return vertices, triangles


def saddle(radius=300.0, half=150.0, rings=18):
    """The saddle z = (x² - y²) / (2 R) over a disc."""
    flat, triangles = disc(rings, half)
    x, y = flat.T
    return np.column_stack((x, y, (x * x - y * y) / (2 * radius))), triangles


def torus_outer(big=300.0, small=120.0, around_deg=90.0, tube_deg=120.0, cells=32):
    """The outer side of a torus."""
    flat, triangles = grid(cells, cells)
    a = np.radians(around_deg) * (flat[:, 0] - 0.5)
    t = np.radians(tube_deg) * (flat[:, 1] - 0.5)
    out = big + small * np.cos(t)
    return np.column_stack((out * np.sin(a), small * np.sin(t), out * np.cos(a))), triangles


def brim(sector_deg=110.0, flat=200.0, bend=40.0, skirt=200.0, radius=500.0):
    """A sector of a flat ring that turns down into a skirt through a narrow bend.

    Both ring and skirt can lie flat; all curvature is in the bend, which runs along a circle.

    Returns:
        Vertices, triangles, and each row of vertices' way outwards from the inner rim.
    """
    around, out = 40, 30
    unit, triangles = grid(around, out)
    quarter = bend * np.pi / 2
    way = (flat + quarter + skirt) * unit[:, 1]
    angle = np.radians(sector_deg) * (0.5 - unit[:, 0])
    turn = np.clip((way - flat) / bend, 0, np.pi / 2)
    away = np.where(way < flat, radius - flat + way, radius + bend * np.sin(turn))
    down = bend * (1 - np.cos(turn)) + np.maximum(way - flat - quarter, 0)
    vertices = np.column_stack((away * np.sin(angle), away * np.cos(angle), -down))
    return vertices, triangles[:, [0, 2, 1]], way[:: around + 1]

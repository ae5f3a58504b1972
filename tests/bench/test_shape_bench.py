"""How long film on curved surfaces takes.

Run with ``pytest tests/bench/test_shape_bench.py --benchmark-enable --benchmark-only``. Goals:
20,000 triangles free under 1 s, judged under 3 s; 100,000 free under 5 s; a piece in 40 ms;
three proposals in 10 s; a measured part in space in 1 s; a scan of a million triangles in 15 s.
"""

import numpy as np
import pytest
import trimesh
from shapely import Point, Polygon

from core.read.scan_panel import open_scan
from core.shape.developing import develop
from core.shape.judging import judge
from core.shape.mesh import network_of_mesh
from core.shape.model import Window
from core.shape.proposals.model import Question
from core.shape.proposals.proposing import propose
from core.shape.standing import standing_shape
from helpers.surfaces import cap
from sample_projects.domed_hood import hood_mesh

FILM = Window(2, 5)


@pytest.mark.parametrize("rings", [58, 130], ids=["20,000", "100,000"])
def test_flatten_freely(benchmark, rings):
    mesh = cap(40, rings=rings)
    made = benchmark.pedantic(network_of_mesh, args=mesh, rounds=2)
    assert len(made.triangles) == len(mesh[1])


def test_open_a_scan_of_a_million_triangles(benchmark, tmp_path):
    vertices, triangles = hood_mesh(409)
    noise = np.random.default_rng(1).normal(0, 0.03, vertices.shape)
    path = tmp_path / "hood.stl"
    trimesh.Trimesh(vertices + noise, triangles, process=False).export(path)
    made = benchmark.pedantic(open_scan, args=(path,), rounds=1)
    assert len(made.mesh.triangles) == 40_000


def test_judge_twenty_thousand(benchmark):
    network = network_of_mesh(*cap(40, rings=58))
    made = benchmark.pedantic(judge, args=(network, FILM), rounds=2)
    assert made.range_pct == pytest.approx(8.7, abs=0.3)


@pytest.mark.parametrize("triangles", [600, 1500])
def test_develop_a_piece(benchmark, triangles):
    network = network_of_mesh(*hood_mesh(40))
    area = Point(100, 40).buffer(150)
    made = benchmark.pedantic(
        develop,
        args=(network, area),
        kwargs={"target_triangles": triangles},
        rounds=10,
        warmup_rounds=1,
    )
    assert made.outline.area > 0


def test_stand_up_a_measured_part(benchmark):
    network = network_of_mesh(*hood_mesh(40))
    made = benchmark.pedantic(
        standing_shape, args=(network, Point(60, 40).buffer(260)), rounds=5, warmup_rounds=1
    )
    assert made.worst_pct < 0.5


def test_three_proposals(benchmark):
    network = network_of_mesh(*hood_mesh(24))
    question = Question(network, Polygon(network.at[-144:]), FILM)
    made = benchmark.pedantic(propose, args=(question,), rounds=1)
    assert len(made.proposals) >= 3

"""Files that would fill memory or time are refused soon, with one sentence that says why."""

import gzip
import random
import time

import ezdxf
import pytest

from core.errors import ImportFailed, LaplineError
from core.read import limits, outlines
from core.read.outlines import read_outlines

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">'
SOON_S = 30


@pytest.fixture
def refused(tmp_path):
    def refused(data, suffix="svg"):
        path = tmp_path / f"bomb.{suffix}"
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        start = time.monotonic()
        with pytest.raises(ImportFailed) as caught:
            read_outlines(path)
        assert time.monotonic() - start < SOON_S
        error = caught.value
        assert error.where.startswith(str(path))
        assert error.mend
        assert "\n" not in error.sentence()
        return error.what

    return refused


def test_entities_are_refused_before_they_are_expanded(refused):
    levels = ""
    for i in range(1, 12):
        inner = f"&e{i - 1};" * 10
        levels += f'<!ENTITY e{i} "{inner}">'
    text = f'<!DOCTYPE svg [<!ENTITY e0 "ha">{levels}]>{SVG}<text>&e11;</text></svg>'
    assert "declares an entity (e0)" in refused(text)


def test_entities_from_outside_are_refused(refused, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("M0 0h9v9z")
    text = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file://{secret}">]>{SVG}<path d="&x;"/></svg>'
    assert "declares an entity (x)" in refused(text)
    text = f'<!DOCTYPE svg [<!ENTITY % p SYSTEM "file://{secret}"> %p;]>{SVG}</svg>'
    assert "declares an entity (p)" in refused(text)


def test_references_that_multiply_are_refused(refused):
    levels = ""
    for i in range(1, 10):
        uses = f'<use href="#g{i - 1}"/>' * 10
        levels += f'<g id="g{i}">{uses}</g>'
    text = (
        f'{SVG}<defs><rect id="g0" width="9" height="9"/>{levels}</defs><use href="#g9"/></svg>'
    )
    assert "more than 100,000" in refused(text)


def test_references_that_go_round_are_left_out(tmp_path):
    path = tmp_path / "round.svg"
    path.write_text(
        f'{SVG}<rect width="9" height="9"/><g id="a"><use href="#b"/></g>'
        '<g id="b"><use href="#a"/></g><use id="c" href="#c"/></svg>'
    )
    found = read_outlines(path)
    assert {s.reason for s in found.skipped} >= {"it refers to itself"}


def test_groups_too_deep_are_refused(refused):
    assert "nested more than" in refused(SVG + "<g>" * 100_000)
    assert "nested more than" in refused(SVG + "<g>" * 70 + "</g>" * 70 + "</svg>")


def test_a_packed_file_that_swells_is_refused(refused, monkeypatch):
    data = gzip.compress(SVG.encode() + b" " * (limits.MAX_TEXT_BYTES + 10), 1)
    assert len(data) < 1_000_000
    assert "MiB of text" in refused(data, "svgz")
    assert "packed, and broken" in refused(b"\x1f\x8b rubbish", "svgz")


def test_files_too_large_are_refused_unread(refused, monkeypatch):
    monkeypatch.setattr(outlines, "MAX_FILE_BYTES", 2**20)
    assert "larger than 1 MiB" in refused(b" " * (2**20 + 1))


def test_paths_with_too_many_points_are_refused(refused):
    data = "h1v1" * 1_100_000
    text = f'{SVG}<path d="M0 0{data}"/></svg>'
    assert "more than 1,000,000 points" in refused(text)


def dxf(fill):
    document = ezdxf.new()
    fill(document)

    def data(path):
        document.saveas(path)
        return path.read_bytes()

    return data


def test_blocks_that_multiply_are_refused(refused, tmp_path):
    def fill(document):
        document.blocks.new("B0").add_circle((0, 0), 5)
        for i in range(1, 10):
            block = document.blocks.new(f"B{i}")
            for k in range(10):
                block.add_blockref(f"B{i - 1}", (20 * k, 0))
        document.modelspace().add_blockref("B9", (0, 0))

    assert "more than 100,000" in refused(dxf(fill)(tmp_path / "made.dxf"), "dxf")


def test_rows_of_nothing_are_refused(refused, tmp_path):
    def fill(document):
        document.blocks.new("B")
        document.modelspace().add_blockref("B", (0, 0)).grid((32_000, 32_000), (1, 1))

    assert "more than 100,000" in refused(dxf(fill)(tmp_path / "made.dxf"), "dxf")


def test_blocks_too_deep_are_refused(refused, tmp_path):
    def fill(document):
        document.blocks.new("B0").add_circle((0, 0), 5)
        for i in range(1, 80):
            document.blocks.new(f"B{i}").add_blockref(f"B{i - 1}", (1, 0))
        document.modelspace().add_blockref("B79", (0, 0))

    assert "nested more than 64 deep" in refused(dxf(fill)(tmp_path / "made.dxf"), "dxf")


def test_too_many_outlines_are_refused(refused, tmp_path):
    def fill(document):
        for i in range(limits.MAX_LOOPS + 1):
            document.modelspace().add_circle((20 * i, 0), 5)

    assert "closed outlines" in refused(dxf(fill)(tmp_path / "made.dxf"), "dxf")


def test_an_outline_of_kilometres_is_refused(refused, tmp_path):
    def fill(document):
        document.header["$INSUNITS"] = 7
        document.modelspace().add_circle((0, 0), 5)

    assert "more than a kilometre" in refused(dxf(fill)(tmp_path / "made.dxf"), "dxf")


def test_names_from_files_are_short_and_on_one_line(tmp_path):
    path = tmp_path / "names.svg"
    path.write_text(
        f'{SVG}<rect id="{"a&#10;&#9;&#x202e;b " * 99}" width="9" height="9"/></svg>'
    )
    (panel,) = read_outlines(path).panels
    assert len(panel.name) <= limits.MAX_NAME
    assert panel.name.isprintable()


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(ImportFailed, match="cannot be opened: no such file"):
        read_outlines(tmp_path / "gone.dxf")
    with pytest.raises(ImportFailed, match="DXF, SVG and PDF"):
        read_outlines(tmp_path / "gone.step")


@pytest.fixture(scope="module")
def samples(tmp_path_factory):
    folder = tmp_path_factory.mktemp("samples")
    document = ezdxf.new("R2000", units=4)
    space = document.modelspace()
    document.blocks.new("B").add_circle((0, 0), 5)
    space.add_blockref("B", (1, 2))
    space.add_lwpolyline([(0, 0, 1), (9, 0, 0), (9, 9, 0)], format="xyb", close=True)
    space.add_spline([(0, 0), (5, 5), (9, 0)])
    space.add_ellipse((50, 0), (5, 0), 0.5)
    document.saveas(folder / "a.dxf")
    dxf_data = (folder / "a.dxf").read_bytes()
    head = dxf_data.index(b"ENTITIES")
    svg = (
        f'{SVG}<g id="k" transform="rotate(5)"><path d="M0 0C1 2 3 4 5 6A5 5 0 1 1 9 9z"/></g>'
        '<use href="#k" x="5"/><rect width="9" height="9" rx="2"/></svg>'
    )
    return {"dxf": (dxf_data, head), "svg": (svg.encode(), 0)}


@pytest.mark.parametrize("suffix", ["dxf", "svg"])
def test_damaged_files_give_panels_or_a_refusal_and_nothing_else(samples, suffix, tmp_path):
    data, start = samples[suffix]
    rng = random.Random(7)
    outcomes = set()
    for number in range(60):
        damaged = bytearray(data)
        for _ in range(rng.randint(1, 6)):
            at = rng.randrange(start, len(damaged))
            if rng.random() < 0.5:
                damaged[at] = rng.randrange(32, 127)
            else:
                del damaged[at : at + rng.randrange(1, 30)]
        path = tmp_path / f"{number}.{suffix}"
        path.write_bytes(bytes(damaged))
        try:
            outcomes.add(bool(read_outlines(path).panels))
        except LaplineError as error:
            outcomes.add(type(error))
    assert ImportFailed in outcomes
    assert True in outcomes

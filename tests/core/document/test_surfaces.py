import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.document.edits.copies import copy_panels, panels_left_flat, paste_panels
from core.document.edits.outlines import Axis, mirror_panel, rotate_panel, scale_panel
from core.document.edits.surfaces import (
    empty_grid,
    resize_grid,
    scan_files,
    set_reading,
    set_surface,
    tie_surface,
    with_reading,
)
from core.document.file import JobFile, from_bytes, to_bytes
from core.document.placing import mirrored, place_surface, turned
from core.document.surface import (
    MeasuredSurface,
    ReadingKind,
    ReadingPlace,
    ScannedSurface,
    line_names,
    missing_places,
    place_name,
    places,
    reading_at,
)
from core.errors import Damaged, EditRefused
from helpers.jobs import job_with, rect_panel

FLAT = job_with([rect_panel("p1", 400, 300)])
SCAN = ScannedSurface(file="bonnet-1a2b.mesh", title="bonnet.stl")


def _measured(job=FLAT, stations=5, lines=5):
    return set_surface(job, "p1", empty_grid(job.panel("p1"), stations, lines))


def _numbered(surface: MeasuredSurface) -> MeasuredSurface:
    """Every place read, each with a length of its own."""
    for i, place in enumerate(places(surface), 1):
        surface = with_reading(surface, place, (float(100 + i), 100.5 + i))
    return surface


def test_an_empty_grid_lies_along_the_long_side_and_all_of_it_is_missing() -> None:
    grid = empty_grid(rect_panel("p1", 400, 300))
    assert (grid.origin, grid.angle_deg, grid.stations, grid.lines) == ((0.0, 150.0), 0.0, 5, 5)
    # Five stations of four offsets, four gaps of five lengths; the diagonals are a check.
    assert len(missing_places(grid)) == 5 * 4 + 4 * 5
    upright = empty_grid(rect_panel("p1", 300, 400), 3, 3)
    assert (upright.origin, upright.angle_deg) == ((150.0, 0.0), 90.0)
    assert len(missing_places(upright)) == 3 * 2 + 2 * 3


@pytest.mark.parametrize(("stations", "lines"), [(2, 5), (10, 5), (5, 4), (5, 2)])
def test_grids_have_three_to_nine_stations_and_three_or_five_lines(stations, lines) -> None:
    with pytest.raises(EditRefused, match="A grid has"):
        empty_grid(rect_panel("p1", 400, 300), stations, lines)


def test_a_reading_is_set_where_it_was_taken_and_nowhere_else() -> None:
    job = _measured()
    for place in list(places(job.panel("p1").surface)):
        before = job.panel("p1").surface
        job = set_reading(job, "p1", place, (123.0, 124))
        now = job.panel("p1").surface
        assert reading_at(now, place) == (123.0, 124.0)
        changed = [p for p in places(now) if reading_at(now, p) != reading_at(before, p)]
        assert changed == [place]
    assert missing_places(job.panel("p1").surface) == ()
    with pytest.raises(IndexError):
        set_reading(job, "p1", ReadingPlace(ReadingKind.LENGTH, 4, 0), (5.0,))


def test_what_is_out_of_limits_or_on_a_flat_panel_is_refused() -> None:
    job = _measured()
    offset = ReadingPlace(ReadingKind.OFFSET, 0, 0)
    with pytest.raises(EditRefused, match="more than 0"):
        set_reading(job, "p1", offset, (0.0,))
    with pytest.raises(EditRefused, match="not measured with a tape"):
        set_reading(FLAT, "p1", offset, (5.0,))
    with pytest.raises(EditRefused, match="flat"):
        tie_surface(FLAT, "p1", (0.0, 0.0), 0.0)


def test_a_grid_with_ragged_rows_is_refused_by_edit_and_file() -> None:
    grid = empty_grid(FLAT.panel("p1"))
    ragged = replace(grid, lengths=(*grid.lengths[:-1], ((),) * 3))
    with pytest.raises(EditRefused, match="one length for each line"):
        set_surface(FLAT, "p1", ragged)
    job = replace(FLAT, panels=(replace(FLAT.panels[0], surface=ragged),))
    with pytest.raises(Damaged, match="Panel p1"):
        to_bytes(JobFile(job))


def test_resizing_keeps_what_was_read() -> None:
    full = set_surface(FLAT, "p1", _numbered(empty_grid(FLAT.panel("p1"))))
    old = full.panel("p1").surface
    fewer = resize_grid(full, "p1", 4, 3).panel("p1").surface
    assert fewer.offsets[3] == (old.offsets[3][0], old.offsets[3][3])
    assert fewer.lengths[2] == (old.lengths[2][0], old.lengths[2][2], old.lengths[2][4])
    assert fewer.to_left == ()
    more = resize_grid(full, "p1", 6, 5).panel("p1").surface
    assert more.offsets[:5] == old.offsets
    assert {p.row for p in missing_places(more)} == {4, 5}
    back = resize_grid(resize_grid(full, "p1", 5, 3), "p1", 5, 5).panel("p1").surface
    assert {p.line for p in missing_places(back)} == {1, 3}
    assert back.to_left == old.to_left


def test_surfaces_are_saved_with_their_scans_and_old_files_are_flat() -> None:
    job = set_surface(FLAT, "p1", _numbered(empty_grid(FLAT.panel("p1"))))
    assert from_bytes(to_bytes(JobFile(job)), "").job == job
    scanned = set_surface(FLAT, "p1", SCAN)
    held = JobFile(scanned, scans={SCAN.file: b"mesh"})
    assert from_bytes(to_bytes(held), "") == held
    with pytest.raises(Damaged, match="is not in the file"):
        to_bytes(JobFile(scanned))
    bare = json.dumps(
        {
            "format": "lapline-job",
            "version": 1,
            "job": {
                "name": "Old",
                "films": [{"id": "f1", "name": "Fir", "colour": "#2f5d50"}],
                "variants": [{"id": "v1", "name": "Plain"}],
                "panels": [
                    {
                        "id": "p1",
                        "name": "Plate",
                        "base_film": "f1",
                        "outline": [{"id": "n1", "at": [0, 0]}, {"id": "n2", "at": [9, 0]}],
                    }
                ],
            },
        }
    )
    assert from_bytes(bare.encode(), "").job.panel("p1").surface is None


def test_mirroring_a_panel_swaps_the_sides_of_its_grid() -> None:
    job = set_surface(FLAT, "p1", _numbered(empty_grid(FLAT.panel("p1"))))
    old = job.panel("p1").surface
    job = mirror_panel(job, "p1", Axis((200.0, 150.0), 90.0))
    new = job.panel("p1").surface
    assert new.origin == pytest.approx((400.0, 150.0))
    assert new.angle_deg == pytest.approx(180.0)
    assert new.offsets[0] == old.offsets[0][::-1]
    assert (new.to_left, new.to_right) == (old.to_right, old.to_left)
    again = mirror_panel(job, "p1", Axis((200.0, 150.0), 90.0)).panel("p1").surface
    assert again == old


def test_turning_takes_the_tie_along_and_scaling_leaves_the_readings() -> None:
    job = set_surface(FLAT, "p1", _numbered(empty_grid(FLAT.panel("p1"))))
    old = job.panel("p1").surface
    new = rotate_panel(job, "p1", 90.0).panel("p1").surface
    assert (new.origin, new.angle_deg) == ((200.0, -50.0), 90.0)
    assert new.lengths == old.lengths
    big = scale_panel(job, "p1", 2.0, 2.0).panel("p1").surface
    assert (big.lengths, big.origin) == (old.lengths, (0.0, 300.0))


@pytest.mark.parametrize("is_mirrored", [False, True])
def test_a_scan_moves_with_the_map_and_points_of_it_lie_where_they_should(is_mirrored) -> None:
    surface = replace(SCAN, origin=(30.0, 40.0), angle_deg=25.0, is_mirrored=is_mirrored)

    def laid(tied: ScannedSurface, at: complex) -> complex:
        turn = turned((0.0, 0.0), tied.angle_deg)
        x = -at.real if tied.is_mirrored else at.real
        return complex(*turn.vector((x, at.imag))) + complex(*tied.origin)

    for move in (turned((5.0, 6.0), 33.0), mirrored((7.0, -2.0), 71.0)):
        moved = place_surface(surface, move)
        for at in (0j, 10 + 0j, 3 - 8j):
            was = laid(surface, at)
            assert laid(moved, at) == pytest.approx(complex(*move.point((was.real, was.imag))))


def test_a_pasted_panel_keeps_a_scan_that_is_here_and_is_flat_without_it() -> None:
    scanned = set_surface(FLAT, "p1", SCAN)
    clip = copy_panels(scanned, "v1", ["p1"])
    same, (fresh,) = paste_panels(scanned, "v1", clip, (500.0, 0.0))
    assert same.panel(fresh).surface == SCAN
    assert panels_left_flat(clip, scan_files(scanned)) == ()
    other, (fresh,) = paste_panels(FLAT, "v1", clip, (500.0, 0.0))
    assert other.panel(fresh).surface is None
    assert panels_left_flat(clip, scan_files(FLAT)) == ("Panel p1",)
    taped = _measured()
    clip = copy_panels(taped, "v1", ["p1"])
    there, (fresh,) = paste_panels(FLAT, "v1", clip, (500.0, 0.0))
    assert there.panel(fresh).surface == taped.panel("p1").surface


def test_every_place_has_a_name_of_its_own() -> None:
    for lines in (3, 5):
        grid = empty_grid(FLAT.panel("p1"), 4, lines)
        names = [place_name(p, grid) for p in places(grid)]
        assert len(set(names)) == len(names)
        assert len(line_names(lines)) == lines
    sole = MeasuredSurface(length=(500.0,), width=(300.0,))
    assert [reading_at(sole, p) for p in places(sole)] == [(500.0,), (300.0,)]
    assert place_name(ReadingPlace(ReadingKind.LENGTH, 1, 3), empty_grid(FLAT.panel("p1"))) == (
        "along the right shoulder from station 2 to 3"
    )


@given(st.data())
def test_any_grid_is_saved_and_read_back_the_same(data: st.DataObject) -> None:
    stations, lines = data.draw(st.integers(3, 9)), data.draw(st.sampled_from([3, 5]))
    surface = empty_grid(FLAT.panel("p1"), stations, lines)
    lengths = st.floats(1e-3, 1e6)
    for place in data.draw(st.lists(st.sampled_from(list(places(surface))), max_size=6)):
        values = tuple(data.draw(st.lists(lengths, max_size=3)))
        surface = with_reading(surface, place, values)
        assert reading_at(surface, place) == values
    job = set_surface(FLAT, "p1", surface)
    assert from_bytes(to_bytes(JobFile(job)), "").job == job

import pytest
from shapely import box, union_all

from core.errors import ExportFailed, InputError
from core.write.film_patterns import FilmPattern, film_patterns, pattern_lines
from core.write.papers import Paper, sheet_for_window
from core.write.templates import TemplateOptions
from core.write.tiling import Cross, Tile, tiled
from helpers.jobs import film


@pytest.mark.parametrize("size", [(50, 50), (400, 300), (1000, 90), (90, 2500)])
@pytest.mark.parametrize("paper", [p for p in Paper if p is not Paper.LONG])
def test_pages_cover_all_with_their_overlap(size, paper):
    area = box(0, 0, *size)
    tiling = tiled(area, area.bounds, paper, 15.0)
    assert area.difference(union_all([box(*t.window) for t in tiling.tiles])).is_empty
    for tile in tiling.tiles:
        right = tiling.neighbour(tile, 0, 1)
        if right:
            shared = box(*tile.window).intersection(box(*right.window)).bounds
            assert shared[2] - shared[0] == pytest.approx(15.0)
            assert_one_cross(tile.crosses[1], right.crosses[0])
            assert_one_cross(tile.crosses[3], right.crosses[2])
        below = tiling.neighbour(tile, 1, 0)
        if below:
            assert_one_cross(tile.crosses[0], below.crosses[2])


def assert_one_cross(a: Cross, b: Cross) -> None:
    assert a.number == b.number
    assert a.at == pytest.approx(b.at)


def test_the_side_that_takes_fewer_pages_is_chosen():
    # 270 × 180 fits an A4 window (277 × 180 on its side) once, upright it would take more.
    area = box(0, 0, 270, 178)
    tiling = tiled(area, area.bounds, Paper.A4, 15.0)
    assert len(tiling.tiles) == 1
    assert tiling.sheet.width_mm == 297.0


def test_names_count_rows_by_letters_and_columns_by_numbers():
    tiling = tiled(box(0, 0, 700, 600), (0, 0, 700, 600), Paper.A4, 15.0)
    names = [tile.name for tile in tiling.tiles]
    assert names[0] == "A1"
    assert names[: tiling.columns] == [f"A{i}" for i in range(1, tiling.columns + 1)]
    assert names[tiling.columns] == "B1"
    assert Tile(25, 0, (0, 0, 1, 1), ()).name == "Z1"


def test_numbers_of_crosses_are_each_at_one_place():
    tiling = tiled(box(0, 0, 900, 900), (0, 0, 900, 900), Paper.A4, 15.0)
    places: dict[int, tuple[float, float]] = {}
    for tile in tiling.tiles:
        for cross in tile.crosses:
            assert places.setdefault(cross.number, cross.at) == pytest.approx(cross.at)
    assert len(set(places.values())) == len(places)


@pytest.mark.parametrize("overlap", [0.0, 9.9, 51.0, float("nan")])
def test_an_overlap_without_room_for_crosses_is_refused(overlap):
    with pytest.raises(InputError, match="cannot share"):
        TemplateOptions(overlap_mm=overlap)


def test_a_page_longer_than_a_pdf_can_hold_is_refused_with_a_cure():
    with pytest.raises(ExportFailed, match=r"Sill 1: One page would be 5\.12 m.*several pages"):
        sheet_for_window(5100.0, 100.0, "Sill 1")


def test_films_have_patterns_by_rank_and_the_base_is_plain():
    films = tuple(film(f"f{i}", rank=20 - i) for i in range(1, 13))
    patterns = film_patterns(films)
    assert patterns["f12"] is FilmPattern.PLAIN
    assert len(set(patterns.values())) == len(FilmPattern)
    assert list(patterns.values()).count(FilmPattern.PLAIN) == 1


def test_signs_lie_inside_their_area_and_differ():
    area = box(0, 0, 100, 60).difference(box(40, 20, 60, 40))
    seen = set()
    for pattern in FilmPattern:
        signs = pattern_lines(area, pattern, 2.0)
        assert signs.is_empty == (pattern is FilmPattern.PLAIN)
        assert signs.within(area.buffer(1e-9)) or signs.is_empty
        seen.add(signs.wkb)
    assert len(seen) == len(FilmPattern)
    assert pattern_lines(box(0, 0, 0.5, 0.5), FilmPattern.RINGS, 2.0).is_empty

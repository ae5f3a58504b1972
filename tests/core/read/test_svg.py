"""SVG: shapes, path commands, transforms, sizes and references, by analytic areas."""

import gzip
import math

import pytest

from core.errors import ImportFailed
from core.read.outlines import ReadOptions, read_outlines
from core.units import Units
from helpers.outline_measures import length, panel_area

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
)
SIZED = 'width="400mm" height="300mm" viewBox="0 0 400 300"'


@pytest.fixture
def read(tmp_path):
    def read(body, size=SIZED, **options):
        path = tmp_path / "drawing.svg"
        path.write_text(f"{HEAD}{size}>{body}</svg>", encoding="utf-8")
        return read_outlines(path, ReadOptions(**options))

    return read


@pytest.fixture
def only(read):
    def only(body, *rest, **options):
        (panel,) = read(body, *rest, **options).panels
        return panel

    return only


def box(panel):
    return (*panel.at, *(max(n.at[i] for n in panel.outline) for i in (0, 1)))


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('<rect x="10" y="20" width="100" height="50"/>', 5000),
        ('<rect width="100" height="50" rx="10"/>', 5000 - (4 - math.pi) * 100),
        ('<rect width="100" height="50" rx="10" ry="20"/>', 5000 - (4 - math.pi) * 200),
        ('<circle cx="100" cy="90" r="70"/>', math.pi * 4900),
        ('<ellipse cx="100" cy="90" rx="70" ry="30"/>', math.pi * 2100),
        ('<polygon points="0,0 100,0 100,80"/>', 4000),
        ('<polyline points="0,0 100,0 100,80 0,0"/>', 4000),
        ('<path d="M0 0 L100 0 V80 H0 Z"/>', 8000),
        ('<path d="m 5 5 l 100 0 v 80 h -100 z"/>', 8000),
        ('<path d="M0,0 100,0 100,80z"/>', 4000),
        ('<path d="M100 100 A 50 50 0 1 1 200 100 A 50 50 0 1 1 100 100"/>', math.pi * 2500),
        ('<path d="M100 100 a60 30 25 0 1 0 0 M200 9h9v9h-9z"/>', 81),
        # the area under a cubic curve from (0, 0) to (100, 0): 3/20 of its polygon's moments;
        # for controls (0, 60), (100, 60) it is 3/20 (2*100*60 + ...) = 3600 by integration
        ('<path d="M0 0 C0 60 100 60 100 0 z"/>', 3600),
        ('<path d="M0 0 Q50 60 100 0 z"/>', 2000),
        ('<path d="M0 0 Q50 60 100 0 T 200 0 V100 H0z"/>', 20_000),
        ('<path d="M0 0 C0 60 100 60 100 0 S 200 -60 200 0 V100 H0z"/>', 20_000),
    ],
)
def test_shapes_and_path_commands(only, shape, area):
    panel = only(shape)
    tolerance = 1e-3 if "A" not in shape and "r" not in shape else 0.01 * length(panel.outline)
    assert panel_area(panel) == pytest.approx(area, abs=tolerance)


def test_y_points_up(only):
    # The file's corner is at the top left; a panel at its lower left is at the origin.
    panel = only('<path d="M0 300 h60 v-40 z"/>')
    assert panel.at == (0, 0)
    assert {n.at for n in panel.outline} == {(0, 0), (60, 0), (60, 40)}


def test_transforms_of_groups_and_shapes_add_up(only):
    body = (
        '<g transform="translate(100 50) rotate(90)"><g transform="scale(2 -3)">'
        '<rect width="10" height="20" transform="skewX(30) matrix(1 0 0 1 5 5)"/></g></g>'
    )
    panel = only(body)
    assert panel_area(panel) == pytest.approx(200 * 6)
    # rotate(90) takes (x, y) to (-y, x), y down; (5, 5) skewed, scaled, turned and moved:
    x, y = 5 + 5 * math.tan(math.radians(30)), 5
    corner = (100 + 3 * y, 50 + 2 * x)
    found = [(n.at[0] + panel.at[0], 300 - n.at[1] - panel.at[1]) for n in panel.outline]
    assert min(math.dist(corner, at) for at in found) < 1e-5


@pytest.mark.parametrize(
    ("size", "mm"),
    [
        ('width="40cm" height="30cm" viewBox="0 0 400 300"', 1.0),
        ('width="10in" height="7.5in" viewBox="0 0 100 75"', 2.54),
        ('width="72pt" height="72pt" viewBox="0 0 10 10"', 2.54),
        ('width="6pc" height="6pc" viewBox="0 0 10 10"', 2.54),
        ('width="100mm" height="100mm" viewBox="-50 -50 100 100"', 1.0),
        ('width="100mm" height="100mm"', 25.4 / 96),
        ('height="100mm" width="100%" viewBox="0 0 100 100"', 1.0),
        # the whole is fitted into its box, and keeps its shape
        ('width="200mm" height="100mm" viewBox="0 0 100 100"', 1.0),
    ],
)
def test_sizes_in_the_world(read, size, mm):
    outlines = read('<rect width="4" height="3"/><rect x="5" width="40" height="30"/>', size)
    assert outlines.mm_per_unit == 1.0
    assert not outlines.notes
    assert panel_area(outlines.panels[-1]) == pytest.approx(1200 * mm**2, rel=1e-5)


@pytest.mark.parametrize(
    "size",
    [
        "",
        'width="500" height="400"',
        'viewBox="0 0 500 400"',
        'width="500px" height="400px" viewBox="0 0 500 400"',
    ],
)
def test_without_a_size_a_unit_is_a_pixel_and_it_says_so(read, size):
    outlines = read('<rect width="96" height="48"/>', size)
    assert panel_area(outlines.panels[0]) == pytest.approx(25.4**2 / 2)
    assert "1/96 inch" in outlines.notes[0]
    assert not outlines.is_unit_assumed
    told = read('<rect width="96" height="48"/>', size, units=Units.MM)
    assert panel_area(told.panels[0]) == pytest.approx(96 * 48)


def test_references_are_put_in_place(read):
    body = (
        '<defs><rect id="plate" width="30" height="20"/>'
        '<symbol id="eye" viewBox="0 0 10 10"><circle cx="5" cy="5" r="5"/></symbol>'
        '<g id="pair"><use href="#plate"/><use href="#plate" x="50"/></g></defs>'
        '<use href="#plate" x="10" y="10"/>'
        '<use xlink:href="#pair" transform="translate(0 100) scale(2)"/>'
        '<use href="#eye" x="200" y="10" width="40" height="40"/>'
        '<use href="#gone"/>'
    )
    outlines = read(body)
    areas = [panel_area(p) for p in outlines.panels]
    assert areas == pytest.approx([600, 2400, 2400, math.pi * 400], abs=1)
    assert outlines.panels[2].at == pytest.approx((100, 160))
    assert outlines.panels[3].at == pytest.approx((200, 250), abs=0.01)
    assert [(s.kind, s.reason) for s in outlines.skipped] == [
        ("use", "what it refers to is not in the file")
    ]


def test_a_drawing_within_the_drawing_has_its_own_view(only):
    body = (
        '<svg x="100" y="50" width="60" height="40" viewBox="0 0 6 4">'
        '<rect width="6" height="4"/></svg>'
    )
    assert box(only(body)) == pytest.approx((100, 210, 60, 40))


def test_what_is_not_seen_is_left_out(read):
    body = (
        "<style>.gone { display: none } .bare { fill: none; stroke: none }</style>"
        '<rect width="10" height="10"/>'
        '<g style="display:none"><circle r="30"/></g><circle class="gone" r="31"/>'
        '<g display="none"><circle r="32"/></g>'
        '<circle r="40" visibility="hidden"/><circle class="bare" r="50"/>'
        '<clipPath id="c"><circle r="60"/></clipPath><mask id="m"><circle r="61"/></mask>'
        '<marker id="a"><circle r="62"/></marker><pattern id="p"><circle r="63"/></pattern>'
        '<symbol id="s"><circle r="64"/></symbol><text x="5" y="5">words</text>'
        '<image href="a.png" width="9" height="9"/>'
    )
    outlines = read(body)
    assert [round(panel_area(p)) for p in outlines.panels] == [100]
    said = {(s.kind, s.reason) for s in outlines.skipped}
    assert said == {
        ("circle", "it is hidden"),
        ("circle", "it is neither filled nor lined, so it is not seen"),
        ("text", "texts are not outlines; turn them into paths"),
        ("image", "a picture"),
    }


def test_a_gradient_is_seen_though_no_colour(read):
    assert len(read('<rect width="10" height="10" fill="url(#g)" stroke="none"/>').panels) == 1


def test_groups_at_the_top_are_layers_and_panels_have_their_names(read):
    body = (
        '<g inkscape:label="Left side" id="g1"><path id="door" d="M0 0h50v40h-50z"/></g>'
        '<g id="right"><g><rect x="100" width="40" height="20"/></g></g>'
        '<rect x="200" width="10" height="10"/>'
    )
    outlines = read(body)
    assert [layer.name for layer in outlines.layers] == ["Left side", "right", ""]
    assert [p.name for p in outlines.panels] == ["door", "right", "drawing"]
    assert [p.name for p in read(body, layers=("right",)).panels] == ["right"]


def test_openings_and_several_runs_in_one_path(only):
    panel = only('<path d="M0 0h100v100h-100z M20 20h20v20h-20z m40 0h20v20h-20z"/>')
    assert panel_area(panel) == pytest.approx(10_000 - 800)
    assert len(panel.openings) == 2


def test_lines_drawn_one_by_one_are_joined(only):
    body = (
        '<g stroke="black"><path d="M0 0 L100 0"/><path d="M100 50 L100 0"/>'
        '<line x1="100" y1="50" x2="0" y2="50"/><path d="M0 50.04 L0 0"/></g>'
    )
    assert panel_area(only(body)) == pytest.approx(5001, abs=2)


def test_an_open_path_that_is_filled_is_closed_and_it_says_so(read):
    outlines = read('<path d="M0 0h100v50"/>')
    assert panel_area(outlines.panels[0]) == pytest.approx(2500)
    assert "closed by a straight line" in outlines.repairs[0]


def test_broken_path_data_is_drawn_up_to_the_break_and_it_says_so(read):
    outlines = read('<path d="M0 0h100v50h-100z M 10 10 h 20 v 20 L 5 x 9"/>')
    assert panel_area(outlines.panels[0]) >= 5000 - 400
    assert "1 path is broken" in outlines.repairs[0]


def test_a_packed_file_is_read(tmp_path):
    path = tmp_path / "drawing.svgz"
    text = f'{HEAD}{SIZED}><rect width="10" height="10"/></svg>'
    path.write_bytes(gzip.compress(text.encode()))
    assert panel_area(read_outlines(path).panels[0]) == pytest.approx(100)


def test_the_usual_doctype_is_harmless(tmp_path):
    path = tmp_path / "drawing.svg"
    path.write_text(
        '<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
        f'{HEAD}{SIZED}><rect width="10" height="10"/></svg>'
    )
    assert panel_area(read_outlines(path).panels[0]) == pytest.approx(100)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("<svg", "not whole XML"),
        ("<html><body/></html>", "not an SVG"),
        ("", "not whole XML"),
        (f"{HEAD}></svg>", "no line or curve"),
        (f"{HEAD}><rect width='1e999' height='5'/></svg>", "no line or curve"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path, text, said):
    path = tmp_path / "odd.svg"
    path.write_text(text)
    with pytest.raises(ImportFailed, match=said):
        read_outlines(path)

import json
from dataclasses import replace

import pytest
from shapely import Polygon

from core.plan.model import Finding, Severity
from core.write.json_report import plan_values, roll_values
from helpers.plans import LAP_MM, hand_plan, hand_rolls

PANEL = {"id", "name", "side", "extended", "regions", "pieces", "seams"}
PIECE = {"id", "label", "region", "film", "order", "final", "cut", "tries"}
SHEET = {"id", "kind", "usable", "gap_mm", "used_length_mm", "utilisation", "placements"}
PLACEMENT = {"piece", "try", "panel", "angle_deg", "dx_mm", "dy_mm", "rings"}


def through_json(values):
    return json.loads(json.dumps(values, allow_nan=False))


def polygon(rings):
    return Polygon(rings[0], rings[1:])


def test_a_plan_has_the_documented_keys():
    values = through_json(plan_values(hand_plan()))
    assert {"panels", "films", "findings"} <= set(values)
    left, right = values["panels"]
    assert set(left) >= PANEL
    assert set(left["regions"][0]) >= {"id", "film", "rings"}
    assert set(left["pieces"][0]) >= PIECE
    assert set(left["seams"][0]) >= {"id", "top", "under", "lap_mm", "length_mm"}
    assert (left["side"], right["side"]) == ("left", "right")
    assert {"id", "name", "area_mm2"} <= set(values["films"][0])


def test_rings_are_closed_outer_first_openings_after_to_the_last_digit():
    plan = hand_plan()
    values = through_json(plan_values(plan))
    piece = values["panels"][0]["pieces"][1]
    outer, opening = piece["final"]
    assert outer[0] == outer[-1]
    assert opening[0] == opening[-1]
    assert Polygon(outer).exterior.is_ccw
    assert not Polygon(opening).exterior.is_ccw
    assert polygon(piece["final"]).area == plan.pieces[1].final.area
    assert set(map(tuple, outer)) == set(plan.pieces[1].final.exterior.coords)


def test_seams_name_the_pieces_on_top_and_under():
    (seam,) = plan_values(hand_plan())["panels"][1]["seams"]
    assert (seam["top"], seam["under"]) == ("p1R.s1R", "p1R.s1L")
    assert (seam["lap_mm"], seam["length_mm"]) == (LAP_MM, 420.0)


def test_a_film_that_runs_through_in_one_piece_is_named_by_that_piece():
    plan = hand_plan()
    panel = plan.panels[0]
    whole = replace(panel.pieces[0], regions=("p1L.s1L", "p1L.s1R"))
    plan = replace(plan, panels=(replace(panel, pieces=(whole,)),))
    (seam,) = plan_values(plan)["panels"][0]["seams"]
    assert (seam["top"], seam["under"]) == ("p1L.s1L", "p1L.s1L")
    assert plan_values(plan)["panels"][0]["pieces"][0]["regions"] == list(whole.regions)


def test_findings_say_where():
    plan = hand_plan()
    found = (
        Finding("S201", Severity.WARNING, "Too narrow.", "p1L", (1.5, 2.0)),
        Finding("G101", Severity.STOP, "It crosses itself."),
    )
    plan = replace(plan, panels=(replace(plan.panels[0], findings=found),))
    first, second = through_json(plan_values(plan))["findings"]
    assert first | {"lines": []} == {
        "check": "G101",
        "severity": "stop",
        "panel": None,
        "where": None,
        "text": "It crosses itself.",
        "lines": [],
    }
    assert (second["panel"], second["where"]) == ("p1L", [1.5, 2.0])


def test_rolls_have_the_documented_keys():
    plan = hand_plan()
    white, green = through_json(roll_values(hand_rolls(plan), plan))["films"]
    assert set(white["sheets"][0]) >= SHEET
    assert set(white["sheets"][0]["placements"][0]) >= PLACEMENT
    assert white["missing"] == []
    (missing,) = green["missing"]
    assert missing["length_mm"] == 600.0
    assert missing["pieces"][0] == {"piece": "p1L.s1R", "try": 1}
    assert missing["text"] == "2 pieces need 0.6 m more"


def test_a_placement_is_its_cut_shape_turned_then_moved():
    # The matrix of a turn about the origin, from any book on geometry: (c, -s; s, c).
    from math import cos, radians, sin  # noqa: PLC0415 - the check's own tools

    plan = hand_plan()
    cut = {p["id"]: p["cut"] for panel in plan_values(plan)["panels"] for p in panel["pieces"]}
    for film in roll_values(hand_rolls(plan), plan)["films"]:
        for sheet in film["sheets"]:
            for p in sheet["placements"]:
                c, s = cos(radians(p["angle_deg"])), sin(radians(p["angle_deg"]))
                moved = [
                    [(c * x - s * y + p["dx_mm"], s * x + c * y + p["dy_mm"]) for x, y in ring]
                    for ring in cut[p["piece"]]
                ]
                for ours, theirs in zip(moved, p["rings"], strict=True):
                    assert ours == [pytest.approx(q, abs=1e-9) for q in theirs]


def test_what_is_usable_lies_within_the_margin():
    plan = hand_plan()
    white, green = roll_values(hand_rolls(plan), plan)["films"]
    assert polygon(white["sheets"][0]["usable"]).bounds == (10, 10, 2490, 990)
    open_sheet = green["sheets"][0]
    assert open_sheet["length_mm"] is None
    assert polygon(open_sheet["usable"]).bounds[2] == open_sheet["used_length_mm"] - 10


def test_a_panel_whose_outline_is_not_usable_has_no_rings():
    plan = hand_plan()
    bare = replace(plan.panels[0], outline=Polygon(), extended=Polygon(), regions=(), pieces=())
    panel = plan_values(replace(plan, panels=(bare,)))["panels"][0]
    assert panel["outline"] == []
    assert panel["extended"] == []
    assert panel["seams"][0]["top"] == "p1L.s1R"

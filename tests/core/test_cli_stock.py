import json

import pytest
from msgspec.structs import replace

from core.cli import run
from core.document.file import JobFile, save_job
from core.document.film import Offcut, Offer, Roll
from core.document.shelf import put_on_shelf
from core.document.shelf_file import ShelfFile
from helpers.film_pieces import a_film
from helpers.jobs import job_with, rect_panel


@pytest.fixture
def job(tmp_path):
    drawn = job_with([rect_panel("p1", 600, 300)])
    film = replace(
        drawn.film(drawn.panels[0].base_film),
        price_per_m=20.0,
        stock=(),
        offers=(Offer(width_mm=760.0, price_per_m=8.0), Offer(width_mm=200.0)),
    )
    films = tuple(film if f.id == film.id else f for f in drawn.films)
    own = replace(drawn, films=films, currency="EUR", settings=replace(drawn.settings, tries=2))
    path = tmp_path / "job.lapline"
    save_job(path, JobFile(own))
    return str(path)


def test_buy_shows_widths_and_costs(job, capsys):
    assert run(["buy", job]) == 0
    out = capsys.readouterr().out
    assert "with retakes" in out
    assert "too narrow" in out
    assert "cheapest" in out
    assert "Whole job" in out


def test_buy_as_json_adds_up(job, capsys):
    assert run(["buy", job, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    (film,) = told["films"]
    assert [w["cheapest"] for w in film["widths"]] == [False, True, False]
    assert film["widths"][0]["needed_mm"] is None
    (area,) = told["costs"]["areas"]
    given = sum(area[k] for k in ("pieces_mm2", "retakes_mm2", "waste_mm2", "left_mm2"))
    assert abs(given - area["stock_mm2"]) < 1.0
    assert told["least_price"] < told["price"]
    assert [p["planned"] for p in film["retakes"]] == [False, True]


def test_buy_packs_every_width_on_demand(job, capsys, monkeypatch):
    monkeypatch.setattr("core.roll.width_search.tightened", lambda _, start, *__: (start, ()))
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    assert run(["buy", job, "--pack", "5", "--json"]) == 0
    told = capsys.readouterr()
    assert "760 mm wide" in told.err
    (film,) = json.loads(told.out)["films"]
    assert film["compared_as"] == "packed"
    assert [w["packed_price"] is None for w in film["widths"]] == [True, False, False]
    assert run(["buy", job, "--pack", "5"]) == 0
    assert "(each width as it was packed)" in capsys.readouterr().out


def test_the_shelf_is_listed(tmp_path, capsys):
    path = tmp_path / "shelf.json"
    for key, stock in (
        ("aa" * 4, Roll(id="r1", length_mm=4200.0)),
        ("bb" * 4, Offcut(id="k1", length_mm=500.0, width_mm=300.0, note="from the van")),
    ):
        fresh = stock
        ShelfFile(path).change(lambda s, k=key, f=fresh: put_on_shelf(s, a_film(), f, k))
    assert run(["shelf", "--file", str(path)]) == 0
    out = capsys.readouterr().out
    assert "4.20 m × 1000 mm" in out
    assert "500 × 300 mm" in out
    assert run(["shelf", "--file", str(path), "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["entries"]) == 2


def test_an_empty_shelf_and_a_broken_one(tmp_path, capsys):
    assert run(["shelf", "--file", str(tmp_path / "none.json")]) == 0
    assert "nothing lies on it" in capsys.readouterr().out
    (tmp_path / "broken.json").write_text("[]")
    assert run(["shelf", "--file", str(tmp_path / "broken.json")]) == 2
    assert "not a shelf" in capsys.readouterr().err

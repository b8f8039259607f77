"""The command ``photo``: cards written, a picture read, printed, as JSON, drawn, and appended to a job."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.basis.ranges import Between
from pricing.commands.main import main
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.shop.folder import open_shop
from tests.conftest import ROOT

PICTURE = str(ROOT / "data" / "photos" / "shelf_bracket.jpg")
HOW = ("--thickness", "3 mm", "--material", "mild steel", "--ruler", "100 mm")


def run(*words: str) -> str:
    result = CliRunner().invoke(main, ["photo", *words])
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: str) -> str:
    result = CliRunner().invoke(main, ["photo", *words])
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    return result.output


def test_cards_are_written(tmp_path: Path) -> None:
    out = run("cards", "--out", str(tmp_path))
    assert "measure the ruler" in out
    assert (tmp_path / "cards_a4.pdf").read_bytes().startswith(b"%PDF")


def test_a_part_is_printed_with_its_ranges() -> None:
    out = run(PICTURE, *HOW)
    assert "edge to sand" in out
    assert "…" in out
    assert "Cards found: 4" in out


def test_figures_for_a_program_have_low_middle_and_high() -> None:
    found = json.loads(run(PICTURE, *HOW, "--json"))
    low, middle, high = found["pieces"][0]["between"]["edge_m"]
    assert low < middle < high
    assert middle == pytest.approx(found["parts"][0]["edge_m"], rel=1e-5)
    assert middle == pytest.approx(2.337, rel=0.015)
    assert "gps" not in json.dumps(found).casefold()


def test_options_may_come_before_the_picture() -> None:
    assert "edge to sand" in run(*HOW, PICTURE)


def test_the_straightened_picture_is_drawn_under_its_outlines(tmp_path: Path) -> None:
    run(PICTURE, *HOW, "--svg", str(tmp_path / "part.svg"))
    drawn = (tmp_path / "part.svg").read_text()
    assert drawn.index("data:image/jpeg;base64,") < drawn.index('id="outline-1"')


def test_a_job_gets_the_part_and_its_ranges_as_words(own: Path) -> None:
    job = own / "jobs" / "bench_ends.toml"
    before = job.read_text()
    run(PICTURE, *HOW, "--shop", str(own), "--job", str(job), "--name", "Bracket from a picture")
    after = job.read_text()
    assert after.startswith(before.rstrip())
    assert "# From a picture: nine in ten truths lie between the two ends." in after
    shop = open_shop(str(own))
    lots = read_job(job, shop, read_items(shop)).lots
    assert lots[-1].part.name == "Bracket from a picture"
    edge = lots[-1].part.edge_m
    assert isinstance(edge, Between)
    assert float(edge) == pytest.approx(2.337, rel=0.015)
    assert edge.low < 2.337 < edge.high


def test_edges_that_are_not_seen_are_not_wiped() -> None:
    whole, part = (json.loads(run(PICTURE, *HOW, *more, "--json"))["parts"][0] for more in ((), ("--unseen", "1", "1")))
    assert part["line_m"] < whole["line_m"]


def test_what_is_missing_is_told_before_the_picture_is_read(tmp_path: Path) -> None:
    told = refused(str(tmp_path / "none.jpg"), "--mark", "0.1", "0.5")
    for word in ("--material", "--thickness", "two marks and a length"):
        assert word in told
    assert "not there" in refused(str(tmp_path / "none.jpg"), *HOW)


def test_a_drawing_is_no_picture(tmp_path: Path) -> None:
    path = tmp_path / "letter.jpg"
    shutil.copy(ROOT / "data" / "drawings" / "sign_letter_p.dxf", path)
    assert "JPEG, PNG or HEIC" in refused(str(path), *HOW)

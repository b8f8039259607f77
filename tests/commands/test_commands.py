"""The command line, run as an owner runs it."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from pricing.commands.main import main
from pricing.costing.sheet import cost
from pricing.parts.job import Job
from pricing.prices.marks import marks_of
from pricing.shop.shop import Shop
from tests.conftest import ROOT

JOB = str(ROOT / "data" / "jobs" / "sign_letters.toml")


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


def run_json(*words: str) -> Any:
    return json.loads(run(*words, "--json"))


def refused(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    return result.output


def process(*words: str, **kwargs: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        stdin=subprocess.DEVNULL,
        **kwargs,
    )


def test_without_a_command_and_without_a_terminal_it_prints_the_price_list_and_ends() -> None:
    done = process("-m", "pricing")
    assert done.returncode == 0, done.stderr
    assert done.stdout == process("-m", "pricing", "price-list").stdout
    for word in ("Sign letter, 300 mm", "single", "two-tone", "each +", "margin", "€"):
        assert word in done.stdout


def test_the_version_loads_nothing_heavy() -> None:
    script = (
        "import sys\nfrom click.testing import CliRunner\nfrom pricing.commands.main import main\n"
        "assert CliRunner().invoke(main, ['--version']).exit_code == 0\nprint(' '.join(sys.modules))"
    )
    loaded = set(process("-c", script).stdout.split())
    heavy = {"pandas", "pint", "altair", "ipywidgets", "scipy", "sqlalchemy", "babel", "rich", "pydantic"}
    assert not loaded & heavy


def test_importing_the_package_loads_no_room() -> None:
    loaded = process("-c", "import pricing, sys; print(' '.join(m for m in sys.modules if m.startswith('pricing')))")
    assert loaded.stdout.split() == ["pricing"]


@pytest.mark.parametrize(
    "words",
    [("price-list",), ("price-list", "--quantities", "1,5,20"), ("quote", JOB), ("compare", JOB), ("why", JOB, "wipe")],
)
def test_nothing_is_cut_off_at_eighty_columns(words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    from rich.console import Console

    from pricing.commands import tables

    monkeypatch.setattr(tables, "console", lambda: Console(width=80, highlight=False))
    output = run(*words)
    assert max(map(len, output.splitlines())) <= 80
    assert "…" not in output


def test_a_quote_prints_what_the_library_says(shop: Shop, letters: Job) -> None:
    sheet = cost(shop, letters)
    output = run("quote", "sign_letters")
    assert f"{float(sheet.total):.2f}" in output
    assert "Usual cautions; local codes and licensed trades decide" in output
    figures = run_json("quote", "sign_letters")
    assert figures["full_cost_EUR"] == pytest.approx(float(sheet.total), abs=1e-6)
    assert figures["target_EUR"] == pytest.approx(float(marks_of(sheet).target), abs=1e-6)
    assert sum(line["total_EUR"] for line in figures["lines"]) == pytest.approx(figures["full_cost_EUR"], abs=1e-4)


def test_a_comparison_names_the_extra_and_its_rule() -> None:
    sides = run_json("compare", JOB)["sides"]
    assert [side["finish"] for side in sides] == ["single", "two_tone_wiped", "two_tone_masked"]
    assert sides[1]["extra_keeping_margin_EUR"] == pytest.approx(sides[1]["target_EUR"] - sides[0]["target_EUR"])
    assert set(sides[1]["rule"]) == {"holds_for", "kinds", "per_m_line_EUR"}
    assert sides[1]["extra_printed_EUR"] == sides[1]["price_net_EUR"] - sides[0]["price_net_EUR"]
    output = run("compare", JOB)
    assert "extra that keeps the margin" in output
    assert "to the first" in output


def test_the_sum_behind_a_step_adds_up() -> None:
    told = run_json("why", JOB, "wipe")
    assert told["step"] == "wipe.2"
    text = run("why", JOB, "wipe")
    assert "line 24.3 m × 2.5 min/m = 60.75 min (guess)" in text
    assert "Caution: The powder is loose" in text


def test_a_job_that_may_not_be_quoted_has_no_price() -> None:
    output = " ".join(run("quote", "wheels_three_coats").split())
    assert "NO PRICE" in output
    assert "do not quote: ask the maker" in output
    figures = run_json("quote", "wheels_three_coats")
    assert figures["do_not_quote"]
    assert not [key for key in figures if key.startswith(("price_net", "price_printed", "deposit"))]
    assert figures["price_from"] == "refused"


def test_the_price_list_as_figures_has_units_in_its_keys() -> None:
    rows = run_json("price-list")
    assert len(rows) >= 28
    assert {"first_EUR", "each_further_EUR", "total_EUR", "cost_EUR", "margin_share", "owner_h"} <= set(rows[0])


def test_check_finds_the_demo_shop_in_order() -> None:
    assert "nothing is wrong" in run("check")


def test_a_new_folder_checks_and_prices_like_the_demo(tmp_path: Path) -> None:
    mine = str(tmp_path / "mine")
    assert "is made" in run("new", mine)
    assert "5 jobs" in run("check", mine)
    assert run_json("price-list", "--shop", mine) == run_json("price-list")


def test_feet_and_pounds_are_shown_where_the_shop_thinks_in_them(own: Path) -> None:
    file = own / "shop.toml"
    file.write_text(file.read_text("utf-8").replace('units = "metric"', 'units = "us"'), "utf-8")
    text = run("why", JOB, "wipe", "--shop", str(own))
    assert "line 79.72 ft × 0.762 min/ft = 60.75 min (guess)" in text
    assert "lb ×" in run("why", JOB, "coat.1", "--shop", str(own))
    assert "mil" in run("why", JOB, "coat.1", "--shop", str(own))
    assert "374 °F" in run("why", JOB, "full_cure", "--shop", str(own))


def test_a_folder_in_dollars_feet_and_mils(tmp_path: Path) -> None:
    mine = str(tmp_path / "mine")
    run("new", mine, "--currency", "USD", "--locale", "en_US", "--units", "us")
    assert "nothing is wrong" in run("check", mine)
    rows, theirs = run_json("price-list", "--shop", mine), run_json("price-list")
    assert len(rows) == len(theirs)
    for row, other in zip(rows, theirs, strict=True):
        if "railing" not in row["item"]:  # sold by the foot
            assert row["first_USD"] == pytest.approx(
                1.08 * other["first_EUR"], rel=0.06
            )  # price points are the coarsest
    assert "foot of line costs" in run("compare", "sign_letters", "--shop", mine)
    assert "€" not in run("quote", "sign_letters", "--shop", mine)


def test_an_unknown_currency_makes_no_folder(tmp_path: Path) -> None:
    output = refused("new", str(tmp_path / "mine"), "--currency", "XYZ", "--units", "imperial")
    assert "currency is 'XYZ'; it must be a currency code of ISO 4217" in output
    assert "units is 'imperial'; it must be metric or us." in output
    assert not (tmp_path / "mine").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("quote", "no_such_job"), "its name is 'no_such_job'"),
        (("quote", JOB, "--shop", "nowhere"), "the folder is 'not there'"),
        (("quote", JOB, "--finish", "gold"), "finish is 'gold'"),
        (("why", JOB, "wype"), "Did you mean 'wipe.2'?"),
        (("price-list", "--quantities", "0"), "--quantities is '0'; it must be whole numbers, 1 or more"),
        (("price-list", "--quantities", "one"), "--quantities is 'one'; it must be whole numbers, 1 or more"),
        (("check", "nowhere"), "`new FOLDER` makes one from the demo shop."),
    ],
)
def test_bad_input_ends_with_code_two_and_a_message(words: tuple[str, ...], message: str) -> None:
    assert message in refused(*words)


def test_check_tells_bad_jobs_by_name(own: Path) -> None:
    (own / "jobs" / "sign_letters.toml").write_text('title = "x"\n', "utf-8")
    output = refused("check", str(own))
    assert "sign_letters.toml needs mending" in output
    assert "part is 'missing'; it must be one [[part]] table or more." in output


def test_check_says_what_to_do_with_a_list_of_an_older_version(own: Path) -> None:
    assert "To mind" not in run("check", str(own))
    (own / "price_list.csv").write_text("item,column,quantity,price,currency,saved_on\n", "utf-8")
    assert "To mind: price_list.csv was saved by an older version" in run("check", str(own))


def test_new_on_a_full_folder_changes_nothing(own: Path) -> None:
    before = sorted(path.name for path in own.rglob("*"))
    assert "nothing was changed" in refused("new", str(own))
    assert sorted(path.name for path in own.rglob("*")) == before

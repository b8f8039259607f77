"""Slips of an owner's hand: each is told once, in words that name file, value and mend, and nothing is worked out."""

import csv
import io
import math
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.basis.errors import BadInput
from pricing.commands.main import main
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.prices.quote import quote
from pricing.shop.folder import open_shop

JOB = "jobs/sign_letters.toml"


def told(own: Path, *words: str) -> str:
    done = CliRunner().invoke(main, [*(words or ("quote", "sign_letters")), "--shop", str(own)])
    assert done.exit_code == 2, done.output
    assert "Traceback" not in done.output
    return done.output


def slip(own: Path, name: str, pattern: str, put: str) -> None:
    path = own / name
    text, count = re.subn(pattern, put, path.read_text("utf-8"), count=1, flags=re.MULTILINE)
    assert count == 1
    path.write_text(text, "utf-8")


@pytest.mark.parametrize(
    ("name", "pattern", "put", "says"),
    [
        (JOB, "^quantity = .*", "quantity = 100001", "part 1.quantity is '100,001'; it must be at most 100,000."),
        (JOB, "^quantity = .*", "quantity = 120000", "part 1.quantity is '120,000'; it must be at most 100,000."),
        ("shop.toml", "^air_on = [0-9.]*", "air_on = 0", "machines.cabinet.air_on is 0; it must be above 0"),
        ("shop.toml", "^billable = [0-9.]*", "billable = 0", "owner.billable is 0; it must be above 0"),
        ("shop.toml", '^life = ".*"', 'life = "1e11 year"', "life is '1e11 year'; it must be above 0 year and at most"),
        ("shop.toml", '^price = ".*"', 'price = "1e308 EUR"', "a number that can be counted with"),
        (
            "rates.csv",
            "^wipe,line_m,hands,[^,]*,[^,]*,[^,]*",
            "wipe,line_m,hands,1e308,1e308,1e308",
            "can be counted with",
        ),
        ("rates.csv", "^wipe,line_m,hands,[^,]*", "wipe,line_m,hands,", "low of wipe.line_m.hands is 'empty'"),
        (
            "assumptions.csv",
            "^oven.fill,[^,]*,[^,]*,[^,]*",
            "oven.fill,0,0,0",
            "low of oven.fill is '0'; it must be above 0",
        ),
        ("shop.toml", "^target_margin = [0-9.]*", "target_margin = 1.35", "Write '1.35 %' or '35 %'"),
        ("shop.toml", '^heater = "18 kW"', 'heater = "1 kW"', "heater of small oven is '1 kW'; it must be above"),
    ],
)
def test_a_slip_is_told_in_words(own: Path, name: str, pattern: str, put: str, says: str) -> None:
    if "heater" in pattern:  # the larger oven would take the job
        slip(own, name, '^heater = "70 kW"', 'heater = "2 kW"')
    slip(own, name, pattern, put)
    assert says in told(own)


@pytest.mark.parametrize(
    ("pattern", "put", "says"),
    [
        ("^target_margin = .*", "target_margin = 0,25", "it must be TOML"),
        (
            '^currency = "EUR"',
            'currency = "EURO"',
            "a currency code of ISO 4217, such as EUR or USD. Did you mean 'EUR'?",
        ),
        ('^currency = "EUR"', "", "shop.currency is 'missing'"),
    ],
)
def test_a_slip_in_shop_toml_is_told_alone(own: Path, pattern: str, put: str, says: str) -> None:
    slip(own, "shop.toml", pattern, put)
    output = told(own)
    assert says in output
    assert len(output.strip().splitlines()) == 2, "one head, one slip; the prices of the other files are not to blame"


@pytest.mark.parametrize(("mark", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_a_table_with_another_mark_between_its_cells_is_told_once(own: Path, mark: str, word: str) -> None:
    path = own / "powders.csv"
    path.write_text(path.read_text("utf-8").replace(",", mark), "utf-8")
    output = told(own)
    assert f"powders.csv: cells is 'parted by {word}'; it must be parted by commas." in output
    assert len(output.strip().splitlines()) == 2


def test_a_file_that_is_not_there_is_told_before_its_kind(own: Path) -> None:
    assert "nothing.csv" in told(own, "log", "import", "nothing.csv")
    assert "not there" in told(own, "log", "import", "nothing.csv")


def test_a_day_to_come_is_refused(own: Path) -> None:
    words = ["log", "add", "times", "job=gate", "step=wipe", "minutes=42", "on=2206-11-25"]
    assert re.search("on is '2206-11-25'; it must be [0-9-]+ or earlier. A fact has happened", told(own, *words))


@pytest.mark.parametrize(
    ("over", "low", "high"),
    [("batch", "1", "1e9"), ("jobs", "0", "1e12"), ("batch", "5", "1")],
)
def test_a_question_over_a_huge_range_is_refused_before_it_is_worked_out(
    own: Path, over: str, low: str, high: str
) -> None:
    output = told(own, "break-even", "sign_letters", "--over", over, "--from", low, "--to", high)
    assert "whole numbers, from 1 to 100,000" in output


def _every_number(own: Path, put: str) -> "list[tuple[str, str, str]]":
    """Name each number of the folder, with its file and the file's text once it is put in that number's place."""
    made = []
    lines = (own / "shop.toml").read_text("utf-8").split("\n")
    for at, line in enumerate(lines):
        if found := re.match(r'(\w+) = ("?)[-\d.]+(.*)$', line):
            text = "\n".join([*lines[:at], f"{found[1]} = {found[2]}{put}{found[3]}", *lines[at + 1 :]])
            made.append((f"line {at + 1} {found[1]}", "shop.toml", text))
    for name in ("rates.csv", "assumptions.csv"):
        rows = list(csv.DictReader((own / name).read_text("utf-8").splitlines()))
        for at, row in enumerate(rows):
            out = io.StringIO()
            writer = csv.DictWriter(out, list(row), lineterminator="\n")
            writer.writeheader()
            writer.writerows([*rows[:at], row | {"low": put, "likely": put, "high": put}, *rows[at + 1 :]])
            made.append((f"{name} line {at + 2}", name, out.getvalue()))
    assert len(made) > 150
    return made


@pytest.mark.slow
@pytest.mark.parametrize("put", ["0", "1e308", "1e11"])
def test_any_number_of_the_folder_is_refused_or_gives_a_finite_price(own: Path, put: str) -> None:
    for what, name, text in _every_number(own, put):
        path = own / name
        before = path.read_text("utf-8")
        path.write_text(text, "utf-8")
        try:
            shop = open_shop(own)
            found = quote(shop, read_job(own / JOB, shop, read_items(shop)))
            assert found.price is None or math.isfinite(float(found.price.printed)), what
        except BadInput:
            pass
        except Exception as why:
            raise AssertionError(f"{what} of {put}: {why!r}") from why
        finally:
            path.write_text(before, "utf-8")

"""A folder in another currency and in other units: amounts are turned, marked as guesses, and never only relabelled."""

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.basis.errors import BadInput
from pricing.basis.facts import data_folder
from pricing.commands.main import main
from pricing.parts.items import read_items
from pricing.prices.list_row import ListRow
from pricing.prices.price_list import price_list
from pricing.shop.first_settings import CONVERTED, rate_of
from pricing.shop.folder import demo_folder, new_folder, open_shop
from pricing.shop.shop import Shop

WORDS = list(csv.DictReader((data_folder() / "us_words.csv").read_text("utf-8").splitlines(keepends=True)))
RATES = {
    row["currency"]: row
    for row in csv.DictReader((data_folder() / "exchange_rates.csv").read_text("utf-8").splitlines())
}
HALF_DIGIT = 0.5e-2  # three digits are kept: 1.00 is the coarsest, to half of its last


@pytest.fixture(scope="module")
def dollars(tmp_path_factory: pytest.TempPathFactory) -> Path:
    at = tmp_path_factory.mktemp("usd") / "mine"
    return new_folder(at, currency="USD", locale="en_US", units="us", sales_tax=0.0825)


def test_every_rate_is_dated_and_says_where_it_is_from() -> None:
    assert {row["source"] for row in RATES.values()} == {"from_memory"}
    assert all(re.fullmatch(r"20\d\d", row["as_of"]) and float(row["per_eur"]) > 0 for row in RATES.values())


def test_amounts_are_turned_at_the_rate_that_the_folder_states(dollars: Path, shop: Shop) -> None:
    rate = float(RATES["USD"]["per_eur"])
    us = open_shop(dollars)
    assert (us.currency, us.front.units, us.policy.sales_tax) == ("USD", "us", 0.0825)
    head = (dollars / "shop.toml").read_text("utf-8").split("\n")[:3]
    assert (
        head[1]
        == "# Amounts: those of the demo in EUR, at 1.08 USD for one (about the average of the year 2024, from memory)."
    )
    pairs = [(us.owner.draw_per_y, shop.owner.draw_per_y), (us.tariffs.gas_per_kwh, shop.tariffs.gas_per_kwh)]
    pairs += [(a.cost_per_y, b.cost_per_y) for a, b in zip(us.fixed, shop.fixed, strict=True)]
    pairs += [(a.price, b.price) for a, b in zip(us.machines.all(), shop.machines.all(), strict=True)]
    pairs += [(us.powders[name].price_per_kg, powder.price_per_kg) for name, powder in shop.powders.items()]
    pairs += [(us.uncertain[k].likely, row.likely) for k, row in shop.uncertain.items() if "money" in row.unit]
    assert len(pairs) > 40
    for ours, demo in pairs:
        assert ours == pytest.approx(rate * demo, rel=HALF_DIGIT)


def test_measures_are_the_same_to_three_digits(dollars: Path, shop: Shop) -> None:
    us = open_shop(dollars)
    oven, other = us.machines.oven[0], shop.machines.oven[0]
    for name in ("inside_width_mm", "panel_mm", "exhaust_m3_per_h", "rack_kg", "hottest_degC", "clearance_mm"):
        assert getattr(oven, name) == pytest.approx(getattr(other, name), rel=HALF_DIGIT)
    for key, row in shop.uncertain.items():
        if "money" not in row.unit:
            found = us.uncertain[key]
            assert (found.low, found.likely, found.high) == pytest.approx(
                (row.low, row.likely, row.high), rel=HALF_DIGIT
            )
    items, same = read_items(us), read_items(shop)
    assert items["gate_single"].part.area_m2 == pytest.approx(same["gate_single"].part.area_m2, rel=HALF_DIGIT)
    assert items["railing_foot"].sold_by == "foot"


def test_what_was_turned_counts_as_a_guess_and_says_from_what(dollars: Path) -> None:
    us = open_shop(dollars)
    money = [row for row in us.uncertain.values() if "money" in row.unit]
    assert {row.source.key for row in money} == {CONVERTED}
    assert {row.kind for row in money} == {"guess"}
    assert us.rates["degrease.m2.supplies"].where == "0.15 to 0.5 EUR/m2 before"
    assert us.powders["jet black"].where == "7.60 EUR/kg before"


def test_nothing_of_the_folder_is_left_in_metres(dollars: Path) -> None:
    for name in ("shop.toml", "rates.csv", "assumptions.csv", "powders.csv", "items.csv"):
        text = re.sub(
            r"[\d.]+( to [\d.]+)? EUR(/\w+)? before|(?m:^#.*)|strip_\w+", "", (dollars / name).read_text("utf-8")
        )
        found = re.findall(
            r"(?<![\w_])(?:[\d.]+ (?:mm|kg|m2|m3/h|degC|K|bar|µm|um)|min/m2?|m²|metres?|EUR)(?!\w)", text
        )
        assert not found, (name, found)


@pytest.mark.parametrize("row", WORDS, ids=lambda r: r["us"][:30])
def test_every_text_that_is_said_in_feet_stands_in_the_demo(row: dict[str, str]) -> None:
    folder = data_folder() if row["file"].startswith("jobs/") else demo_folder()
    assert row["metric"] in (folder / row["file"]).read_text("utf-8")


def test_a_price_is_rounded_to_steps_of_the_new_currency(tmp_path: Path) -> None:
    yen = open_shop(new_folder(tmp_path / "mine", currency="JPY", locale="ja_JP"))
    assert [(p.up_to, p.step) for p in yen.policy.price_points] == [(10_000, 200), (50_000, 1000), (1_000_000, 2000)]
    assert yen.policy.minimum_charge == 16000
    assert yen.policy.sales_tax == 0
    assert "not asked yet" in (tmp_path / "mine" / "shop.toml").read_text("utf-8")


def test_a_currency_without_a_rate_is_asked_and_nothing_is_left(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"--rate is 'missing'; it must be what one EUR is worth in INR\."):
        new_folder(tmp_path / "mine", currency="INR")
    assert not list(tmp_path.iterdir())
    assert rate_of("EUR", "INR", 90.0) == (90.0, "as you said")
    words = ["new", str(tmp_path / "mine"), "--currency", "INR", "--rate", "90", "--sales-tax", "18 %"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    rupees = open_shop(tmp_path / "mine")
    assert (rupees.owner.draw_per_y, rupees.policy.sales_tax) == (3_240_000.0, 0.18)


def test_feet_alone_keep_every_amount(tmp_path: Path, shop: Shop) -> None:
    feet = open_shop(new_folder(tmp_path / "mine", units="us"))
    assert feet.owner.draw_per_y == shop.owner.draw_per_y
    assert feet.rates["degrease.m2.supplies"].source.key == shop.rates["degrease.m2.supplies"].source.key
    assert feet.policy.sales_tax == shop.policy.sales_tax


def test_measures_change_what_is_shown_and_no_price(tmp_path: Path, shop: Shop) -> None:
    """The switch on page 1 leaves every number; a folder in feet has them rounded to three digits."""
    switched = replace(shop, front=shop.front.model_copy(update={"units": "us"}))
    assert switched.book == shop.book
    feet = open_shop(new_folder(tmp_path / "mine", units="us"))
    kept = ("gate_single", "wheel_set")

    def rows(of: Shop) -> list[ListRow]:
        return list(price_list(of, {key: item for key, item in read_items(of).items() if key in kept}).rows)

    for here, there, other in zip(rows(shop), rows(switched), rows(feet), strict=True):
        assert there.asked == here.asked
        assert other.total == pytest.approx(here.total, rel=0.005)


def test_another_currency_brings_the_locale_of_its_country_unless_one_is_told(tmp_path: Path) -> None:
    places = {"USD": "en_US", "GBP": "en_GB", "CHF": "en_CH", "JPY": "en_IE"}  # nobody writes English as in Japan
    for currency, locale in places.items():
        assert open_shop(new_folder(tmp_path / currency, currency=currency)).front.locale == locale
    assert open_shop(new_folder(tmp_path / "told", currency="USD", locale="de_DE")).front.locale == "de_DE"
    assert open_shop(new_folder(tmp_path / "feet", units="us")).front.locale == "en_IE"

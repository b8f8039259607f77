"""Ten orders: whoever names the price of one, on screen, on paper, in the week or in the spreadsheet, names the same."""

import csv
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from click.testing import CliRunner

from pricing.commands.main import main
from pricing.papers.customer_quote import choices_of
from pricing.papers.live_price import live_price
from pricing.papers.printed_list import list_csv, list_fields
from pricing.papers.report import Report
from pricing.papers.spreadsheet import spreadsheet
from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, read_job
from pricing.prices.quote import quote
from pricing.prices.week import Wanted, offers
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.own_prices import OwnPrice, save_own_prices
from pricing.shop.shop import Shop
from tests.papers.books import job_figures, opened
from tests.papers.pdfs import text_of
from tests.papers.test_recalculated import converted
from tests.prices.test_one_price import by_hand

pytestmark = [pytest.mark.slow, pytest.mark.office]
DAY = date(2026, 11, 25)


class Order(NamedTuple):
    """What is ordered, in the words of a job's file, and what decides its price."""

    title: str
    lines: Mapping[str, int]
    finish: str
    powders: tuple[str, ...]
    origin: str = "list"
    rush: bool = False

    @property
    def column(self) -> str:
        return "two_tone" if self.finish.startswith("two_tone") else "single"

    @property
    def toml(self) -> str:
        parts = "".join(f'[[part]]\nitem = "{item}"\nquantity = {n}\n' for item, n in self.lines.items())
        powders = ", ".join(f'"{name}"' for name in self.powders)
        rush = "true" if self.rush else "false"
        return f'title = "{self.title}"\nfinish = "{self.finish}"\npowders = [{powders}]\nrush = {rush}\n{parts}'


BLACK = ("jet black", "signal white")
ORDERS = (
    Order("One bracket", {"bracket_small": 1}, "single", BLACK, "minimum"),
    Order("Nine letters in two colours", {"sign_letter_300": 9}, "two_tone_wiped", BLACK),
    Order("Beyond the range of the list", {"bracket_small": 34}, "single", BLACK),
    Order("Chairs and a table", {"garden_chair": 3, "bistro_table": 1}, "single", BLACK),
    Order("A colour bought for it", {"bicycle_frame": 2}, "single", ("sky blue", "signal white")),
    Order("Two colours, one bought", {"valve_cover": 2}, "two_tone_wiped", ("bright red", "silver metallic")),
    Order("At a price of the owner's own", {"lamp_shade": 4}, "single", BLACK),
    Order("With a clear coat", {"bench_end": 2}, "two_tone_clear", ("jet black", "silver metallic", "clear gloss")),
    Order(
        "Gate and railing, rush",
        {"gate_single": 1, "railing_metre": 6},
        "single",
        ("graphite texture", *BLACK),
        rush=True,
    ),
    Order(
        "Three kinds in two colours, rush",
        {"sign_letter_200": 12, "house_number": 1, "bracket_small": 25},
        "two_tone_wiped",
        ("moss green", "graphite texture"),
        rush=True,
    ),
)


@pytest.fixture(scope="module")
def own_shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """An owner's folder with a price of the owner's own, and the ten orders as jobs in it."""
    folder = new_folder(tmp_path_factory.mktemp("ten") / "mine")
    save_own_prices(folder, {("lamp_shade", "single"): OwnPrice(115.0, 33.0, 27.5)}, open_shop(folder).tongue)
    for n, order in enumerate(ORDERS):
        (folder / "jobs" / f"order_{n}.toml").write_text(order.toml, "utf-8")
    return open_shop(folder)


@pytest.fixture(scope="module")
def mine(own_shop: Shop) -> dict[str, Item]:
    return read_items(own_shop)


@pytest.fixture(scope="module")
def jobs(own_shop: Shop) -> list[Job]:
    return [read_job(f"order_{n}", own_shop) for n in range(len(ORDERS))]


def on_paper(shop: Shop, out: Path) -> list[dict[str, float]]:
    """Net, tax and total as each order's PDF prints them, made by the command."""
    told = []
    for n in range(len(ORDERS)):
        at = out / str(n)
        words = ["customer-quote", f"order_{n}", "--shop", str(shop.folder), "--out", str(at)]
        done = CliRunner().invoke(main, words, catch_exceptions=False)
        assert done.exit_code == 0, done.output
        text = " ".join(text_of(next(at.rglob("*-a4.pdf"))).split())
        found = {}
        for name, words_of in (("net", "Together"), ("tax", r"Sales tax \d+%"), ("total", "Total to pay")):
            (amount,) = re.findall(rf"{words_of} €([\d,]+\.\d\d)", text)
            found[name] = float(amount.replace(",", ""))
        told.append(found)
    return told


def in_office(shop: Shop, items: Mapping[str, Item], jobs: list[Job], folder: Path) -> list[float]:
    """Price without tax of each order in its spreadsheet, saved without figures and recalculated by LibreOffice."""
    one = {"bracket_small": items["bracket_small"]}
    files = []
    for n, job in enumerate(jobs):
        files.append(folder / f"order_{n}.xlsx")
        opened(spreadsheet(shop, one, day=DAY, job=job, quantities=(1,)), values=False).save(files[-1])
    converted(files, "xlsx:Calc MS Excel 2007 XML", folder / "out", folder / "profile")
    prices = []
    for file, job in zip(files, jobs, strict=True):
        figures = job_figures(opened((folder / "out" / file.name).read_bytes(), values=True))
        at = next(at for at, choice in enumerate(choices_of(shop, job)) if choice.key == job.finish)
        prices.append(float(figures["price as it was quoted"][at]))
    return prices


def in_summary(shop: Shop, items: Mapping[str, Item], job: Job) -> float:
    """Price that the summary's own chart starts from."""
    rows: list[dict[str, Any]] = live_price(Report(shop, items, job, DAY)).spec["datasets"]["facts"]
    (price,) = [row["printed"] for row in rows if row["chosen"]]
    return float(price)


def test_ten_orders_cost_the_same_wherever_they_are_asked(
    own_shop: Shop, mine: dict[str, Item], jobs: list[Job], tmp_path: Path
) -> None:
    listed = {row["item"]: row for row in csv.DictReader(list_csv(list_fields(own_shop, mine, day=DAY)).splitlines())}
    papers = on_paper(own_shop, tmp_path / "papers")
    cells = in_office(own_shop, mine, jobs, tmp_path)
    table = [
        "| order | from | quote | paper | list by hand | week | summary | spreadsheet |",
        "|---|---|" + "---:|" * 6,
    ]
    for n, (order, job) in enumerate(zip(ORDERS, jobs, strict=True)):
        found = quote(own_shop, job)
        assert found.origin == order.origin, order.title
        as_ordered = {
            "lines": order.lines,
            "column": order.column,
            "clear": order.finish.endswith("clear"),
            "rush": order.rush,
            "first": order.powders[0],
            "second": order.powders[1],
        }
        told: dict[str, float | None] = {
            "quote": found.net,
            "paper": papers[n]["net"],
            "list": by_hand(as_ordered, listed, own_shop),
            "week": None,
            "summary": in_summary(own_shop, mine, job),
            "spreadsheet": cells[n],
        }
        if len(order.lines) == 1 and not order.rush and not as_ordered["clear"]:  # the week has orders of one line
            ((key, units),) = order.lines.items()
            item = mine[key].model_copy(update={"powders": order.powders})
            (offer,) = offers(own_shop, [Wanted(item, order.column, 1.0, units)])
            told["week"] = offer.price
        figures = ["–" if price is None else f"{price:.2f}" for price in told.values()]
        table.append(f"| {order.title} | {found.origin} | {' | '.join(figures)} |")
        assert {round(price, 2) for price in told.values() if price is not None} == {round(found.net, 2)}, table[-1]
        tax = round(found.net * own_shop.policy.sales_tax, 2)
        assert (papers[n]["tax"], papers[n]["total"]) == pytest.approx((tax, found.net + tax), abs=1e-9), order.title
    print("\n".join(["", *table]))  # shown by -s

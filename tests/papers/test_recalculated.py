"""LibreOffice recomputes the workbook: after a change of its cells it says what the library says, to the cent."""

import csv
import re
import subprocess
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pricing.costing.sheet import cost
from pricing.papers.customer_quote import choices_of
from pricing.papers.live_job import OTHER_HEAT, OTHER_OVEN, part_cells
from pricing.papers.live_shop import live_shop
from pricing.papers.spreadsheet import spreadsheet
from pricing.papers.workbook_cost import UNDER
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.prices.marks import marks_of
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from tests.papers.books import costs_of, job_figures, listed, opened, prices, rate_row, row_of
from tests.papers.scenarios import Offered

pytestmark = [pytest.mark.slow, pytest.mark.office]
DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("office")


def recalculated(book: Any, folder: Path, profile: Path) -> Any:
    """Save without any computed figure, let LibreOffice compute them all, and read what it says."""
    book.save(folder / "in.xlsx")
    converted([folder / "in.xlsx"], "xlsx:Calc MS Excel 2007 XML", folder / "out", profile)
    return opened((folder / "out" / "in.xlsx").read_bytes(), values=True)


def converted(files: list[Path], to: str, folder: Path, profile: Path) -> None:
    for first in range(0, len(files), 50):
        subprocess.run(
            [
                "soffice",
                f"-env:UserInstallation=file://{profile}",
                "--headless",
                "--convert-to",
                to,
                "--outdir",
                str(folder),
                *map(str, files[first : first + 50]),
            ],
            check=True,
            capture_output=True,
            timeout=1800,
        )


def assert_prices(told: Any, library: Any, items: dict[str, Item], margin: float, printed: Shop) -> None:
    """Every figure is the library's to the cent, beside the printed price; or its row says that it may not be."""
    found = prices(told)
    for item, each in zip(items.values(), library, strict=True):
        for n, quantity in enumerate((1, 10)):
            for side, price, cost_now in zip(
                found[item.title, quantity], listed(printed, item, quantity), each[:, n], strict=True
            ):
                where = (item.key, quantity)
                assert side.price == pytest.approx(price, abs=0.005), where
                if side.told not in DOUBTS:
                    wanted = (cost_now, cost_now / (1 - margin), (price - cost_now) / price)
                    assert (side.cost, side.asked, side.margin) == pytest.approx(wanted, abs=0.005), where
                    assert (side.told == UNDER) == (wanted[2] < margin - 1e-6), where


DOUBTS = {OTHER_OVEN, OTHER_HEAT}


def assert_job(told: Any, shop: Shop, job: Job) -> None:
    figures = job_figures(told)
    for at, choice in enumerate(choices_of(shop, job)):
        sheet = cost(shop, job.model_copy(update={"powders": choice.powders}), finish=choice.key)
        assert figures["Full cost: the break-even price"][at] == pytest.approx(sheet.total, abs=0.005), choice.key
        asked = marks_of(sheet).target
        assert figures["what the costs ask for: leaves the margin wanted"][at] == pytest.approx(asked, abs=0.005)


def test_every_figure_is_recomputed_as_it_was_shown(
    shop: Shop, items: dict[str, Item], letters: Job, tmp_path: Path, profile: Path
) -> None:
    content = spreadsheet(shop, items, day=DAY, job=letters)
    before = opened(content, values=True)
    after = recalculated(opened(content, values=False), tmp_path, profile)
    count = 0
    for sheet in before:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, (int, float)):
                    count += 1
                    again = after[sheet.title][cell.coordinate].value
                    assert again == pytest.approx(cell.value, rel=1e-9, abs=1e-9), (sheet.title, cell.coordinate)
    assert count > 20_000


def changed(shop: Shop, points: dict[str, tuple[float, float, float]]) -> Shop:
    """Return the shop with the three points of some rates and assumptions changed."""

    def moved(rows: Any) -> Any:
        return {
            k: replace(r, low=points[k][0], likely=points[k][1], high=points[k][2]) if k in points else r
            for k, r in rows.items()
        }

    return replace(shop, rates=moved(shop.rates), assumptions=moved(shop.assumptions))


POINTS = {
    "wipe.line_m.hands": (1.0, 3.1, 6.0),
    "blast.m2.hands": (9.0, 13.0, 30.0),
    "coat.part.hands": (0.2, 0.3, 0.9),
    "rest.allowance": (0.05, 0.15, 0.2),
    "reject.wiped.wrought": (0.02, 0.07, 0.2),
    "spoil.wiped": (0.01, 0.09, 0.2),
    "powder.utilisation": (0.3, 0.5, 0.7),
    "oven.jobs_per_load": (1.0, 2.5, 4.0),
    "oven.bring_up_factor": (0.9, 1.2, 1.6),
    "oven.energy_factor": (0.8, 1.3, 1.6),
    "partial.share_of_dwell": (0.2, 0.5, 0.9),
    "outgas.hold": (20.0, 60.0, 100.0),
    "plug.plug.supplies": (0.02, 0.09, 0.2),
    "enquiries.per_job": (1.0, 2.0, 3.0),
    "strip.powder_over_paint": (1.0, 2.0, 3.0),
}


def test_changed_cells_give_what_the_changed_shop_gives(
    shop: Shop, items: dict[str, Item], letters: Job, tmp_path: Path, profile: Path
) -> None:
    book = opened(spreadsheet(shop, items, day=DAY, job=letters), values=False)
    rates, own = book["Rates"], book["Shop"]
    for key, points in POINTS.items():
        row = rate_row(rates, key.replace(".", "_"))
        for column, point in enumerate(points, 3):
            rates.cell(row, column).value = point
    for label, value in {
        "draw: what the owner takes home": 41_000.0,
        "rent": 15_000.0,
        "electricity": 0.33,
        "gas, gross as billed": 0.14,
        "share of the minutes the helper takes over": 0.5,
        "wage": 18.0,
        "margin wanted, share of the price": 0.31,
        "interest on what machines cost, a year": 0.09,
        "small oven: price": 9_900.0,
        "spray booth: life": 9.0,
        "price of jet black": 11.0,
        "price of clear gloss": 19.5,
        "what one more hour would bring": 80.0,
    }.items():
        own.cell(row_of(own, label), 2).value = value
    for row in (r for r in range(1, own.max_row) if own.cell(r, 1).value == "hours a week"):
        own.cell(row, 2).value = {42: 44.0, 16: 20.0}[own.cell(row, 2).value]
    told = recalculated(book, tmp_path, profile)

    policy, machines = shop.policy, shop.machines
    powders = dict(shop.powders)
    for name, price in (("jet black", 11.0), ("clear gloss", 19.5)):
        powders[name] = powders[name].model_copy(update={"price_per_kg": price})
    assert shop.helper is not None
    new = replace(
        changed(shop, POINTS),
        powders=powders,
        owner=shop.owner.model_copy(update={"draw_per_y": 41_000.0, "hours_per_week_h": 44.0}),
        helper=shop.helper.model_copy(update={"share": 0.5, "wage_per_h": 18.0, "hours_per_week_h": 20.0}),
        fixed=(shop.fixed[0].model_copy(update={"cost_per_y": 15_000.0}), *shop.fixed[1:]),
        tariffs=shop.tariffs.model_copy(update={"electricity_per_kwh": 0.33, "gas_per_kwh": 0.14}),
        machines=machines.model_copy(
            update={
                "oven": (machines.oven[0].model_copy(update={"price": 9_900.0}), *machines.oven[1:]),
                "booth": machines.booth.model_copy(update={"life_y": 9.0}),
            }
        ),
        policy=policy.model_copy(
            update={
                "target_margin": 0.31,
                "interest": 0.09,
                "scarce": policy.scarce.model_copy(update={"worth_per_h": 80.0}),
            }
        ),
    )
    # the oven was chosen, and its heat worked out, at the old means; both stay, as they do when a slider moves
    hold = replace(shop, policy=new.policy.model_copy(update={"interest": shop.policy.interest}))
    library = costs_of(hold, items, (1, 10), book=new.book)
    found = prices(told)
    whole = library
    for item, each in zip(items.values(), whole, strict=True):
        for n, quantity in enumerate((1, 10)):
            for side, cost_now in zip(found[item.title, quantity], each[:, n], strict=True):
                assert (side.cost, side.asked) == pytest.approx((cost_now, cost_now / 0.69), abs=0.005), item.key
                # the part-cure's dwell is another, so where there is one the row says that its heat is not
                assert side.told in {*DOUBTS, UNDER, ""}
    figures = job_figures(told)
    for at, choice in enumerate(choices_of(shop, letters)):
        sheet = cost(hold, letters.model_copy(update={"powders": choice.powders}), finish=choice.key, book=new.book)
        assert figures["Full cost: the break-even price"][at] == pytest.approx(sheet.total, abs=0.005)
        assert figures[f"cash and what the {policy.scarce.resource}'s hours bring elsewhere"][at] == pytest.approx(
            marks_of(sheet).scarce, abs=0.005
        )


def test_one_rate_changed_gives_what_a_folder_with_that_rate_gives(
    items: dict[str, Item], letters: Job, own: Path, tmp_path: Path, profile: Path
) -> None:
    """The whole way round: the file rates.csv changed, read again, costed; against one cell changed."""
    few = {key: items[key] for key in ("sign_letter_200", "house_number", "railing_metre")}
    before = open_shop(own)
    book = opened(spreadsheet(before, few, day=DAY, job=letters), values=False)
    book["Rates"].cell(rate_row(book["Rates"], "wipe_line_m_hands"), 4).value = 3.9
    told = recalculated(book, tmp_path, profile)
    text = (own / "rates.csv").read_text("utf-8")
    line = next(line for line in text.splitlines() if line.startswith("wipe,line_m,hands"))
    (own / "rates.csv").write_text(text.replace(line, line.replace(",2.2,", ",3.9,")), "utf-8")
    again = open_shop(own)
    assert again.rates["wipe.line_m.hands"].likely == 3.9
    assert_prices(told, costs_of(again, few, (1, 10)), few, again.policy.target_margin, before)
    assert_job(told, again, letters)


def test_a_us_shop_and_changed_measures(
    items: dict[str, Item], letters: Job, own: Path, tmp_path: Path, profile: Path
) -> None:
    (own / "shop.toml").write_text((own / "shop.toml").read_text("utf-8").replace('"metric"', '"us"'), "utf-8")
    us = open_shop(own)
    few = {key: items[key] for key in ("sign_letter_300", "bench_end", "radiator_column")}
    book = opened(spreadsheet(us, few, day=DAY, job=letters), values=False)
    rates, families, job = book["Rates"], book["Items"], book["Job"]
    row = rate_row(rates, "wipe_line_m_hands")
    for column, per_ft in enumerate((0.3, 1.0, 2.0), 3):
        rates.cell(row, column).value = per_ft
    heads = {families.cell(4, column).value: column for column in range(1, 10)}
    families.cell(row_of(families, "Sign letter, 300 mm"), heads["line, ft of one"]).value = 12.0
    families.cell(row_of(families, "Cast-iron bench end"), heads["nooks of one"]).value = 20
    at = row_of(job, "Sign letter, 300 mm")
    job.cell(at, 2).value = 14
    job.cell(at, 3).value = 1.5  # ft²
    told = recalculated(book, tmp_path, profile)

    new = changed(us, {"wipe.line_m.hands": (0.3 / 0.3048, 1.0 / 0.3048, 2.0 / 0.3048)})
    longer = dict(few)
    for key, update in (("sign_letter_300", {"line_m": 12 * 0.3048}), ("bench_end", {"spots": 20})):
        item = few[key]
        longer[key] = item.model_copy(update={"part": item.part.model_copy(update=update)})
    library = costs_of(new, longer, (1, 10))
    found, whole_cost = prices(told), library
    for item, each in zip(few.values(), whole_cost, strict=True):
        for n, quantity in enumerate((1, 10)):
            got = [side.cost for side in found[item.title, quantity]]
            assert got == pytest.approx(list(each[:, n]), abs=0.005), item.key
    assert set(job_figures(told)["ask again"]) == {OTHER_HEAT}  # another area takes up another heat
    part = letters.lots[0].part
    # the heat of a load was worked out for the part's old area; only the amounts follow the cell
    more = letters.model_copy(update={"lots": (Lot(part=part, quantity=14),)})
    wanted = cost(new, more)
    grown = more.model_copy(
        update={"lots": (Lot(part=part.model_copy(update={"area_m2": 1.5 * 0.3048**2}), quantity=14),)}
    )
    whole = job_figures(told)["Full cost: the break-even price"][2]
    assert whole > wanted.total
    assert whole == pytest.approx(cost(new, grown).total, rel=2e-4)


def test_each_number_that_is_offered_down_and_up(
    shop: Shop, items: dict[str, Item], tmp_path: Path, profile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One file for each number moved, all recomputed by one run: each figure is right, or its row says ask again."""
    few = {key: items[key] for key in ("bench_end", "wheel_set")}
    offered = Offered(live_shop(shop), few)
    keys = {item.title: key for key, item in few.items()}

    def kept(live: Any, part: Any, pieces: float) -> Any:
        cells = part_cells(live, part, pieces)
        offered.cells[next(key for key, item in few.items() if item.part is part)] = cells
        return cells

    monkeypatch.setattr("pricing.papers.spreadsheet.live_shop", lambda _: offered.live)
    monkeypatch.setattr("pricing.papers.spreadsheet.part_cells", kept)
    book = opened(spreadsheet(shop, few, day=DAY, quantities=(1,)), values=False)
    book.save(tmp_path / "base.xlsx")
    sheets = {name: f"xl/worksheets/sheet{at}.xml" for at, name in enumerate(book.sheetnames, 1)}
    with zipfile.ZipFile(tmp_path / "base.xlsx") as packed:
        texts = {name: packed.read(name).decode("utf-8") for name in packed.namelist()}
    every = dict(offered.scenarios())
    assert len(every) > 200
    # of each number one way, down and up in turn: half the files for the office program to open
    scenarios = {name: changes for at, (name, changes) in enumerate(every.items()) if at % 4 in {0, 3}}
    files = []
    for at, changes in enumerate(scenarios.values()):
        moved = dict(texts)
        for cell, value in changes.items():
            name, place = sheets[cell.place.sheet], cell.place._replace(name="").seen_from(cell.place.sheet)
            pattern = rf'(<c r="{place}"[^>]*><v>)[^<]*(</v>)'
            moved[name], count = re.subn(pattern, rf"\g<1>{value!r}\g<2>", moved[name])
            assert count == 1, (name, place)
        files.append(tmp_path / f"s{at}.xlsx")
        with zipfile.ZipFile(files[-1], "w", zipfile.ZIP_DEFLATED) as packed:
            for name, text in moved.items():
                packed.writestr(name, text)
    # 2: the second sheet, its numbers in full
    converted(
        files,
        "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,2",
        tmp_path / "out",
        profile,
    )
    marked = wrong = 0
    for at, changes in enumerate(scenarios.values()):
        text = (tmp_path / "out" / f"s{at}-Prices.csv").read_text("utf-8")
        rows = list(csv.reader(text.splitlines()))[4:]
        library = offered.library(changes, (1,))
        costs = iter(library)
        for row in rows:
            assert row[0] in keys
            for place, told in ((6, row[18]), (13, row[19])):
                cost_now = next(costs)
                marked += told in DOUBTS
                wrong += told not in DOUBTS and abs(float(row[place]) - cost_now) > 0.005
    assert wrong == 0
    assert 0 < marked < 0.1 * len(scenarios) * 2 * len(few)

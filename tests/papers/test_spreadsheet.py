"""The workbook as it is written: the library's figures, formulas from the model's own sums, texts that stay texts."""

import math
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from pricing.commands.main import main
from pricing.costing.graph import Graph, Symbol
from pricing.costing.sheet import cost
from pricing.papers import formulas
from pricing.papers.customer_quote import choices_of
from pricing.papers.formulas import CellPlace
from pricing.papers.live_job import OTHER_HEAT, OTHER_OVEN, live_sheet, part_cells
from pricing.papers.live_shop import live_shop
from pricing.papers.spreadsheet import spreadsheet
from pricing.papers.workbook import Workbook
from pricing.parts.items import Item
from pricing.parts.job import Job, Lot, job_of_item, read_job
from pricing.prices.quote import quote
from pricing.shop.shop import Shop
from tests.conftest import ROOT, with_policy
from tests.papers.books import costs_of, job_figures, listed, opened, prices, rate_row, reworked
from tests.papers.scenarios import Offered

DAY = date(2026, 11, 25)
# worked out by the program from the oven's heat, so a workbook cannot follow them
HEAT = {"oven_air_above_metal", "oven_cold_starts", "oven_idle", "oven_door", "outgas_above_cure"}


@pytest.fixture(scope="module")
def few(items: dict[str, Item]) -> dict[str, Item]:
    return {key: items[key] for key in ("sign_letter_300", "bench_end", "wheel_set", "bicycle_frame")}


@pytest.fixture(scope="module")
def content(shop: Shop, few: dict[str, Item], letters: Job) -> bytes:
    return spreadsheet(shop, few, day=DAY, job=letters)


@pytest.fixture(scope="module")
def shown(content: bytes) -> Any:
    return opened(content, values=True)


@pytest.fixture(scope="module")
def written(content: bytes) -> Any:
    return opened(content, values=False)


def test_the_price_list_shows_the_librarys_figures(shop: Shop, few: dict[str, Item], shown: Any) -> None:
    told = prices(shown)
    for item in few.values():
        for quantity in (1, 10):
            jobs = [job_of_item(item, units=quantity, column=column) for column in ("single", "two_tone")]
            for side, price, job in zip(told[item.title, quantity], listed(shop, item, quantity), jobs, strict=True):
                whole = float(cost(shop, job).total)
                wanted = (price, whole, whole / (1 - shop.policy.target_margin), 1 - whole / price)
                assert side[:4] == pytest.approx(wanted, rel=1e-12), (item.key, quantity)
                assert not side.told


def test_the_job_shows_the_librarys_figures(shop: Shop, letters: Job, shown: Any) -> None:
    figures = job_figures(shown)
    for at, choice in enumerate(choices_of(shop, letters)):
        asked = quote(shop, letters.model_copy(update={"powders": choice.powders}), finish=choice.key)
        sheet, marks, price = asked.sheet, asked.marks, asked.must_price()
        wanted = {
            "Full cost: the break-even price": marks.break_even,
            "of it cash": marks.cash_floor,
            "attended minutes": sheet.minutes,
            "cash and what the owner's hours bring elsewhere": marks.scarce,
            "what the costs ask for: leaves the margin wanted": marks.target,
            "price as it was quoted": price.printed,
            "sales tax on it": asked.net * shop.policy.sales_tax,
            "margin left, share of the net price": asked.margin_share,
        }
        for words, figure in wanted.items():
            assert figures[words][at] == pytest.approx(figure, rel=1e-12), (choice.key, words)


def test_every_figure_of_the_sheets_is_a_formula(written: Any) -> None:
    for name in ("Prices", "Job", "Two-tone, line wiped by hand", "List workings"):
        numbers = [
            cell
            for row in written[name].iter_rows()
            for cell in row
            if isinstance(cell.value, (int, float)) and cell.number_format.startswith("#,##0.00;")
        ]
        if name == "Prices":  # the printed list: the first and each further one, in both columns
            assert {cell.column for cell in numbers} == {4, 5, 11, 12}
            continue
        # what is left are figures of the oven's heat, and nothing
        assert all(cell.column <= 11 or cell.value == 0 for cell in numbers), name
    assert str(written["Prices"]["G5"].value).startswith("=")


def test_no_formula_is_longer_than_a_spreadsheet_takes(written: Any) -> None:
    formulas = [str(c.value) for sheet in written for row in sheet.iter_rows() for c in row if str(c.value)[:1] == "="]
    assert max(map(len, formulas)) < 2000
    assert len(formulas) > 2000


def test_formulas_read_like_the_sum_behind_the_number(written: Any) -> None:
    sheet = written["Two-tone, line wiped by hand"]
    row = next(r for r in range(1, 60) if sheet.cell(r, 1).value == "Wipe the line clean, second coat")
    minutes = sheet.cell(row, 8).value
    assert "wipe_line_m_hands" in minutes
    assert minutes.endswith("*(1+rest_allowance)")


def test_rates_that_act_through_the_heat_are_marked(shop: Shop, items: dict[str, Item], content: bytes) -> None:
    sheet = opened(content, values=True)["Rates"]
    marked = {
        sheet.cell(row, sheet.max_column).value
        for row in range(5, sheet.max_row + 1)
        if str(sheet.cell(row, 1).value).endswith("*")
    }
    assert marked >= HEAT
    live = live_shop(shop)
    for key in ("bench_end", "wheel_set"):
        item = items[key]
        live_sheet(live, job_of_item(item), [part_cells(live, item.part, item.pieces)], item.two_tone)
    assert not {key.replace(".", "_") for key in live.book.read} & HEAT


def test_what_must_not_be_quoted_has_no_price(shop: Shop, few: dict[str, Item]) -> None:
    strict = with_policy(shop, most_heat_cycles=2)
    told = prices(opened(spreadsheet(strict, few, day=DAY), values=True))
    two = told["Alloy wheels, set of four", 1][1]
    assert two.cost is None
    assert "ask the maker" in two.price


NASTY = ("=1+1", "+A1", "-2", "@sum(A1)", "=cmd|' /C calc'!A0", "https://example.com", "{=1}")


def test_no_text_is_run_as_a_formula(shop: Shop, few: dict[str, Item], letters: Job) -> None:
    nasty = {
        key: few["bicycle_frame"].model_copy(update={"note": text}) for key, text in zip("abcdefg", NASTY, strict=True)
    }
    rates = {
        key: replace(row, note=NASTY[n % 7], where=NASTY[n % 5]) for n, (key, row) in enumerate(shop.rates.items())
    }
    job = letters.model_copy(update={"title": NASTY[4]})
    book = opened(spreadsheet(replace(shop, rates=rates), nasty, day=DAY, job=job, quantities=(1,)), values=False)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value in NASTY:
                    assert cell.data_type == "s", (sheet.title, cell.coordinate)
                assert cell.hyperlink is None or cell.hyperlink.target is None  # no link leads out of the workbook
    assert sum(c.value in NASTY for sheet in book for row in sheet.iter_rows() for c in row) > 100


def test_inputs_are_guarded(written: Any) -> None:
    rules = written["Rates"].data_validations.dataValidation
    assert len(rules) > 3
    row = rate_row(written["Rates"], "spoil_wiped")
    checked = [rule for rule in rules if f"C{row}" in rule.sqref]
    assert checked
    assert (float(checked[0].formula1), float(checked[0].formula2)) == (0.0, 1.0)
    assert "must rise" in written["Rates"].cell(row, 7).value


def test_what_may_be_changed_is_open_and_all_else_is_locked(written: Any) -> None:
    yellow = "FFFFF6DD"
    for name in ("Prices", "Rates", "Shop", "Items", "Job"):
        sheet = written[name]
        assert sheet.protection.sheet, name
        assert sheet.protection.password is None, name
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.protection.locked == (cell.fill.start_color.rgb != yellow), (name, cell.coordinate)
    rates = written["Rates"]
    for row in range(5, rates.max_row + 1):
        deaf = str(rates.cell(row, 1).value).endswith("*")
        assert rates.cell(row, 4).protection.locked == deaf, rates.cell(row, 1).value
    fixed = {written["Shop"].cell(row, 1).value: written["Shop"].cell(row, 2).protection.locked for row in range(1, 90)}
    assert fixed["minimum charge"]
    assert fixed["sales tax"]
    assert not fixed["margin wanted, share of the price"]


def test_the_command_writes_it_and_overwrites_nothing(tmp_path: Path) -> None:
    words = ["spreadsheet", "--out", str(tmp_path), "--quantities", "1", "--day", "2026-11-25"]
    for name in ("prices 2026-11-25.xlsx", "prices 2026-11-25 (2).xlsx"):
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 0, result.output
        assert name in result.output
    book = opened((tmp_path / "prices 2026-11-25.xlsx").read_bytes(), values=True)
    assert book["Job"]["A1"].value.startswith("Bakery sign")


def test_a_shop_in_feet_has_its_rates_in_feet(shop: Shop, few: dict[str, Item], own: Path) -> None:
    from pricing.shop.folder import open_shop

    (own / "shop.toml").write_text((own / "shop.toml").read_text("utf-8").replace('"metric"', '"us"'), "utf-8")
    us = open_shop(own)
    book = opened(spreadsheet(us, few, day=DAY), values=True)
    sheet = book["Rates"]
    row = rate_row(sheet, "wipe_line_m_hands")
    assert sheet.cell(row, 2).value == "min/ft"
    rate = shop.rates["wipe.line_m.hands"]
    assert sheet.cell(row, 4).value == pytest.approx(rate.likely * 0.3048)
    assert sheet.cell(row, 7).value == pytest.approx(rate.mean)
    assert book["Prices"]["G5"].value == pytest.approx(costs_of(us, few, (1,))[0, 0, 0], rel=1e-12)


@pytest.mark.parametrize(("currency", "cents"), [("JPY", "#,##0"), ("EUR", "#,##0.00")])
def test_money_has_the_digits_of_its_currency(few: dict[str, Item], tmp_path: Path, currency: str, cents: str) -> None:
    from pricing.shop.folder import new_folder, open_shop

    shop = open_shop(new_folder(tmp_path / "mine", currency=currency))
    cell = opened(spreadsheet(shop, {"bench_end": few["bench_end"]}, day=DAY), values=True)["Prices"]["G5"]
    assert cell.value > 0
    assert cell.number_format.split(";")[0] == cents


# numbers that remember ------------------------------------------------------------------------------------


def evaluated(words: str, cells: dict[str, float]) -> float:
    """Work a formula out as a spreadsheet does; Python stands in for it here."""
    python = words.replace("^", "**").replace("<>", "!=")
    names: dict[str, Any] = {
        "MAX": max,
        "MIN": min,
        "INT": math.floor,
        "EXP": math.exp,
        "LN": math.log,
        "IF": lambda test, one, other: one if test else other,
    }
    return float(eval(re.sub(r"\bE-", "e-", python), {"__builtins__": {}}, names | cells))  # noqa: S307


def leaf(graph: Graph, name: str, value: float) -> Symbol:
    found = graph.number(value)
    found.place = CellPlace("s", 0, 0, name)
    return found


small = st.floats(0.1, 9.0)
_DONE: list[Any] = [
    lambda o, t: o + t,
    lambda o, t: o - t,
    lambda o, t: o * t,
    lambda o, t: o / (t * t + 1.0),
    lambda o, _: 2.5 - o,
    np.maximum,
    lambda o, t: np.minimum(o, t * 2.0),
    lambda o, _: np.ceil(o - 1e-9),
    lambda o, t: np.where(o > t, o, t * 0.5),
    lambda o, t: -o + t,
    lambda o, _: np.minimum(np.maximum(o, 0.1), 3.0) ** 2.0,
]


@given(a=small, b=small, c=small, picks=st.lists(st.tuples(st.integers(0, 10), st.booleans()), min_size=1, max_size=12))
def test_a_formula_comes_to_its_value(a: float, b: float, c: float, picks: list[tuple[int, bool]]) -> None:
    graph = Graph()
    cells = {"a": a, "b": b, "c": c}
    given_cells = [leaf(graph, name, value) for name, value in cells.items()]
    current: Any = given_cells[0]
    for number, (pick, turned) in enumerate(picks):
        other: Any = given_cells[number % 3]
        one, two = (other, current) if turned else (current, other)
        current = _DONE[pick](one, two)
        if not isinstance(current, Symbol):
            current = given_cells[1]
    if current.op is not None:
        assert evaluated(formulas.written(current, "s"), cells) == pytest.approx(current.value, rel=1e-12, abs=1e-12)


def test_what_asks_for_the_number_is_refused() -> None:
    number = Graph().number(2.0)
    for asked in (float, bool, int, list, np.asarray, np.sort):
        with pytest.raises(TypeError):
            asked(number)  # type: ignore[operator]
    with pytest.raises(TypeError, match="sin has no formula"):
        formulas.written(np.sin(number), "s")


def test_the_model_on_cells_gives_the_model_on_numbers(shop: Shop, items: dict[str, Item], letters: Job) -> None:
    live = live_shop(shop)
    for key, value in shop.book.items():
        assert getattr(live.book[key], "value", live.book[key]) == pytest.approx(value, rel=1e-14), key
    for choice in choices_of(shop, letters):
        job = letters.model_copy(update={"powders": choice.powders})
        found = live_sheet(live, job, [part_cells(live, lot.part, lot.pieces) for lot in job.lots], choice.key)
        plain = cost(shop, job, finish=choice.key)
        for on_cells, line in zip(found.sheet.lines, plain.lines, strict=True):
            assert getattr(on_cells.total, "value", on_cells.total) == pytest.approx(line.total, rel=1e-12), line.id


@pytest.mark.slow
def test_whatever_is_changed_a_figure_is_right_or_its_row_says_ask_again(shop: Shop, items: dict[str, Item]) -> None:
    """As a spreadsheet would work it out, Python standing in for it; LibreOffice itself is asked elsewhere."""
    quantities = (1, 10)
    few = {key: items[key] for key in ("sign_letter_300", "bench_end", "wheel_set", "valve_cover")}
    live = live_shop(shop)
    offered = Offered(live, few, {key: part_cells(live, item.part, item.pieces) for key, item in few.items()})
    found: list[Any] = []
    for key, item in few.items():
        for column in ("single", "two_tone"):
            for quantity in quantities:
                job = job_of_item(item, units=quantity, column=column)
                sheet = live_sheet(live, job, [offered.cells[key]], job.finish, times=quantity)
                found.append((sheet.doubts, sheet.sheet.total, quantity))
    scenarios = dict(offered.scenarios())
    assert len(scenarios) > 250
    marked: dict[str, set[str]] = {}
    for name, changes in scenarios.items():
        values, library = reworked(live.graph, changes), offered.library(changes, quantities)
        for at, (doubts, total, _) in enumerate(found):
            told = {words for words, doubt in doubts.items() if isinstance(doubt, Symbol) and values[doubt.at]}
            if told:
                marked.setdefault(name, set()).update(told)
            else:
                assert values[total.at] == pytest.approx(library[at], rel=1e-9), (name, at)
    # most numbers move no oven and no heat, so nothing is marked for them; some do
    assert len(marked) < 0.2 * len(scenarios)
    assert {words for told in marked.values() for words in told} == {OTHER_OVEN, OTHER_HEAT}


def test_a_job_of_several_kinds_says_ask_again_when_another_number_is_to_be_packed(
    shop: Shop, items: dict[str, Item]
) -> None:
    job = read_job(ROOT / "data" / "jobs" / "gate_and_railing.toml", shop, items)
    live = live_shop(shop)
    parts = [part_cells(live, lot.part, lot.pieces) for lot in job.lots]
    doubt = live_sheet(live, job, parts, job.finish).doubts[OTHER_HEAT]
    assert isinstance(doubt, Symbol)
    for measure, expected in (("pieces", 1.0), ("edge", 0.0)):
        cell = next(part.cells[measure] for part in parts if part.cells[measure] is not None)
        assert cell is not None
        assert reworked(live.graph, {cell: cell.value + 1.0})[doubt.at] == expected, measure


def test_kinds_that_are_rejected_unlike_cost_on_cells_what_they_cost_in_the_quote(
    shop: Shop, items: dict[str, Item]
) -> None:
    lots = [Lot(part=items[key].part, quantity=n) for key, n in (("motorcycle_frame", 4), ("valve_cover", 12))]
    job = Job(
        title="frames and covers", finish="two_tone_wiped", powders=("jet black", "signal white"), lots=tuple(lots)
    )
    live = live_shop(shop)
    parts = [part_cells(live, lot.part, lot.pieces) for lot in lots]
    total: Any = live_sheet(live, job, parts, job.finish).sheet.total
    for at, lot in enumerate(lots):
        cell = parts[at].cells["area"]
        assert cell is not None
        larger = lot.part.model_copy(update={"area_m2": lot.part.area_m2 + 1.0})
        changed = (*lots[:at], lot.model_copy(update={"part": larger}), *lots[at + 1 :])
        moved = job.model_copy(update={"lots": changed})
        told = reworked(live.graph, {cell: cell.value + 1.0})[total.at]
        assert told == pytest.approx(float(cost(shop, moved).total), rel=1e-9)
    assert total.value == pytest.approx(float(cost(shop, job).total), rel=1e-9)


def test_names_of_cells_can_be_told_from_cells() -> None:
    book = Workbook("t", "a", DAY, letter=False)
    names = [
        book.name(text) for text in ("film.RAL 9010", "A1", "wipe.line_m.hands", "wipe line m hands", "R", "émail", "9")
    ]
    assert len({name.casefold() for name in names}) == len(names)
    assert all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*", name) for name in names)
    assert not any(re.fullmatch(r"[A-Za-z]{1,3}\d+|[RrCc]", name) for name in names)


def test_sheets_have_names_that_fit_a_tab() -> None:
    book = Workbook("t", "a", DAY, letter=False)
    names = [
        book.sheet(text).name for text in ("Two-tone: [new]/old? and a very long finish", "x" * 40, "x" * 41, "''")
    ]
    assert all(0 < len(name) <= 31 and not re.search(r"[\[\]:*?/\\']", name) for name in names)
    assert len(set(names)) == len(names)

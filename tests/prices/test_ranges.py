"""Amounts as ranges: read, drawn, and a price from where to where, fixed at intake."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.basis.ranges import Between, WholeBetween, read_between
from pricing.costing.draws import Sampler
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.plan import Plan
from pricing.parts.items import Item, items_text, read_item_rows, read_items
from pricing.parts.job import Job, job_of, job_of_item
from pricing.prices.quote import quote
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


@pytest.fixture(scope="module")
def items(shop: Shop) -> Mapping[str, Item]:
    return read_items(shop)


def letters(shop: Shop, items: Mapping[str, Item], *parts: dict[str, Any], **more: Any) -> Job:
    """Sign letters with what is given of each part."""
    table = {"title": "Letters", "finish": "two_tone_wiped", "powders": ["jet black", "signal white"], **more}
    return job_of(table | {"part": [{"item": "sign_letter_300"} | part for part in parts]}, shop, items, where="test")


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("5 to 9 m", (5, 7, 9)),
        ("5 m to 900 cm", (5, 7, 9)),
        ("5–9 m", (5, 7, 9)),
        ("5 to 9 m, likely 6 m", (5, 6, 9)),
        ("10 to 20 ft", (3.048, 4.572, 6.096)),
        ("1/2 to 1 1/2 m", (0.5, 1, 1.5)),
    ],
)
def test_a_range_is_read_as_people_write_it(text: str, ends: tuple[float, ...]) -> None:
    found = read_between(text, "m")
    assert isinstance(found, Between)
    assert (found.low, float(found), found.high) == pytest.approx(ends)


@given(st.tuples(*[st.floats(0, 1e4)] * 3))
def test_a_range_is_read_as_it_was_written(three: tuple[float, ...]) -> None:
    low, likely, high = sorted(three)
    assume(low < high)
    written = Between(low, high, likely)
    assert read_between(written.text("m"), "m") == written
    assert written != likely


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"quantity": "30 to 20"}, "smaller end first"),
        ({"quantity": 3, "line": "9 to 5 m"}, "smaller end comes first"),
        ({"quantity": "0 to 5"}, "quantity"),
        ({"quantity": 3, "thickness": "2 to 4 mm"}, "thickness"),
        ({"quantity": 3, "line": "5 to 9 kg"}, "line"),
        ({"quantity": "many to more"}, "20 to 30"),
    ],
)
def test_a_bad_range_is_told_with_its_field(
    shop: Shop, items: Mapping[str, Item], fields: dict[str, Any], told: str
) -> None:
    with pytest.raises(BadInput, match=told):
        letters(shop, items, fields)


def test_the_price_is_laid_at_the_likely_amounts_and_its_ends_at_the_ends(
    shop: Shop, items: Mapping[str, Item]
) -> None:
    found = quote(shop, letters(shop, items, {"quantity": "7 to 11"}))
    few, likely, many = (quote(shop, letters(shop, items, {"quantity": n})) for n in (7, 9, 11))
    assert found.origin == "list"
    assert found.net == likely.net
    assert found.between
    assert [end.net for end in found.between] == [few.net, many.net]
    assert likely.between is None
    lined = quote(shop, letters(shop, items, {"quantity": 9, "line": "2 to 4 m"}))
    ends = [quote(shop, letters(shop, items, {"quantity": 9, "line": f"{m} m"})).net for m in (2, 4)]
    assert lined.between
    assert [end.net for end in lined.between] == ends


def test_an_end_that_is_as_the_list_has_it_is_still_laid_like_the_rest(shop: Shop, items: Mapping[str, Item]) -> None:
    at_list = items["sign_letter_300"].part.line_m
    found = quote(shop, letters(shop, items, {"quantity": 9, "line": f"{at_list} to {2 * at_list} m"}))
    assert found.between
    assert found.ends
    assert {found.origin, *(end.origin for end in found.ends)} == {"worked out"}


def test_what_is_open_is_drawn(shop: Shop, items: Mapping[str, Item]) -> None:
    one, other = (quote(shop, letters(shop, items, {"quantity": n})) for n in (9, "5 to 13"))
    sure, open_ = (found.risk(draws=65_536) for found in (one, other))
    assert open_.point == pytest.approx(sure.point)
    assert float(np.std(open_.costs)) > 1.05 * float(np.std(sure.costs))
    assert open_.chance_of_loss(one.net) > sure.chance_of_loss(one.net)
    few, many = (float(end.sheet.total) for end in other.ends or ())
    assert few < open_.mean < many


def test_open_amounts_run_on_the_tape_as_by_themselves(shop: Shop, items: Mapping[str, Item]) -> None:
    job = letters(
        shop,
        items,
        {"quantity": "7 to 11", "line": "2 to 4 m", "spots": "2 to 5", "area": "0.1 to 0.15 m2"},
        {"item": "bench_end", "quantity": "2 to 6", "edge": "4 to 7 m", "mass": "18 to 25 kg"},
        alone=True,
    )
    model = JobCost.of(shop, job)
    known = known_of(shop, model)
    plan = Plan(model, known)
    assert plan.tape is not None
    assert set(model.amounts) <= set(plan.keys)
    assert plan.on_blocks(Sampler(known, 3), 0, 1) == pytest.approx(model(Sampler(known, 3).block(0)), rel=1e-9)


def test_amounts_at_an_end_cost_what_the_job_there_costs(shop: Shop, items: Mapping[str, Item]) -> None:
    job = letters(shop, items, {"quantity": "7 to 11", "line": "2 to 4 m"})
    model = JobCost.of(shop, job)
    numbers = {**shop.book, **{key: row.high for key, row in model.amounts.items()}}
    assert float(model(numbers)) == pytest.approx(float(JobCost.of(shop, job.at("high"))(shop.book)), rel=1e-12)


def test_an_item_keeps_its_ranges_and_its_list_price(tmp_path: Path) -> None:
    folder = new_folder(tmp_path / "mine")
    table = folder / "items.csv"
    table.write_text(table.read_text("utf-8").replace("3.6 m,1.8 m,3,0,", "3.6 m,1.6 to 2 m,2 to 4,0,"), "utf-8")
    mine = open_shop(folder)
    rows = read_items(mine)
    part = rows["sign_letter_200"].part
    assert (part.line_m, part.spots) == (Between(1.6, 2.0), WholeBetween(2, 4))
    changed = {**rows, "sign_letter_200": rows["sign_letter_200"].model_copy(update={"note": "changed"})}
    table.write_text(items_text(table, changed, rows), "utf-8")
    assert read_item_rows(table, mine)["sign_letter_200"].part == part
    found = quote(mine, job_of_item(rows["sign_letter_200"], units=9))
    assert found.origin == "list"
    assert found.between is None, "a price of the list is firm, whatever the part turns out to be"
    assert any(key.endswith("line_m") for key in JobCost.of(mine, found.job).amounts)


def test_numbers_over_plan_are_counted_once_in_both_finishes(shop: Shop, items: Mapping[str, Item]) -> None:
    book = {**shop.book, "plan.weeks": 0.8}
    found = quote(shop, letters(shop, items, {"quantity": 9}), book=book)
    plain = quote(shop, letters(shop, items, {"quantity": 9}), finish="single", book=book)
    assert found.plain.cost == pytest.approx(plain.cost)


def test_ends_are_quoted_with_the_numbers_of_the_quote(shop: Shop, items: Mapping[str, Item]) -> None:
    dear = {**shop.book, "hour.owner": 2 * shop.book["hour.owner"]}
    found = quote(shop, letters(shop, items, {"quantity": 9, "line": "2 to 4 m"}), book=dear)
    ends = [quote(shop, letters(shop, items, {"quantity": 9, "line": f"{m} m"}), book=dear).net for m in (2, 4)]
    assert found.ends
    assert [end.net for end in found.ends] == ends
    assert ends[0] > quote(shop, letters(shop, items, {"quantity": 9, "line": "2 m"})).net

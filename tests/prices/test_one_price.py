"""One quote, one price: whoever asks, and whoever adds the printed list up by hand, arrives at the same total."""

import csv
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.commands.figures import quote_figures
from pricing.commands.main import main
from pricing.commands.shell import in_currency
from pricing.papers.customer_quote import quote_fields
from pricing.papers.printed_list import list_csv, list_fields
from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, Lot, job_of_item
from pricing.parts.part import Part
from pricing.prices.extra import two_tone
from pricing.prices.price_list import list_price, price_list
from pricing.prices.questions import QUESTIONS, break_even
from pricing.prices.quote import quote
from pricing.prices.week import Wanted, offers
from pricing.shop.folder import open_shop
from pricing.shop.own_prices import OwnPrice
from pricing.shop.policy import PricePoint
from pricing.shop.shop import Shop
from tests.conftest import with_part

DAY = date(2026, 11, 25)
STOCK, BOUGHT = ("silver metallic", "jet black", "signal white", "graphite texture"), ("sky blue", "moss green")
COLUMNS = ("single", "two_tone")
KEYS = tuple(read_items(open_shop()))
many = settings(max_examples=1000, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
some = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def second_shop(shop: Shop) -> Shop:
    """Another margin, tax in the prices, US units, yen, other price points."""
    points = (PricePoint(up_to=500.0, step=10.0), PricePoint(up_to=90_000.0, step=50.0))
    policy = shop.policy.model_copy(
        update={
            "target_margin": 0.41,
            "prices_include_tax": True,
            "sales_tax": 0.1,
            "minimum_charge": 333.0,
            "price_points": points,
            "each_points": (PricePoint(up_to=90_000.0, step=5.0),),
            "further_kind": 20.0,
        }
    )
    front = shop.front.model_copy(update={"currency": "JPY", "locale": "ja_JP", "units": "us"})
    return replace(shop, policy=policy, front=front)


@pytest.fixture(scope="module", params=["the demo shop", "yen, tax in prices, US units"])
def any_shop(request: pytest.FixtureRequest, shop: Shop) -> Shop:
    return shop if request.param == "the demo shop" else second_shop(shop)


@pytest.fixture(scope="module")
def printed(any_shop: Shop, items: dict[str, Item]) -> dict[str, dict[str, str]]:
    """The printed list as a customer gets it: a table of text."""
    fields = list_fields(any_shop, items, day=DAY)
    return {row["item"]: row for row in csv.DictReader(list_csv(fields).splitlines())}


@st.composite
def orders(draw: st.DrawFn) -> dict[str, Any]:
    """An order of up to five kinds in one finish and one set of colours."""
    chosen = draw(st.lists(st.sampled_from(KEYS), min_size=1, max_size=5, unique=True))
    return {
        "lines": {key: draw(st.integers(1, 60)) for key in chosen},
        "column": draw(st.sampled_from(COLUMNS)),
        "clear": draw(st.integers(0, 5)) == 0,
        "first": draw(st.sampled_from((*STOCK, *BOUGHT))),
        "second": draw(st.sampled_from((*STOCK, *BOUGHT))),
        "rush": draw(st.integers(0, 7)) == 0,
    }


@st.composite
def parted(draw: st.DrawFn) -> tuple[dict[str, Any], str, dict[str, int]]:
    """An order, one of its kinds, and how many of each kind a first of two orders takes."""
    order = draw(orders())
    return (
        order,
        draw(st.sampled_from(sorted(order["lines"]))),
        {name: draw(st.integers(0, count)) for name, count in order["lines"].items()},
    )


def job_of(order: Mapping[str, Any], items: Mapping[str, Item]) -> Job:
    lots = tuple(Lot(part=items[key].part, quantity=n, item=items[key]) for key, n in order["lines"].items())
    finishes = {"single": ("single", "single_clear"), "two_tone": ("two_tone_wiped", "two_tone_clear")}
    colours = (order["first"],) if order["column"] == "single" else (order["first"], order["second"])
    powders = (*colours, "clear gloss") if order["clear"] else colours
    return Job(
        title="order", finish=finishes[order["column"]][order["clear"]], powders=powders, lots=lots, rush=order["rush"]
    )


def by_hand(order: Mapping[str, Any], rows: Mapping[str, Mapping[str, str]], shop: Shop) -> float | None:
    """Add the printed list up as its own text says; None where it gives no price."""
    code, policy = shop.currency, shop.policy

    def amount(key: str, name: str, part: str) -> float:
        return float(rows[key][f"{name}_{part}_{code}"] or "nan")

    colours = [order["first"]] if order["column"] == "single" else [order["first"], order["second"]]
    taxed = 1 + policy.sales_tax if policy.prices_include_tax else 1.0
    further = np.ceil(policy.further_kind * taxed / 5 - 1e-9) * 5 if policy.prices_include_tax else policy.further_kind
    setups, total = [], 0.0
    for key, count in order["lines"].items():
        first, each, beyond = (amount(key, order["column"], part) for part in ("first", "each_further", "each_beyond"))
        names = ["bought_colour_adds" for colour in colours if not shop.powders[colour].stocked] + [
            "clear_adds"
        ] * order["clear"]
        for name in names:
            first, each = first + amount(key, name, "first"), each + amount(key, name, "each_further")
            beyond += amount(key, name, "each_beyond")
        setups.append(first - each)
        total += min(count, 20) * each + max(count - 20, 0) * beyond
    if np.isnan(total + sum(setups)):
        return None
    setups.sort(reverse=True)
    total += setups[0] + sum(min(further, setup) for setup in setups[1:])
    least = policy.minimum_charge if not policy.prices_include_tax else np.ceil(policy.minimum_charge * taxed / 10) * 10
    total = max(total, least)
    return total + (round(total * policy.rush_surcharge, 0 if code == "JPY" else 2) if order["rush"] else 0.0)


@pytest.mark.slow
@many
@given(order=orders())
def test_the_printed_list_added_up_by_hand_is_the_quote(
    order: dict[str, Any], any_shop: Shop, items: dict[str, Item], printed: dict[str, dict[str, str]]
) -> None:
    found = quote(any_shop, job_of(order, items))
    if found.price is None:
        return
    told = by_hand(order, printed, any_shop)
    if told is None:  # clear coat on wheels is refused in two-tone, so that the list prints no adder for it
        assert order["clear"], order
        assert "wheel_set" in order["lines"], order
        assert found.origin == "worked out"
    else:
        assert found.origin in {"list", "minimum"}
        assert float(found.price.printed) == pytest.approx(told, abs=5e-3)
    assert found.margin_share >= any_shop.policy.target_margin - 1e-9, order
    assert not found.under_margin


@pytest.mark.slow
@many
@given(drawn=parted())
def test_one_more_piece_never_lowers_a_total_and_two_orders_are_never_cheaper(
    drawn: tuple[dict[str, Any], str, dict[str, int]], any_shop: Shop, items: dict[str, Item]
) -> None:
    order, key, taken = drawn
    if quote(any_shop, job_of(order, items)).price is None:
        return

    def total(lines: dict[str, int]) -> float:
        return float(quote(any_shop, job_of({**order, "lines": lines}, items)).must_price().printed)

    lines = order["lines"]
    more = {**lines, key: lines[key] + 1}
    whole = total(lines)
    assert total(more) >= whole - 1e-6
    assert total({key: lines[key] + 1}) / (lines[key] + 1) <= total({key: lines[key]}) / lines[key] + 1e-9
    parts = [{n: c for n, c in taken.items() if c}, {n: lines[n] - c for n, c in taken.items() if lines[n] - c}]
    if all(parts):
        assert sum(total(part) for part in parts) >= whole - 0.02


@some
@given(key=st.sampled_from(KEYS), column=st.sampled_from(COLUMNS), units=st.integers(1, 60))
def test_all_who_name_a_price_name_the_same(
    key: str, column: str, units: int, any_shop: Shop, items: dict[str, Item]
) -> None:
    code = any_shop.currency
    job = job_of_item(items[key], units=units, column=column)
    colours = ("jet black", "silver metallic")[: 1 if column == "single" else 2]
    job = job.model_copy(update={"powders": colours})
    found = quote(any_shop, job)
    told = float(found.must_price().printed)
    assert float(list_price(any_shop, items[key], units, column=column).printed) == told
    frame = price_list(any_shop, {key: items[key]}, quantities=(units,)).frame()
    assert frame[frame["column"] == column][f"total_{code}"].tolist() == [told]
    assert in_currency(quote_figures(found), code)[f"price_printed_{code}"] == told
    paper = quote_fields(any_shop, job, day=DAY)["price"]
    assert paper["total"] == pytest.approx(float(found.must_price().gross), abs=1e-9)
    item = items[key].model_copy(update={"powders": (*colours, "clear gloss")})
    (offer,) = offers(any_shop, [Wanted(item, column, 1.0, units)])
    assert offer.price == found.net


def test_a_price_is_never_under_the_wanted_margin_in_the_range(any_shop: Shop, items: dict[str, Item]) -> None:
    prices = price_list(any_shop, items, quantities=range(1, 61))
    frame = prices.frame()
    assert (frame["margin_share"] >= any_shop.policy.target_margin - 1e-9).all()
    assert (frame["refused"] == "").all()


@pytest.mark.parametrize(
    ("lines", "column"),
    [
        ({"motorcycle_frame": 20, "valve_cover": 60}, "single"),
        ({"motorcycle_frame": 2, "radiator_column": 6}, "two_tone"),
        ({"motorcycle_frame": 50, "sign_letter_200": 58}, "two_tone"),
        ({"motorcycle_frame": 56, "railing_metre": 7, "perforated_screen": 8, "house_number": 54}, "two_tone"),
    ],
)
def test_kinds_that_are_rejected_unlike_leave_the_wanted_margin_in_one_order(
    lines: dict[str, int], column: str, any_shop: Shop, items: dict[str, Item]
) -> None:
    order = {"lines": lines, "column": column, "clear": False, "first": STOCK[1], "second": STOCK[2], "rush": False}
    found = quote(any_shop, job_of(order, items))
    assert found.margin_share >= any_shop.policy.target_margin
    apart = [quote(any_shop, job_of({**order, "lines": {key: n}}, items)) for key, n in lines.items()]
    assert found.cost < sum(one.cost for one in apart)


def test_two_tone_is_never_under_single_tone_and_the_extra_is_the_difference(
    any_shop: Shop, items: dict[str, Item]
) -> None:
    prices = price_list(any_shop, items)
    for one, two in zip(prices.rows[::2], prices.rows[1::2], strict=True):
        assert one.tariff is not None
        assert two.tariff is not None
        assert two.tariff.first >= one.tariff.first
        assert two.tariff.each >= one.tariff.each
        assert two.tariff.beyond >= one.tariff.beyond
        for units in (1, 9, 45):
            job = job_of_item(one.item, units=units).model_copy(update={"powders": ("jet black", "signal white")})
            found = two_tone(any_shop, job)
            assert found.extra == pytest.approx(found.fancy.net - found.plain.net)
            _, line = found.rule.lines[0]
            printed = [float(side.must_price().printed) for side in (found.fancy, found.plain)]
            if not (found.fancy.must_price().at_minimum or found.plain.must_price().at_minimum):
                assert line.total(units) == pytest.approx(printed[0] - printed[1])


def test_what_the_owner_saved_is_the_price_everywhere_and_says_so(shop: Shop, items: dict[str, Item]) -> None:
    own = {
        ("wheel_set", "single"): OwnPrice(700.0, 380.0, 380.0),
        ("bicycle_frame", "single"): OwnPrice(60.0, 20.0, 20.0),
    }
    mine = replace(shop, own_prices=own)
    for key, units, total in (("wheel_set", 3, 700 + 2 * 380), ("bicycle_frame", 4, 60 + 3 * 20)):
        job = job_of_item(items[key], units=units, column="single").model_copy(update={"powders": ("jet black",)})
        found = quote(mine, job)
        assert found.net == total
        assert found.lines[0].own
        assert found.origin == "list"
        assert quote_fields(mine, job, day=DAY)["price"]["net"] == total
        assert list_price(mine, items[key], units).net == total
    assert found.under_margin  # 60 for a frame: it is said
    rows = {row["item"]: row for row in csv.DictReader(list_csv(list_fields(mine, items, day=DAY)).splitlines())}
    assert float(rows["wheel_set"]["single_first_EUR"]) == 700.0
    fresh = {
        row["item"]: row for row in csv.DictReader(list_csv(list_fields(mine, items, day=DAY, fresh=True)).splitlines())
    }
    assert float(fresh["wheel_set"]["single_first_EUR"]) == price_list(shop, items).row("wheel_set").asked.first  # type: ignore[union-attr]


def test_a_set_is_sold_as_a_set_and_pieces_count_pieces(shop: Shop, items: dict[str, Item]) -> None:
    from pricing.parts.job import job_of as read

    wheels = {"title": "wheels", "finish": "single", "powders": ["jet black"]}
    one_set = read(wheels | {"part": [{"item": "wheel_set", "quantity": 1}]}, shop, items, where="job")
    four = read(wheels | {"part": [{"item": "wheel_set", "pieces": 4}]}, shop, items, where="job")
    assert one_set.pieces == four.pieces == 4
    assert quote(shop, one_set).net == quote(shop, four).net == list_price(shop, items["wheel_set"]).net
    assert quote(shop, one_set).lines[0].count == 1
    three = read(wheels | {"part": [{"item": "wheel_set", "pieces": 3}]}, shop, items, where="job")
    assert quote(shop, three).origin == "worked out"  # a broken set is no row of the list
    assert quote(shop, three).net < quote(shop, one_set).net + 1e-9
    with pytest.raises(BadInput, match="one of the two"):
        read(wheels | {"part": [{"item": "wheel_set", "pieces": 4, "quantity": 1}]}, shop, items, where="job")


def test_a_part_of_ones_own_is_priced_in_the_same_way(shop: Shop, plates: Job) -> None:
    found = quote(shop, plates)
    assert found.origin == "worked out"
    assert found.margin_share >= shop.policy.target_margin
    totals = [quote(shop, with_part(plates, n)).net for n in range(1, 45)]
    assert (np.diff(totals) >= 0).all()
    assert (np.diff([total / n for n, total in enumerate(totals, 1)]) <= 1e-9).all()


def test_a_refused_job_gets_no_price_from_anybody(shop: Shop, items: dict[str, Item]) -> None:
    wheels = items["wheel_set"].model_copy(update={"powders": ("jet black", "signal white", "clear gloss")})
    job = job_of_item(wheels).model_copy(update={"finish": "two_tone_clear"})
    found = quote(shop, job)
    assert found.origin == "refused"
    assert found.price is None
    assert "no price" in repr(found)
    priced = ("price_n", "price_p", "deposit", "margin_s", "target", "scarce", "break_even", "cash_floor")
    assert not [key for key in quote_figures(found) if key.startswith(priced)]
    assert [key for key in quote_figures(found.plain) if key.startswith(priced)]
    for command in (["quote", "wheels_three_coats"], ["compare", "wheels_three_coats"]):
        told = CliRunner().invoke(main, command).output
        assert "NO PRICE" in told
        assert f"{float(found.marks.target):.2f}" not in told, command
    assert CliRunner().invoke(main, ["break-even", "wheels_three_coats"]).exit_code != 0
    assert offers(shop, [Wanted(wheels.model_copy(update={"two_tone": "two_tone_clear"}), "two_tone", 1, 1)]) == ()
    refusing = [lambda: quote_fields(shop, job, day=DAY), lambda: two_tone(shop, job), lambda: found.net]
    refusing += [lambda over=over: break_even(shop, job, over, price=500.0) for over in QUESTIONS]
    for ask in refusing:
        with pytest.raises(BadInput, match="do not quote: ask the maker"):
            ask()


def test_a_part_of_no_known_metal_is_answered_with_the_nearest() -> None:
    fields = {"name": "plate", "thickness_mm": 3, "mass_kg": 1, "area_m2": 0.1}
    with pytest.raises(BadInput, match=r"material is 'steel'; .* Did you mean 'mild steel'") as told:
        Part(material="steel", width_mm=100, height_mm=100, depth_mm=-3, **fields)  # type: ignore[arg-type]
    assert [problem.field for problem in told.value.problems] == ["material", "depth_mm"]


def test_an_unknown_number_is_refused(shop: Shop, letters: Job) -> None:
    from pricing.costing.sheet import cost

    with pytest.raises(BadInput, match=r"book is 'wipe.line_m.hand'; .* Did you mean 'wipe.line_m.hands'"):
        cost(shop, letters, book={**shop.book, "wipe.line_m.hand": 9.0})


def test_records_fit_on_a_screen_and_show_themselves(shop: Shop, items: dict[str, Item], letters: Job) -> None:
    from pricing.costing.sheet import cost
    from pricing.prices.compare import compare

    for thing in (shop, cost(shop, letters), quote(shop, letters), compare(shop, letters), price_list(shop, items)):
        assert len(repr(thing)) < 1200
        assert repr(thing).count("\n") < 14
        assert thing._repr_html_().startswith("<table")

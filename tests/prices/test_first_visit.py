"""The first visit asks what firms the list most, takes what is typed, and keeps the guess where nothing is known."""

from dataclasses import replace

import numpy as np
import pytest

import pricing
from pricing.basis.tongue import Wrong
from pricing.costing.draws import Known, Sampler
from pricing.costing.strata import strata_spread
from pricing.parts.items import Item
from pricing.prices.colours import BASE, dearest
from pricing.prices.firmness import ORDERS, Firmness, firmness
from pricing.prices.first_visit import questions, with_spread
from pricing.prices.price_list import price_list
from pricing.prices.row_costs import groups, log_costs
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop
from pricing.shop.visit import NOT_KNOWN, SOLD
from pricing.show.visit_view import answers_given, asks, only_sold

DRAWS = 400


@pytest.fixture(scope="module")
def items(shop: Shop) -> dict[str, Item]:
    few = ("sign_letter_300", "bench_end", "gate_single", "tool_box")
    return {key: item for key, item in pricing.read_items(shop).items() if key in few}


@pytest.fixture(scope="module")
def found(shop: Shop, items: dict[str, Item]) -> Firmness:
    return firmness(shop, items)


def said(shop: Shop, key: str, given: str) -> Shop:
    return replace(shop, **answers_given(shop, {key: given}))


def test_squares_of_single_moves_add_up_to_the_spread_of_draws(shop: Shop, items: dict[str, Item]) -> None:
    """Numbers moved one by one, against all of them drawn at once: within a tenth of the standard deviation."""
    facts = {key: NOT_KNOWN for key, question in questions(shop).items() if not question.of_book}
    single = firmness(shop, items)
    kept = [name for name in single.effects if name not in facts]
    variance = sum(single.effects[name] ** 2 for name in kept)
    drawn = Sampler(Known(dict(shop.uncertain), dict(shop.book)), seed=3, luck=False).block(0)
    book = {key: value if isinstance(value := drawn[key], float) else value[:DRAWS, None] for key in shop.book}
    for column in COLUMNS:
        for finish, places in groups(shop, tuple(items.values()), column).items():
            members = tuple(list(items.values())[place] for place in places)
            spread = log_costs(shop, members, finish, ORDERS, book).var(axis=0).reshape(len(members), -1)
            mine = np.array([variance[single.rows.index((item, column))] for item in members])
            assert np.sqrt(mine.mean()) == pytest.approx(np.sqrt(spread.mean()), rel=0.1)


def test_an_answer_firms_the_list_as_far_as_was_said(shop: Shop, items: dict[str, Item], found: Firmness) -> None:
    for key in (found.order[0], "blast.m2.hands"):
        question = found.questions[key]
        after = firmness(said(shop, key, shop.tongue.show(question.value(shop), question.unit, 12)), items)
        assert after.within == pytest.approx(found.after(key), rel=0.03)
        assert after.within < found.within


def test_the_next_question_is_the_one_after_which_the_list_is_firmest(found: Firmness) -> None:
    assert found.after(found.order[0]) == min(found.after(key) for key in found.questions)
    assert found.after(*found.breaths[0]) == min(found.after(*keys) for keys in found.breaths)
    assert sorted(key for keys in found.breaths for key in keys) == sorted(found.order)
    assert max(map(len, found.breaths)) <= 3
    assert sum(map(len, found.breaths[:24])) >= 70  # what two to three numbers share is one question
    assert {question.lead for question in found.questions.values()} <= set(found.questions)
    assert not {key for question in found.questions.values() for key in question.settles} & set(found.order)


def test_what_is_asked_first_follows_what_is_sold(shop: Shop, items: dict[str, Item]) -> None:
    """Common practice, no source: sign letters want wiped edges, gates want blasting."""
    letters, gates = (
        firmness(replace(shop, **only_sold(shop, [key])), items) for key in ("sign_letter_300", "gate_single")
    )
    places = [(one.order.index("wipe.line_m.hands"), one.order.index("blast.m2.hands")) for one in (letters, gates)]
    assert places[0][0] < places[0][1]
    assert places[1][0] > places[1][1]


def test_its_order_firms_more_than_that_of_the_files(shop: Shop, items: dict[str, Item]) -> None:
    by_visit = by_file = shop
    for _ in range(4):
        by_visit = said(by_visit, key := firmness(by_visit, items).order[0], _stands(by_visit, key))
        by_file = said(
            by_file,
            key := next(k for k, q in questions(by_file).items() if not q.asked(by_file)),
            _stands(by_file, key),
        )
    assert firmness(by_visit, items).within < firmness(by_file, items).within


def _stands(shop: Shop, key: str) -> str:
    question = questions(shop)[key]
    return shop.tongue.show(question.value(shop), question.unit, 12)


@pytest.mark.parametrize(
    ("key", "given", "value"),
    [
        ("owner.draw_per_y", "3500 a month", 42_000.0),
        ("owner.billable", "60", 0.60),
        ("fixed.rent", "€900 a month", 10_800.0),
        ("fixed.rest", "15000", 15_000.0),
        ("tariffs.electricity_per_kwh", "0.31", 0.31),
        ("machines.oven", "25000", 25_000.0),
        ("machines.rest", "€20000", 20_000.0),
        ("powders.price", "9", 9.0),
        ("helper.wage_per_h", "18 €", 18.0),
        ("wipe.line_m.hands", "3 min/m", 3.0),
        ("reject.wiped.wrought", "4 %", 0.04),
        ("oven.jobs_per_load", "2.5", 2.5),
        ("film.silver metallic", "3 mil", 76.2),
    ],
)
def test_an_answer_is_what_stands_in_the_shop(shop: Shop, key: str, given: str, value: float) -> None:
    after = said(shop, key, given)
    asked = questions(after)[key]
    stands = after.uncertain[key].likely if asked.of_book else asked.value(after)
    assert stands == pytest.approx(value)
    assert after.visited[key] != NOT_KNOWN
    assert price_list(after, {k: i for k, i in pricing.read_items(after).items() if k == "gate_single"}).rows


def test_what_is_said_and_what_was_held_for_possible_are_joined(shop: Shop) -> None:
    """By hand: logarithms by their precisions; far off the guess, the guess counts as unsure as it is off."""
    row = shop.rates["wipe.line_m.hands"]
    spread, doubt = strata_spread(row), questions(shop)[row.key].doubt
    for factor in (1.02, 0.95, 1.4, 2.5):
        off = np.log(factor)
        wide = max(spread, abs(off))
        new = said(shop, row.key, f"{factor * row.mean} min/m").rates[row.key]
        assert new.likely == pytest.approx(factor * row.mean)
        assert np.log(new.mean / row.mean) == pytest.approx(off * wide**2 / (wide**2 + doubt**2), abs=1e-6)
        assert abs(np.log(new.mean / new.likely)) <= doubt / 2 + 1e-9
        assert strata_spread(new) < min(spread, doubt) or factor == 2.5


def test_a_share_of_hours_that_is_said_stays_and_the_plan_leans(shop: Shop) -> None:
    after = said(shop, "owner.billable", "40 %")
    assert after.owner.billable == pytest.approx(0.40)
    assert 1.0 < after.assumptions["plan.booked_share"].mean < shop.owner.billable / 0.40


def test_the_film_that_is_asked_for_is_that_of_the_powder_the_list_stands_on(shop: Shop) -> None:
    asked = [key for key in questions(shop) if key.startswith("film.")]
    assert asked == [f"film.{powder.name}" for powder in dearest(shop, BASE)]
    assert asks(shop, questions(shop)[asked[0]]) == f"How thick does the film of {asked[0][5:]} come out?"
    after = said(shop, asked[0], "100 µm")
    assert after.powder(asked[0][5:]).film_likely_um == 100
    assert {name for name, powder in after.powders.items() if powder != shop.powders[name]} == {asked[0][5:]}


def test_every_question_takes_what_stands_there(shop: Shop) -> None:
    for key, question in questions(shop).items():
        after = said(shop, key, shop.tongue.show(question.value(shop), question.unit, 12))
        assert question.value(after) == pytest.approx(question.value(shop), rel=1e-9), key


def test_not_known_keeps_the_guess_and_is_not_asked_again(shop: Shop, items: dict[str, Item], found: Firmness) -> None:
    key = found.order[0]
    after = firmness(said(shop, key, ""), items)
    assert after.shop.book == shop.book
    assert after.within == found.within
    assert key not in after.order


def test_slips_are_asked(shop: Shop) -> None:
    with pytest.raises(Wrong, match="stood there"):  # a month's rent as a year's
        said(shop, "fixed.rent", "1150")
    with pytest.raises(Wrong, match="above 0"):
        said(shop, "owner.weeks", "0")
    with pytest.raises(Wrong, match="at most"):
        said(shop, "owner.weeks", "54")


def test_what_is_not_sold_is_not_printed(shop: Shop, items: dict[str, Item]) -> None:
    some = replace(shop, visited={SOLD: "gate_single"})
    shown = {row.item.key for row in price_list(some, items).rows if not row.hidden}
    assert shown == {"gate_single"}


def test_who_counts_in_feet_is_asked_for_feet(shop: Shop) -> None:
    feet = replace(shop, front=shop.front.model_copy(update={"units": "us"}))
    here, there = ({key: asks(one, question) for key, question in questions(one).items()} for one in (shop, feet))
    assert (
        here["wipe.line_m.hands"].replace("a metre", "a foot")
        == there["wipe.line_m.hands"]
        != here["wipe.line_m.hands"]
    )
    for words in there.values():
        assert "metre" not in words
        assert "kilogram" not in words


def test_three_points_have_the_spread_that_was_asked_for(shop: Shop) -> None:
    """A PERT of equal arms w has the variance w²/7 (mean 3, Vose's form: (mean - low)(high - mean)/7)."""
    row = replace(shop.rates["wipe.line_m.hands"], unit="min/m")
    even = with_spread(row, 10.0, 0.2)
    assert (even.high - 10.0, 10.0 - even.low) == pytest.approx((7**0.5 * 2.0, 7**0.5 * 2.0))
    assert with_spread(row, 10.0, 0.9).low == 0.0
    assert with_spread(row, 10.0, 0.9).high == 20.0
    share = with_spread(replace(row, unit="share"), 0.9, 0.5)
    assert (share.low, share.high) == pytest.approx((0.8, 1.0))
    for mean, likely in ((10.0, 9.0), (10.0, 11.5)):
        leaning = with_spread(row, mean, 0.05, likely)
        assert (leaning.low + 4 * likely + leaning.high) / 6 == pytest.approx(mean)
        assert leaning.low <= leaning.likely == likely <= leaning.high

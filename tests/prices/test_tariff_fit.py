"""A tariff laid on targets: never under them, and the best straight line there is, held against scipy's programmes."""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from pricing.prices.price_rule import round_each, round_up
from pricing.prices.tariff_fit import Fit, adders, counts_of, fit, tariffs
from pricing.shop.shop import Shop

quick = settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


@st.composite
def targets(draw: st.DrawFn) -> "Targets":
    """Targets as a shop has them: a set-up, so much each, loads that begin, and a share of a load at least."""
    counts = np.array([*range(1, 61), 120.0, 300.0, 1200.0, 60_000.0])
    setup, each = draw(st.floats(0, 300)), draw(st.floats(0.5, 400))
    load, room = draw(st.floats(0, 90)), draw(st.integers(1, 40))
    whole = draw(st.booleans())
    loads = np.ceil(counts / room) if whole else np.maximum(counts / room, 0.6)
    return Targets(counts, setup + each * counts + load * loads)


class Targets(NamedTuple):
    counts: np.ndarray
    target: np.ndarray

    def __repr__(self) -> str:
        return f"targets {self.target[:3].tolist()} … {self.target[-1]}"


@quick
@given(found=targets())
def test_no_order_is_under_its_target_and_no_line_is_better(shop: Shop, found: "Targets") -> None:
    counts, target = found
    up_to = shop.policy.list_up_to
    laid = fit(target[None, :], counts, up_to)
    setup, each, beyond = (float(part[0]) for part in laid)
    near = np.minimum(counts, up_to)
    total = setup + each * near + beyond * (counts - near)
    assert (total >= target * (1 - 1e-9)).all()
    assert setup >= 0
    assert beyond <= each + 1e-9
    # the same question asked of a reference: least mean relative excess over the range, on or above every target
    far = max((target[-1] - target[-2]) / (counts[-1] - counts[-2]), 0.0)
    weights = 1 / target[:up_to]
    best = linprog(
        [weights.sum(), (weights * counts[:up_to]).sum()],
        A_ub=-np.column_stack([np.ones_like(counts), counts]),
        b_ub=-target,
        bounds=[(0, None), (far, None)],
        method="highs",
    )
    ours = weights.sum() * setup + (weights * counts[:up_to]).sum() * each
    assert ours == pytest.approx(best.fun, rel=1e-6)


@quick
@given(found=targets())
def test_what_is_printed_is_rounded_up_and_falls(shop: Shop, found: "Targets") -> None:
    counts, target = found
    laid = fit(target[None, :], counts, shop.policy.list_up_to)
    (printed,) = tariffs(laid, shop.policy)
    assert printed.first >= printed.each >= printed.beyond >= 0
    assert (np.asarray(printed.total(counts)) >= target * (1 - 1e-9)).all()


@quick
@given(found=targets(), more=targets())
def test_an_adder_covers_what_it_is_for(shop: Shop, found: "Targets", more: "Targets") -> None:
    counts, base, dearer = found[0], found[1][None, :], (found[1] + more[1])[None, :]
    up_to = shop.policy.list_up_to
    one, other = fit(base, counts, up_to), fit(dearer, counts, up_to)
    (row,), (adder,) = tariffs(one, shop.policy), adders(one, other, shop.policy)
    assert adder.first >= adder.each >= adder.beyond >= 0
    assert (np.asarray(row.plus(adder).total(counts)) >= dearer[0] * (1 - 1e-9)).all()


def test_the_range_is_looked_at_one_by_one_and_far_beyond(shop: Shop) -> None:
    assert shop.policy.list_up_to == 20
    assert counts_of(shop.policy) == (*range(1, 61), 120, 300, 1200, 60_000)


def test_prices_printed_with_tax_are_laid_with_it(shop: Shop) -> None:
    """By hand, 23 % tax: each number of the line times 1.23, then up to the next price point, set-up on the first."""
    policy = shop.policy.model_copy(update={"prices_include_tax": True, "sales_tax": 0.23, "setup_charged": 0.5})
    base = Fit(*(np.array([one]) for one in (100.0, 40.0, 30.0)))
    more = Fit(*(np.array([one]) for one in (130.0, 55.0, 38.0)))
    (printed,) = tariffs(base, policy)
    assert printed.first == round_up((0.5 * 100.0 + 40.0) * 1.23, policy)
    assert (printed.each, printed.beyond) == (round_each(40.0 * 1.23, policy), round_each(30.0 * 1.23, policy))
    (added,) = adders(base, more, policy)
    assert added.first == round_each(45.0 * 1.23, policy)
    assert (added.each, added.beyond) == (round_each(15.0 * 1.23, policy), round_each(8.0 * 1.23, policy))
    (none,) = adders(more, base, policy)
    assert [str(one) for one in (none.first, none.each, none.beyond)] == ["0.0"] * 3, "nothing, and no minus nothing"


def test_the_edge_under_the_middle_of_the_weights_carries_the_line() -> None:
    """By hand, two rows of targets for 1 to 5, 10 and 20; weights are one over the target.

    The first has its middle at 2.72, between 140 for 2 and 160 for 3: 20 each on a set-up of 100. The second has it at
    1.65, on the edge from 10 for 1 to 100 for 2, whose set-up would be below nothing: 50 each, the most that any brings.
    Ends at 200 and 250; far beyond, ten more bring 20.
    """
    target = np.array([[100.0, 140, 160, 170, 175, 185, 205], [10.0, 100, 110, 115, 118, 130, 150]])
    found = fit(target, np.array([1.0, 2, 3, 4, 5, 10, 20]), 5)
    assert np.array(found) == pytest.approx(np.array([[100.0, 0.0], [20.0, 50.0], [2.0, 2.0]]))


def test_each_is_not_under_what_one_more_brings_far_beyond() -> None:
    """By hand: 20 + 10 each in the range, 12.5 each far beyond it; the first four end at 17.5 + 4 x 12.5."""
    found = fit(np.array([[30.0, 40, 50, 60, 110, 160]]), np.array([1.0, 2, 3, 4, 8, 12]), 4)
    assert np.array(found)[:, 0] == pytest.approx([17.5, 12.5, 12.5])


def test_without_a_set_up_each_brings_what_the_dearest_one_needs() -> None:
    """By hand: 45 for 3, 60 for 4 are 15 each; beyond, the line of 60 + 10 for each further one suffices."""
    found = fit(np.array([[10.0, 20, 45, 60, 100, 140]]), np.array([1.0, 2, 3, 4, 8, 12]), 4)
    assert np.array(found)[:, 0] == pytest.approx([0.0, 15.0, 10.0])

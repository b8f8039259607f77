"""Remembered jobs speak of the owner's speed and booked share, with their own doubt."""

from dataclasses import replace

import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.remembered import Remembered, evidence
from pricing.shop.shop import Shop

KINDS = (("sign_letter_300", "two_tone", 9), ("bench_end", "single", 4), ("gate_single", "single", 1))


def remembered(shop: Shop, items: dict[str, Item], pace: float, times: float = 1.0, of: int = 3) -> list[Remembered]:
    found = []
    for item, column, units in (KINDS * 4)[:of]:
        sheet = cost(shop, job_of_item(items[item], units=units, column=column))
        hours = pace * float(sheet.minutes) / 60
        found.append(Remembered(item, column, units, times * float(sheet.total), hours))
    return found


def test_an_owner_who_took_longer_is_slower_but_not_all_the_way(shop: Shop, items: dict[str, Item]) -> None:
    before = shop.rates["blast.m2.hands"]
    few, many = (evidence(shop, items, remembered(shop, items, 1.5, of=n)).tables["rates"] for n in (3, 9))
    assert before.mean < few["blast.m2.hands"].mean < 1.5 * before.mean
    assert few["blast.m2.hands"].mean < many["blast.m2.hands"].mean
    assert (many["blast.m2.hands"].high - many["blast.m2.hands"].low) / many["blast.m2.hands"].mean < (
        before.high - before.low
    ) / before.mean
    # a step that is in none of the jobs moves too, and less: one owner's rates are alike
    assert before.mean / before.mean < few["tape.tape_m.hands"].mean / shop.rates["tape.tape_m.hands"].mean < 1.5


def test_what_agrees_with_the_guesses_moves_nothing_and_narrows(shop: Shop, items: dict[str, Item]) -> None:
    found = evidence(shop, items, remembered(shop, items, 1.0))
    assert found.pace == pytest.approx(1.0)
    for key, row in found.tables["rates"].items():
        assert row.mean == pytest.approx(shop.rates[key].mean, rel=1e-9)


def test_one_job_by_hand(shop: Shop, items: dict[str, Item], monkeypatch: pytest.MonkeyPatch) -> None:
    """With rates alike in everything the update is that of one number: prior sd w, memory 0.3, both in logarithms."""
    import numpy as np

    from pricing.prices import remembered as module

    monkeypatch.setattr(module, "fact", lambda name, _unit: 1.0 if name.endswith("likeness") else 0.3)
    moved, left = module._updated(np.array([[0.1, 0.1]] * 3), np.array([0.2] * 3))
    heard = 0.3**2 / 3
    assert moved == pytest.approx(0.2 * 0.2 / (0.2**2 + heard))  # gain in sd: w/(w^2+heard) times what was heard
    assert left == pytest.approx((heard / (0.2**2 + heard)) ** 0.5)


def test_low_prices_for_long_hours_mean_that_more_hours_are_paid_for(shop: Shop, items: dict[str, Item]) -> None:
    low, fair, high = (evidence(shop, items, remembered(shop, items, 1.0, t)).booked for t in (0.8, 1.0, 1.5))
    assert low > fair > high
    assert fair == pytest.approx(shop.owner.billable, rel=1e-6)  # a price of just the cost says that the plan holds
    assert high > 0
    assert low <= 0.98


def test_nobody_books_all_of_his_hours(shop: Shop, items: dict[str, Item], monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever remembered jobs say: two hundredths of the hours are nobody's, common practice, no source."""
    from pricing.prices import remembered as module

    for said, booked in ((9.0, 0.98), (1.1, 1.1 * shop.owner.billable)):
        monkeypatch.setattr(module, "_booked", lambda *_, said=said: (said, 0.1))
        assert evidence(shop, items, remembered(shop, items, 1.0)).booked == pytest.approx(booked)


def test_too_few_and_empty_ones_are_refused(shop: Shop, items: dict[str, Item]) -> None:
    with pytest.raises(BadInput, match=r"^remembered jobs needs mending:\n  jobs is 2; it must be 3 to 10"):
        evidence(shop, items, remembered(shop, items, 1.0)[:2])
    with pytest.raises(BadInput, match="hours"):
        evidence(shop, items, [*remembered(shop, items, 1.0), Remembered("bench_end", "single", 1, 100.0, 0.0)])


def test_jobs_remembered_to_the_minute_are_what_the_rates_then_give(
    shop: Shop, items: dict[str, Item], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A memory without doubt, of an owner whose rates are all alike: the sheet takes the hours that were told."""
    from pricing.prices import remembered as module

    told = {"remembered.likeness": 1.0, "remembered.hours_doubt": 1e-3}
    real = module.fact
    monkeypatch.setattr(module, "fact", lambda name, unit: told.get(name) or real(name, unit))
    jobs = remembered(shop, items, 1.03)
    after = replace(shop, **evidence(shop, items, jobs).tables)
    for job in jobs:
        minutes = cost(after, job_of_item(items[job.item], units=job.units, column=job.column)).minutes
        assert float(minutes) == pytest.approx(60 * job.hours, rel=0.005)

"""Loads that a job needs by itself, over the demo's items and ovens."""

from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.parts.items import Item
from pricing.parts.job import Job, Lot
from pricing.parts.loads import parts_per_load
from pricing.parts.work import work_of_job
from pricing.shop.shop import Shop


class Demo(NamedTuple):
    shop: Shop
    items: list[Item]

    def loads(self, order: dict[int, int]) -> dict[str, float]:
        """Collect the loads of so many of each item, by oven; ovens that do not take every part are left out."""
        lots = tuple(Lot(part=self.items[at].part, quantity=n) for at, n in order.items() if n)
        job = Job(title="order", finish="single", powders=("jet black",), lots=lots)
        whole = work_of_job(job, self.shop).whole
        return {
            oven.name: whole[oven.name]
            for oven in self.shop.machines.oven
            if all(parts_per_load(lot.part, oven) for lot in lots)
        }


@pytest.fixture(scope="session")
def demo(shop: Shop, items: dict[str, Item]) -> Demo:
    return Demo(shop, list(items.values()))


orders = st.dictionaries(st.integers(0, 16), st.integers(1, 60), min_size=2, max_size=5)


@settings(max_examples=100, deadline=None)
@given(order=orders, splits=st.integers(0, 31))
def test_a_job_needs_no_more_loads_than_its_kinds_apart_or_with_a_piece_more(
    demo: Demo, order: dict[int, int], splits: int
) -> None:
    together = demo.loads(order)
    for oven, loads in together.items():
        assert loads <= sum(demo.loads({at: n})[oven] for at, n in order.items())
        sides = [{at: n for i, (at, n) in enumerate(order.items()) if (splits >> i) & 1 == side} for side in (0, 1)]
        assert loads <= sum(demo.loads(side)[oven] for side in sides if side)
        for at, n in order.items():
            assert demo.loads({**order, at: n + 1})[oven] >= loads
    assert demo.loads(dict(reversed(order.items()))) == together


@pytest.mark.parametrize(("pieces", "small", "large"), [(1, 1, 1), (4, 2, 1), (8, 4, 1), (20, 10, 2), (60, 30, 5)])
def test_gates_and_railings_together(demo: Demo, pieces: int, small: float, large: float) -> None:
    """Four of either fill the small oven: one rail each."""
    keys = [item.key for item in demo.items]
    gate, railing = keys.index("gate_single"), keys.index("railing_metre")
    loads = demo.loads({gate: pieces, railing: pieces})
    assert loads["small oven"] == small
    assert loads["large oven"] <= large

"""Our costing and pricing functions held to cases printed outside the project.

Each row of ``costing.csv`` names its source; ``source_kind`` says whether it was published, comes from
a library, or is common practice with numbers made for the check.
"""

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from pricing.basis.facts import Source
from pricing.basis.money import capital_recovery, yearly_capital_charge
from pricing.basis.typed import read_field
from pricing.costing.lines import Line, line_of
from pricing.costing.loops import redo_share
from pricing.costing.sheet import CostSheet
from pricing.physics.film import powder_kg
from pricing.prices.marks import margin_of, price_at_margin, walk_away
from pricing.prices.price_rule import Tariff
from pricing.shop.machines import Machine
from pricing.shop.people import Helper, Owner
from pricing.shop.rates import Assumption
from pricing.steps.step import MaterialUse, Use

ROWS = list(csv.DictReader((Path(__file__).with_name("costing.csv")).read_text("utf-8").splitlines()))

M2_PER_KG_OF_FT2_PER_LB = read_field("1 ft2/lb", "m**2/kg", "coverage")
MIL_UM = read_field("1 mil", "um", "film")
NOBODY = SimpleNamespace(helper=None)


def _line(
    minutes: float = 0.0, *, owner: float = 0.0, overhead: float = 0.0, supplies: float = 0.0, **book: float
) -> Line:
    """One line of a cost sheet with rates of the case; minutes of the owner alone."""
    rates = {"hour.owner": owner, "hour.overhead": overhead, "hour.helper": 0.0} | {"tariff.electricity": 0.0}
    use = Use("case", 0, minutes=minutes, supplies=supplies)
    use.electricity_kwh = book.pop("kwh", 0.0)
    if "oven_min" in book:
        use.hold("oven", book.pop("oven_min"))
    numbers = rates | {"tariff.gas": 0.0} | {name.replace("__", "."): rate for name, rate in book.items()}
    return line_of("case", 0, (use,), NOBODY, numbers)  # type: ignore[arg-type]


def _owner(leave_weeks: float) -> Owner:
    return Owner(draw_per_y=0, on_cost=0, weeks=52 - leave_weeks, hours_per_week_h=40, billable=0.8)


def _helper(billable: float) -> Helper:
    return Helper(wage_per_h=35, on_cost=0.38, weeks=44.2, hours_per_week_h=38, billable=billable, share=1, steps=())


def _machine(**fields: Any) -> Machine:
    usual = {"name": "m", "salvage": 0, "upkeep_per_y": 0, "life_y": 20, "practical_hours_h": 5000, "price": 0}
    return Machine(**(usual | fields))


def _mean(low: float, likely: float, high: float) -> float:
    guess = Source("g", "guess", "", "", "", "")
    return Assumption("k", low, likely, high, "min", guess, "", date(2026, 1, 1).isoformat(), "").mean


def _walk_away() -> float:
    """Special powder bought (48) and 1.5 h of stripping and blasting at 60 an hour are lost."""
    coat = Use("coat", 1, materials=[MaterialUse("special", 1.0, 48.0, ())])
    book = {"hour.owner": 60.0, "hour.overhead": 0.0, "hour.helper": 0.0, "tariff.electricity": 0.0, "tariff.gas": 0.0}
    lines = (
        line_of("blast", 0, (Use("blast", 0, minutes=90.0),), NOBODY, book),  # type: ignore[arg-type]
        line_of("coat", 1, (coat,), NOBODY, book),  # type: ignore[arg-type]
        line_of("pack", 0, (Use("pack", 0, minutes=30.0),), NOBODY, book),  # type: ignore[arg-type]
    )
    shop = SimpleNamespace(powders={"special": SimpleNamespace(stocked=False)})
    sheet = SimpleNamespace(shop=shop, lines=lines)
    return walk_away(sheet)  # type: ignore[arg-type]


def _passes(chance: float) -> float:
    share, _ = redo_share(1.0, chance, {})
    return 1.0 + float(share)


def _cover(gravity: float, mil: float, utilisation: float = 1.0) -> float:
    kg = powder_kg(1.0, film_um=mil * MIL_UM, density_g_per_cm3=gravity, utilisation=utilisation)
    return 1.0 / float(kg) / M2_PER_KG_OF_FT2_PER_LB


def _powder_lb() -> float:
    kg = powder_kg(read_field("3200 ft2", "m**2", "a"), film_um=2 * MIL_UM, density_g_per_cm3=1.8, utilisation=0.5)
    return float(kg) / read_field("1 lb", "kg", "m")


OURS: dict[str, Callable[[], float]] = {
    "PC-01": lambda: _cover(1.0, 1.0),
    "PC-02a": lambda: _cover(1.6, 2.0),
    "PC-02b": lambda: _cover(1.6, 2.0, 0.5),
    "PC-04a": lambda: 100 * (1 - float(margin_of(1.00, 0.225))),
    "PC-04c": lambda: 50.0 * _powder_lb() / 120.0,
    "TD-02a": lambda: float(_line(40.0 * 9800, overhead=0.80 * 60).overhead),
    "TD-02b": lambda: float(_line(220.0 * 280, overhead=0.80 * 60).overhead),
    "TD-02c": lambda: float(_line(250.0 * 500, overhead=0.80 * 60).overhead),
    "JC-01a": lambda: float(_line(1147 * 60.0, overhead=20).overhead),
    "JC-01b": lambda: float(_line(1147 * 60.0, owner=11, overhead=20, supplies=40_610).total),
    "JC-01c": lambda: float(_line(1147 * 60.0, owner=11, overhead=20, supplies=40_610).total) / 3100,
    "JC-03b": lambda: float(
        _line((700 + 1250 + 1250) * 60.0, owner=1, overhead=1.3, supplies=5000 + 7020 + 3330).total
    ),
    "PR-01b": lambda: 100 * float(margin_of(100, 60)),
    "PR-01c": lambda: 100 * float(margin_of(1.50, 1.0)),
    "PR-01d": lambda: 100 * float(margin_of(1.40, 1.0)),
    "PR-02": lambda: float(price_at_margin(29.99, margin_of(1.25, 1.0))),
    "CR-03": lambda: _owner(8.0).billable_hours,
    "CR-04a": lambda: _helper(1.0).cost_per_h,
    "CR-04b": lambda: (_helper(30 / 38).cost_per_h - _helper(1.0).cost_per_h) * _helper(30 / 38).billable_hours,
    "CA-03b": lambda: _machine(price=63_000, salvage=3_000).hour_rate(0.0),
    "CA-04": lambda: float(yearly_capital_charge(12_000, salvage=1_500, rate_per_y=0.08, years=10)),
    "CA-05a": lambda: 25_000 * float(capital_recovery(0.09 / 12, 60)),
    "TR-03a": lambda: float(
        _line(
            oven_min=65.0,
            hour__oven=_machine(upkeep_per_y=5400, practical_hours_h=1500).hour_rate(0.0),
            kwh=7.0,
            tariff__electricity=0.15,
        ).total
    ),
    "TR-03b": lambda: OURS["TR-03a"]() / 4,
    "TR-04a": lambda: 60 + 85 * (_passes(0.10) - 1),
    "TR-05a": lambda: float(price_at_margin(140, margin_of(1.40, 1.0))),
    "TR-05b": lambda: float(price_at_margin(140, 0.40)),
    "TR-06": lambda: Tariff(
        float(_line(20.0 + 15.0, owner=60, supplies=18 + 4.95).total) + 4.00 * 1.9, 4.00 * 1.9, 4.00 * 1.9, 20
    ).total(4),
    "TR-09": lambda: float(_line(60.0, owner=78.70, supplies=4.95 + 6).total),
    "TR-11": _walk_away,
    "RW-03": lambda: _passes(0.10),
    "PE-01a": lambda: _mean(5, 8, 17) + _mean(3, 5, 7) + _mean(4, 6, 8) + _mean(3, 4, 5),
    "PE-02a": lambda: _mean(5, 8, 14),
}


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_ours_agrees_with_the_printed_value(row: dict[str, str]) -> None:
    assert OURS[row["id"]]() == pytest.approx(float(row["expected"]), abs=float(row["tolerance"])), row["source"]


def test_every_case_is_used_once() -> None:
    assert sorted(OURS) == sorted(row["id"] for row in ROWS)


def test_a_sheet_is_what_the_walk_away_reads() -> None:
    """The stand-in above has the fields of the real thing."""
    assert {"shop", "lines"} <= set(CostSheet.__dataclass_fields__)

"""Break-even, capacity, order sizes, learning and propagation held to values printed elsewhere."""

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from math import ceil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from pricing.basis.money import payback_y, present_value
from pricing.costing import capacity, learning
from pricing.costing.draws import Known
from pricing.costing.risk import Risk, plan_risk
from pricing.costing.strata import mean_of, strata
from pricing.ledger.winning import logistic
from pricing.parts.items import read_items
from pricing.parts.work import work_of_rows
from pricing.prices import cost_volume_profit as monthly
from pricing.prices.advice import best_multiples, what_is_left
from pricing.prices.break_even import solved_break_even
from pricing.prices.price_rule import Tariff
from pricing.prices.selling import Market, WinCurve
from pricing.prices.selling import SoldLine as SellingLine
from pricing.prices.tariff_fit import Fit, tariffs
from pricing.shop.folder import open_shop
from pricing.shop.policy import Policy, PricePoint
from pricing.shop.rates import Z95
from pricing.steps.bake import paid_loads
from pricing.steps.step import Setting

ROWS = list(csv.DictReader(Path(__file__).with_name("decisions.csv").read_text("utf-8").splitlines()))


def three(low: float, likely: float, high: float, shape: str = "pert") -> Any:
    return SimpleNamespace(low=low, likely=likely, high=high, shape=shape)


def log_normal(median: float, gsd: float) -> Any:
    return three(median * gsd**-Z95, median, median * gsd**Z95, "lognormal")


def drawn(model: Callable[[Any], Any], **uncertain: Any) -> Risk:
    return plan_risk(model, Known(uncertain), seed=101, draws=2_000_000)


def normal(book: Any, name: str, mean: float, sd: float) -> Any:
    return mean + sd * ndtri(book[f"luck.{name}"])


def uniform(book: Any, name: str, low: float, high: float) -> Any:
    return low + (high - low) * book[f"luck.{name}"]


LUCK = {f"luck.{name}": 0.5 for name in ("a", "b", "c", "d", "e", "f")}


def propagated(model: Callable[[Any], Any], draws: int = 2_000_000) -> Risk:
    return plan_risk(model, Known({}, LUCK), seed=101, draws=draws)


def viscometer(book: Any) -> Any:
    """NIST TN 1900, example E3: mu_m = mu_c (t_m / t_c) (rho_b - rho_m) / (rho_b - rho_c)."""
    times = normal(book, "b", 61.0, 6.1) / normal(book, "c", 36.6, 5.5)
    buoyancy = (normal(book, "d", 2217, 0.5) - normal(book, "e", 1180, 0.5)) / (2217 - normal(book, "f", 810, 0.5))
    return normal(book, "a", 4.63, 0.046) * times * buoyancy


def mass(book: Any) -> Any:
    """JCGM 101:2008, 9.3: a weight against a reference weight in air, its deviation from 100 g in mg."""
    air = uniform(book, "c", 1.10, 1.30)
    lift = (air - 1.2) * (1 / uniform(book, "d", 7000, 9000) - 1 / uniform(book, "e", 7950, 8050))
    return (normal(book, "a", 100_000, 0.05) + normal(book, "b", 1.234, 0.02)) * (1 + lift) - 100_000


def shortest(answer: Risk, cover: float = 0.95) -> tuple[float, float]:
    starts = np.linspace(0.001, 1 - cover - 0.001, 99)
    low = np.asarray(answer.quantile(list(starts)))
    high = np.asarray(answer.quantile(list(starts + cover)))
    best = int((high - low).argmin())
    return float(low[best]), float(high[best])


def week(works: list[Any], hours: dict[str, float]) -> capacity.Week:
    return capacity.plan_week([capacity.WantedWork(*work) for work in works], hours)


def per_hour(works: list[Any], hours: dict[str, float], name: str, resource: str) -> float:
    """Earnings per hour of one resource: of all others there is more than enough."""
    alone = {key: there if key == resource else 1e9 for key, there in hours.items()}
    return next(row.per_scarce_hour for row in week(works, alone).ranked() if row.name == name)


def in_order(works: list[Any], hours: dict[str, float], order: list[str], fixed: float) -> float:
    """Earn with the work taken in an order, each to the full before the next."""
    left, earned = dict(hours), -fixed
    for name in order:
        part = week([work for work in works if work[0] == name], left)
        left = {r.name: r.hours - r.used for r in part.resources}
        earned += part.earned
    return earned


def mix(contributions: list[float], quantities: list[float], fixed: float = 0.0) -> monthly.Month:
    sold = [
        monthly.Sold(str(i), 100.0, 100.0 - c, q)
        for i, (c, q) in enumerate(zip(contributions, quantities, strict=True))
    ]
    return monthly.month(sold, fixed)


def one(price: float, variable_cost: float, quantity: float, fixed: float) -> monthly.Month:
    return monthly.month([monthly.Sold("it", price, variable_cost, quantity)], fixed)


def safety(sales: float, break_even_sales: float) -> float:
    return 100 * one(1.0, 0.0, sales, break_even_sales).margin_of_safety


def safety_of_whole(sales: float, fixed: float, contribution: float) -> float:
    """Round the break-even up, as the source does; we do not."""
    return safety(sales, ceil(monthly.break_even_quantity(fixed, contribution)))


def variable_cost(price: float, fixed: float, quantity: float) -> float:
    found = solved_break_even(lambda cost: quantity * (price - cost) - fixed, "cost", unit="", low=0, high=price)
    assert found.value is not None
    return found.value


def incremental(first: float, before: int, upto: int, slope: float) -> float:
    totals = [count * float(learning.average_time(first, count, slope=slope)) for count in (before, upto)]
    return (totals[1] - totals[0]) / (upto - before)


def quantile(points: list[float], shape: str, share: float) -> float:
    return float(drawn(lambda book: book["x"], x=three(*points, shape)).quantile(share))


def strata_quantile(points: list[float], shape: str, share: float) -> float:
    return middle(strata(three(*points, shape)), share)


def middle(table: Any, share: float) -> float:
    """Read a quantile off the slice means, which stand for the middle of their slices."""
    return float(np.interp(share * len(table) - 0.5, np.arange(len(table)), table))


def policy(**changes: Any) -> Policy:
    return open_shop().policy.model_copy(update=changes)


def setup_charged(setup: float, share: float) -> float:
    """Charge a share of a set-up: the first less each further, on price points of a cent."""
    cent = (PricePoint(up_to=1e6, step=0.01),)
    asked = policy(setup_charged=share, price_points=cent, each_points=cent)
    (tariff,) = tariffs(Fit(*(np.array([amount]) for amount in (setup, 10.0, 10.0))), asked)
    return tariff.setup


def load_by_its_pieces(wide_in: float, high_in: float, per_in3: float, pieces: int) -> float:
    """Add up what pieces pay that fill a load together, each a job of its own that pays by what it fills."""
    shop = open_shop()
    name = shop.machines.oven[0].name
    items = list(read_items(shop).values())[:1]
    whole = work_of_rows(items, np.array([1.0]), shop)
    book = {**shop.book, "oven.fill": 1.0, "oven.jobs_per_load": 1e9}
    share = replace(whole, fill={name: np.array([1.0 / pieces])}, whole={name: np.array([1.0])}, oven={name: 1.0})
    finish = shop.finishes["single"]
    setting = Setting(shop, book, finish, finish.coats[0], 1, next(iter(shop.powders.values())))
    loads = sum(float(np.sum(paid_loads(share, setting)[name])) for _ in range(pieces))
    return loads * np.pi / 4 * wide_in**2 * high_in * per_in3


def one_more(each: float, less: float, from_: int) -> float:
    """Find what one more brings where a threshold makes all units cheaper; our tariff, which bends, never loses by it."""
    ours = Tariff(each, each, less, from_ - 1)
    assert float(ours.total(from_) - ours.total(from_ - 1)) == less
    return from_ * less - (from_ - 1) * each


def logistic_response(at: list[float], tried: int, won: list[int]) -> list[float]:
    """Fit level and slope with no belief before; so many tries at each place."""
    x = np.repeat(at, tried)
    y = np.concatenate([np.arange(tried) < count for count in won]).astype(float)
    return logistic(np.stack([np.ones_like(x), x], axis=1), y, np.zeros(2), np.zeros(2))[0].tolist()


class AgainstTheBest(Market):
    """A customer who takes the lowest of several bids: won where the best competitor, a normal, asks more."""

    mean, sd = 60.0, 30.0

    def chances(self, curves: Any, ratio: Any) -> Any:
        return 1 - ndtr((100 * (ratio - 1) - self.mean) / self.sd) + 0 * curves[:, :1, None]

    def enquiries(self, curves: Any) -> Any:
        return np.ones((len(curves), len(self.lines)))


_CURVE = WinCurve(0.0, -1.0, np.eye(2), {}, 0)
_JOB = SellingLine("job", (), 100.0, 100.0, 100.0, 1.0, {"owner": 1.0}, 0.0, 0.0)  # per cent of cost; all of it cash


def against_the_best(mean: float, sd: float) -> Market:
    market = AgainstTheBest((_JOB,), {"owner": 40.0}, _CURVE)
    object.__setattr__(market, "mean", mean)
    object.__setattr__(market, "sd", sd)
    return market


def gain_against_the_best(markup: float, mean: float, sd: float) -> float:
    grid = np.array([1 + markup / 100])
    return float(what_is_left(against_the_best(mean, sd), np.zeros((1, 2)), grid, {})[0, 0, 0])


def best_against_the_best(mean: float, sd: float) -> float:
    grid = np.linspace(1.0, 2.0, 100_001)
    return 100 * (float(best_multiples(against_the_best(mean, sd), np.zeros((1, 2)), grid, {})[0][0]) - 1)


def against_several(alone: list[float]) -> float:
    """Chances add up as odds do: each bidder's odds to be better, as the win curve's level holds them all at once."""
    level = -np.log(sum((1 - p) / p for p in alone))
    market = Market((_JOB,), {"owner": 40.0}, _CURVE)
    return float(market.chances(np.array([[level, -5.0]]), np.ones((1, 1)))[0, 0, 0])


MODELS: dict[str, Callable[..., float]] = {
    "gain against the best competitor": gain_against_the_best,
    "best markup against the best competitor": best_against_the_best,
    "chance against several bidders": against_several,
    "net present value": present_value,
    "payback": payback_y,
    "logistic response: level": lambda **g: logistic_response(**g)[0],
    "logistic response: slope": lambda **g: logistic_response(**g)[1],
    "whole break-even quantity": lambda **g: ceil(monthly.break_even_quantity(**g)),
    "safety of whole quantity": safety_of_whole,
    "month profit": lambda **g: one(**g).profit,
    "break-even quantity": lambda fixed, contribution, profit=0.0: float(
        monthly.break_even_quantity(fixed + profit, contribution)
    ),
    "break-even sales": lambda **g: one(**g).break_even_sales,
    "margin of safety": safety,
    "variable cost that breaks even": variable_cost,
    "weighted contribution": lambda **g: mix(**g).contribution,
    "break-even of mix": lambda **g: mix(**g).break_even_quantity,
    "earns per hour": per_hour,
    "result of an order of work": in_order,
    "best result": lambda works, hours, fixed=0.0: week(works, hours).earned - fixed,
    "throughput ratio": lambda cost_per_hour, **g: per_hour(**g) / cost_per_hour,
    "worth of an hour": lambda resource, **g: next(r.worth_per_h for r in week(**g).resources if r.name == resource),
    "most of one work": lambda **g: float(week(**g).taken[0]),
    "price for a chance of loss": lambda median, gsd, chance: drawn(
        lambda book: book["cost"], cost=log_normal(median, gsd)
    ).price_for(chance),
    "chance that a price covers": lambda median, gsd, price: (
        1 - float(drawn(lambda book: book["cost"], cost=log_normal(median, gsd)).chance_of_loss(price))
    ),
    "sum of means": lambda points: sum(
        mean_of(SimpleNamespace(low=a, likely=m, high=b, shape="pert")) for a, m, b in points
    ),
    "mean": lambda points, shape: mean_of(
        SimpleNamespace(low=points[0], likely=points[1], high=points[2], shape=shape)
    ),
    "variance": lambda points, shape: strata(three(*points, shape)).var(),
    "quantile": quantile,
    "strata quantile": strata_quantile,
    "mean of log-normal": lambda **g: mean_of(log_normal(**g)),
    "quantile of log-normal": lambda median, gsd, share: middle(strata(log_normal(median, gsd)), share),
    "sd of log-normal": lambda **g: strata(log_normal(**g)).std(),
    "log of uniform: mean": lambda: propagated(lambda b: np.log(uniform(b, "a", 0.1, 1.1))).mean,
    "log of uniform: sd": lambda: float(propagated(lambda b: np.log(uniform(b, "a", 0.1, 1.1))).costs.std()),
    "log of uniform: point": lambda: propagated(lambda b: np.log(uniform(b, "a", 0.1, 1.1)), 8192).point,
    "viscometer: mean": lambda: propagated(viscometer).mean,
    "viscometer: sd": lambda: float(propagated(viscometer).costs.std()),
    "viscometer: low": lambda: float(propagated(viscometer).quantile(0.025)),
    "viscometer: high": lambda: float(propagated(viscometer).quantile(0.975)),
    "sum of four normals: sd": lambda: float(propagated(lambda b: sum(normal(b, n, 0, 1) for n in "abcd")).costs.std()),
    "sum of four normals: low": lambda: float(
        propagated(lambda b: sum(normal(b, n, 0, 1) for n in "abcd")).quantile(0.025)
    ),
    "sum of four uniforms: sd": lambda: float(
        propagated(lambda b: sum(uniform(b, n, -(3**0.5), 3**0.5) for n in "abcd")).costs.std()
    ),
    "sum of four uniforms: high": lambda: float(
        propagated(lambda b: sum(uniform(b, n, -(3**0.5), 3**0.5) for n in "abcd")).quantile(0.975)
    ),
    "mass calibration: mean": lambda: propagated(mass).mean,
    "mass calibration: sd": lambda: float(propagated(mass).costs.std()),
    "mass calibration: low": lambda: shortest(propagated(mass))[0],
    "mass calibration: high": lambda: shortest(propagated(mass))[1],
    "average time": lambda first, count, slope: float(learning.average_time(first, count, slope=slope)),
    "total time": lambda first, count, slope: count * float(learning.average_time(first, count, slope=slope)),
    "incremental average": incremental,
    "order by its tariff": lambda setup, each, count: float(Tariff(setup + each, each, each, 100).total(count)),
    "set-up charged": setup_charged,
    "load paid by its pieces": load_by_its_pieces,
    "one more under an all-units discount": one_more,
}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['id']} {row['model']}")
def test_agrees_with_print(row: dict[str, str]) -> None:
    ours = MODELS[row["model"]](**json.loads(row["given"]))
    kind, amount = row["tolerance"].split()
    assert kind == "abs"
    assert abs(ours - float(row["expected"])) <= float(amount) + 1e-9 * abs(ours), (
        f"{row['id']}: ours {ours:.6g}, printed {row['expected']} {row['unit']} ± {amount}: {row['source']}"
    )

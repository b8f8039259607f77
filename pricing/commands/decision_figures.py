"""Decisions for a program to read: every figure with its unit in the key, as in `pricing.commands.figures`."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from pricing.basis.units import readable
from pricing.commands.figures import rule_figures
from pricing.commands.shell import picked
from pricing.costing.capacity import Rush, Week
from pricing.costing.odds import Odds
from pricing.costing.risk import Risk
from pricing.costing.shares import Difference, VarianceShare
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.cost_volume_profit import Month
from pricing.prices.extra import Extra, Extras
from pricing.prices.hire_buy_drop import unused_hours
from pricing.prices.questions import say_wiped
from pricing.shop.shop import Shop
from pricing.show.loss_words import loss_words
from pricing.show.naming import Names
from pricing.show.words import Words

PRICES = 200
"""Places along the price axis at which the chance of loss is told."""
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Shares of the draws at which a cost is told."""


def break_even_figures(
    shop: Shop, job: Job, found: Mapping[str, BreakEven | WholeBreakEven], price: float | None
) -> dict[str, Any]:
    """Describe where a job breaks even, by question."""
    told: dict[str, Any] = {"title": job.title, "price_net_money": price}
    for over, answer in found.items():
        if isinstance(answer, BreakEven):
            unit = unit_key(answer.unit)
            told[over] = {
                "what": answer.what,
                f"low{unit}": answer.low,
                f"high{unit}": answer.high,
                "turns": [picked(turn, "pays_above", "jump", **{f"value{unit}": "value"}) for turn in answer.turns],
                f"best_at{unit}": answer.best_at,
                "best_gain_money": answer.best_gain,
            }
        else:
            told[over] = {
                "what": answer.what,
                "pays": [{"first": first, "last": last} for first, last in answer.runs],
                **picked(answer, "always_from", new_load_or_pack_at="teeth"),
                "count": [int(count) for count in answer.counts],
                "gain_money": list(answer.gains),
                "cost_each_money": list(answer.each),
            }
        told[over]["in_words"] = Words(shop).break_even(answer)
    return told


def month_figures(shop: Shop, found: Month, fixed: float) -> dict[str, Any]:
    """Describe the month that the wanted week makes."""
    return {
        "fixed_costs_money": fixed,
        **picked(
            found,
            contribution_per_order_money="contribution",
            contribution_ratio_share="contribution_ratio",
            orders_planned="quantity",
            orders_break_even="break_even_quantity",
            break_even_sales_money="break_even_sales",
            margin_of_safety_share="margin_of_safety",
            profit_money="profit",
        ),
        "in_words": found.say("orders", shop.currency),
    }


def extras_figures(shop: Shop, extras: Extras, ways: Mapping[str, BreakEven]) -> dict[str, Any]:
    """Describe the extra, three answers beside it, the rule, and wiping against masking."""

    def row(extra: Extra) -> dict[str, Any]:
        return picked(
            extra,
            "margin_share",
            extra_money="extra",
            price_net_money="price",
            earns_money_per_scarce_h="per_scarce_hour",
            chance_of_loss_share="chance_of_loss",
        )

    return {
        "plain": {"finish": extras.plain.finish, **row(extras.base)},
        "two_tone_finish": extras.fancy.finish,
        "printed": row(extras.printed),
        "scarce_resource": extras.resource,
        **{f"keeps {extra.keeps}": row(extra) for extra in extras.answers},
        "chance_of_loss_kept_share": extras.chance_told,
        "cost_difference_mean_money": extras.difference.mean(),
        "cost_difference_sd_money": extras.difference.std(),
        "rule": rule_figures(extras.rule),
        "wiped_or_masked": {
            over: {
                "turns": [{f"value{unit_key(way.unit)}": turn.value} for turn in way.turns],
                "wiping_cheaper_at_first": way.pays_at_low,
                "in_words": say_wiped(way, Words(shop).value_of(way.unit)),
            }
            for over, way in ways.items()
        },
    }


def risk_figures(title: str, answer: Risk, price: float, chance: float) -> dict[str, Any]:
    """Describe what the draws of one job say."""
    low, high = (float(answer.quantile(share)) for share in (answer.farthest, 1 - answer.farthest))
    axis = np.linspace(low, high, PRICES)
    return {
        "title": title,
        "draws": len(answer.costs),
        **picked(
            answer,
            "seed",
            draws_wanted="wanted",
            point_money="point",
            mean_money="mean",
            mean_standard_error_money="standard_error",
        ),
        "quantiles_money": {f"P{100 * q:g}": answer.quantile(q) for q in QUANTILES},
        "price_net_money": price,
        "chance_of_loss_share": answer.chance_of_loss(price),
        "chance_wished_share": chance,
        "price_for_chance_money": answer.price_for(chance),
        "chance_of_loss_by_price": {
            "price_money": list(axis),
            "chance_share": list(np.asarray(answer.chance_of_loss(axis))),
        },
    }


def odds_figures(shop: Shop, odds: Odds) -> dict[str, Any]:
    """Describe how many of a hundred such jobs would lose, and why."""
    return {
        "reasons": [picked(one, "kind", "key", variance_share="share") for one in odds.reasons],
        **picked(odds, slower_factor="slower", chance_of_loss_if_slower_share="chance_slower"),
        "in_words": " ".join(loss_words(shop, odds)),
    }


def shares_figures(shop: Shop, shares: Sequence[VarianceShare], told: Difference) -> dict[str, Any]:
    """Describe what matters most, and why the mean is not the point quote."""
    names = Names(shop)
    return {
        "what_matters": [
            picked(share, "key", "is_luck", first_order_share="first", total_share="total")
            | {"name": names.of(share.key), "total_standard_error_share": share.error}
            for share in shares
        ],
        "mean_less_point_money": told.amount,
        "mean_less_point_in_words": told.say(names.of),
    }


def week_figures(shop: Shop, week: Week, added: Week | None, pushed: tuple[str, float, Rush] | None) -> dict[str, Any]:
    """Describe the hours of the week, the ranking, and what more hours or a rush would do."""
    first, load = week.runs_out_first()
    told: dict[str, Any] = {
        "earned_money_per_week": week.earned,
        "wages_money_per_week": shop.helper.wages_per_y / shop.owner.weeks if shop.helper else 0.0,
        "helper_does_share": week.helped_share,
        "unused": [picked(row, "name", "hours", cost_money_per_week="money") for row in unused_hours(shop, week)],
        "runs_out_first": first,
        "load_share": load,
        "resources": [
            picked(row, "name", there_h="hours", used_h="used", dual_money_per_h="worth_per_h")
            | {"wanted_h": week.asked(row.name), "one_more_hour_money": row.one_more_hour}
            for row in week.resources
        ],
        "ranking": [
            picked(
                line,
                work="name",
                earns_money_per_scarce_h="per_scarce_hour",
                wanted_per_week="wanted",
                taken_per_week="taken",
            )
            for line in week.ranked()
        ],
    }
    if added is not None:
        told["more_hours_earn_money_per_week"] = added.earned - week.earned
    if pushed is not None:
        title, price, rush = pushed
        told["rush"] = {
            "title": title,
            "price_net_money": price,
            **picked(rush, displaced_money="displaced", surcharge_money="surcharge"),
            "left_out": [{"work": name, "per_week": count} for name, count in rush.left_out],
        }
    return told


def unit_key(unit: str) -> str:
    """Write a unit as the end of a key.

    >>> unit_key("min/m"), unit_key("money/kg"), unit_key("")
    ('_min_per_m', '_money_per_kg', '')
    """
    text = readable(unit, "money").replace("/", "_per_").replace("²", "2")
    return f"_{text}" if text else ""

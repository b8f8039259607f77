"""Decisions for a program to read: every figure with its unit in the key."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from pricing.commands.decision_tables import measure_of, unit_key
from pricing.commands.figures import number, rule_figures
from pricing.costing.capacity import Rush, Week
from pricing.costing.odds import Odds
from pricing.costing.risk import Risk
from pricing.costing.shares import Difference, VarianceShare
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.cost_volume_profit import Month
from pricing.prices.extra import Extra, Extras
from pricing.prices.paid_hours import unused_hours
from pricing.prices.wiped_or_masked import say_wiped
from pricing.shop.shop import Shop
from pricing.show.loss_words import loss_words
from pricing.show.naming import Names

PRICES = 200
"""Places along the price axis at which the chance of loss is told."""


def break_even_figures(
    shop: Shop, job: Job, found: Mapping[str, BreakEven | WholeBreakEven], price: float | None
) -> dict[str, Any]:
    """Describe where a job breaks even, by question."""
    code = shop.currency
    told: dict[str, Any] = {"title": job.title, f"price_net_{code}": None if price is None else number(price)}
    for over, answer in found.items():
        if isinstance(answer, BreakEven):
            unit = unit_key(answer.unit, code)
            told[over] = {
                "what": answer.what,
                f"low{unit}": number(answer.low),
                f"high{unit}": number(answer.high),
                "turns": [
                    {f"value{unit}": number(t.value), "pays_above": t.pays_above, "jump": t.jump} for t in answer.turns
                ],
                f"best_at{unit}": number(answer.best_at),
                f"best_gain_{code}": number(answer.best_gain),
                "in_words": answer.say(code, measure=measure_of(shop, answer.unit)),
            }
        else:
            told[over] = {
                "what": answer.what,
                "pays": [{"first": first, "last": last} for first, last in answer.runs],
                "always_from": answer.always_from,
                "new_load_or_pack_at": list(answer.teeth),
                "count": [int(count) for count in answer.counts],
                f"gain_{code}": [number(gain) for gain in answer.gains],
                f"cost_each_{code}": [number(each) for each in answer.each],
                "in_words": answer.say(code),
            }
    return told


def month_figures(shop: Shop, found: Month, fixed: float) -> dict[str, Any]:
    """Describe the month that the wanted week makes."""
    code = shop.currency
    return {
        f"fixed_costs_{code}": number(fixed),
        f"contribution_per_order_{code}": number(found.contribution),
        "contribution_ratio_share": number(found.contribution_ratio),
        "orders_planned": number(found.quantity),
        "orders_break_even": number(found.break_even_quantity),
        f"break_even_sales_{code}": number(found.break_even_sales),
        "margin_of_safety_share": number(found.margin_of_safety),
        f"profit_{code}": number(found.profit),
        "in_words": found.say("orders", code),
    }


def extras_figures(shop: Shop, extras: Extras, ways: Mapping[str, BreakEven]) -> dict[str, Any]:
    """Describe the extra, three answers beside it, the rule, and wiping against masking."""
    code = shop.currency

    def row(extra: Extra) -> dict[str, Any]:
        return {
            f"extra_{code}": number(extra.extra),
            f"price_net_{code}": number(extra.price),
            "margin_share": number(extra.margin_share),
            f"earns_{code}_per_scarce_h": number(extra.per_scarce_hour),
            "chance_of_loss_share": number(extra.chance_of_loss),
        }

    return {
        "plain": {"finish": extras.plain.finish, **row(extras.base)},
        "two_tone_finish": extras.fancy.finish,
        "printed": row(extras.printed),
        "scarce_resource": extras.resource,
        **{f"keeps {extra.keeps}": row(extra) for extra in extras.answers},
        "chance_of_loss_kept_share": number(extras.chance_told),
        f"cost_difference_mean_{code}": number(extras.difference.mean()),
        f"cost_difference_sd_{code}": number(extras.difference.std()),
        "rule": rule_figures(shop, extras.rule),
        "wiped_or_masked": {
            over: {
                "turns": [{f"value{unit_key(way.unit, code)}": number(t.value)} for t in way.turns],
                "wiping_cheaper_at_first": way.pays_at_low,
                "in_words": say_wiped(way, measure_of(shop, way.unit)),
            }
            for over, way in ways.items()
        },
    }


def risk_figures(shop: Shop, title: str, answer: Risk, price: float, chance: float) -> dict[str, Any]:
    """Describe what the draws of one job say."""
    code = shop.currency
    ends = [float(answer.quantile(share)) for share in (answer.farthest, 1 - answer.farthest)]
    axis = np.linspace(ends[0], ends[1], PRICES)
    return {
        "title": title,
        "draws": len(answer.costs),
        "draws_wanted": answer.wanted,
        "seed": answer.seed,
        f"point_{code}": number(answer.point),
        f"mean_{code}": number(answer.mean),
        f"mean_standard_error_{code}": number(answer.standard_error),
        f"quantiles_{code}": {f"P{100 * q:g}": number(answer.quantile(q)) for q in (0.05, 0.25, 0.5, 0.75, 0.95)},
        f"price_net_{code}": number(price),
        "chance_of_loss_share": number(answer.chance_of_loss(price)),
        "chance_wished_share": chance,
        f"price_for_chance_{code}": number(answer.price_for(chance)),
        "chance_of_loss_by_price": {
            f"price_{code}": [number(at) for at in axis],
            "chance_share": [number(share) for share in np.asarray(answer.chance_of_loss(axis))],
        },
    }


def odds_figures(shop: Shop, odds: Odds) -> dict[str, Any]:
    """Describe how many of a hundred such jobs would lose, and why."""
    return {
        "reasons": [{"kind": one.kind, "key": one.key, "variance_share": number(one.share)} for one in odds.reasons],
        "slower_factor": number(odds.slower),
        "chance_of_loss_if_slower_share": None if odds.chance_slower is None else number(odds.chance_slower),
        "in_words": " ".join(loss_words(shop, odds)),
    }


def shares_figures(shop: Shop, shares: Sequence[VarianceShare], told: Difference) -> dict[str, Any]:
    """Describe what matters most, and why the mean is not the point quote."""
    names, code = Names(shop), shop.currency
    return {
        "what_matters": [
            {
                "key": share.key,
                "name": names.of(share.key),
                "is_luck": share.is_luck,
                "first_order_share": number(share.first),
                "total_share": number(share.total),
                "total_standard_error_share": number(share.error),
            }
            for share in shares
        ],
        f"mean_less_point_{code}": number(told.amount),
        "mean_less_point_in_words": told.say(names.of),
    }


def week_figures(shop: Shop, week: Week, added: Week | None, pushed: tuple[str, float, Rush] | None) -> dict[str, Any]:
    """Describe the hours of the week, the ranking, and what more hours or a rush would do."""
    code = shop.currency
    first, load = week.runs_out_first()
    told: dict[str, Any] = {
        f"earned_{code}_per_week": number(week.earned),
        f"wages_{code}_per_week": number(shop.helper.wages_per_y / shop.owner.weeks if shop.helper else 0.0),
        "helper_does_share": number(week.helped_share),
        "unused": [
            {"name": row.name, "hours": number(row.hours), f"cost_{code}_per_week": number(row.money)}
            for row in unused_hours(shop, week)
        ],
        "runs_out_first": first,
        "load_share": number(load),
        "resources": [
            {
                "name": row.name,
                "there_h": number(row.hours),
                "wanted_h": number(week.asked(row.name)),
                "used_h": number(row.used),
                f"dual_{code}_per_h": number(row.worth_per_h),
                f"one_more_hour_{code}": number(row.one_more_hour),
            }
            for row in week.resources
        ],
        "ranking": [
            {
                "work": line.name,
                f"earns_{code}_per_scarce_h": number(line.per_scarce_hour),
                "wanted_per_week": number(line.wanted),
                "taken_per_week": number(line.taken),
            }
            for line in week.ranked()
        ],
    }
    if added is not None:
        told[f"more_hours_earn_{code}_per_week"] = number(added.earned - week.earned)
    if pushed is not None:
        title, price, rush = pushed
        told["rush"] = {
            "title": title,
            f"price_net_{code}": number(price),
            f"displaced_{code}": number(rush.displaced),
            f"surcharge_{code}": number(rush.surcharge),
            "left_out": [{"work": name, "per_week": number(count)} for name, count in rush.left_out],
        }
    return told

"""The same answers for a program to read: every figure with its unit in the key."""

from math import isfinite
from typing import Any

from pricing.costing.lines import MONEY
from pricing.costing.sheet import CostSheet
from pricing.prices.compare import Comparison
from pricing.prices.extra import ExtraRule, rule_of
from pricing.prices.price_list import PriceList
from pricing.prices.quote import Quote
from pricing.shop.shop import Shop
from pricing.show.sums import why
from pricing.show.words import Words


def number(value: object) -> float | None:
    """Round for print; what cannot be counted with becomes null, as JSON wants it."""
    plain = float(value)  # type: ignore[arg-type]
    return round(plain, 6) if isfinite(plain) else None


def sheet_figures(sheet: CostSheet) -> dict[str, Any]:
    """Describe a cost sheet of one job."""
    code, words = sheet.shop.currency, Words(sheet.shop)
    return {
        "title": sheet.title,
        "finish_title": sheet.finish.title,
        "lines": [
            {
                "step": line.id,
                "title": words.title(line),
                "attended_min": number(line.minutes),
                "owner_min": number(line.owner_min),
                "helper_min": number(line.helper_min),
                "machine_min": {name: number(held) for name, held in line.machine_min.items()},
                "material_kg": {m.name: number(m.kg) for m in line.materials},
                "electricity_kWh": number(line.electricity_kwh),
                "gas_gross_kWh": number(line.gas_kwh),
                **{f"{kind}_{code}": number(getattr(line, kind)) for kind in MONEY},
                f"total_{code}": number(line.total),
                "known": sheet.kind(line),
                "because": why(sheet, line),
            }
            for line in sheet.lines
        ],
        **{f"{kind}_{code}": number(getattr(sheet, kind)) for kind in MONEY},
        f"full_cost_{code}": number(sheet.total),
        "attended_min": number(sheet.minutes),
        "parts": number(sheet.work.parts),
        "oven_visits_per_part": number(sheet.cycles),
        "oven_visits_per_part_with_rework": number(sheet.expected_cycles),
        "do_not_quote": list(sheet.refused),
        "guessed_share": number(sheet.guessed_share()),
        "cautions": [{"step": title, "text": text} for title, text in sheet.told_cautions()],
    }


def quote_figures(quote: Quote) -> dict[str, Any]:
    """Describe the cost sheet, the marks and the price of one job; no price where none may be given."""
    code, policy, marks = quote.shop.currency, quote.shop.policy, quote.marks
    told = sheet_figures(quote.sheet) | {"price_from": quote.origin}
    if quote.price is None:
        return told
    price = quote.price
    told |= {
        f"cash_floor_{code}": number(marks.cash_floor),
        f"break_even_{code}": number(marks.break_even),
        f"target_{code}": number(marks.target),
        f"scarce_hour_price_{code}": number(marks.scarce),
        "scarce_resource": policy.scarce.resource,
        "target_margin_share": policy.target_margin,
    }
    if quote.between:
        low, high = quote.between
        told |= {
            "fixed_at_intake": True,
            f"price_net_low_{code}": number(low.net),
            f"price_net_high_{code}": number(high.net),
        }
    return told | {
        "order": [
            {
                "title": line.title,
                "count": line.count,
                "sold_by": line.sold_by,
                "pieces": line.pieces,
                f"first_{code}": number(line.tariff.first),
                f"each_further_{code}": number(line.tariff.each),
                f"each_beyond_{line.tariff.up_to}_{code}": number(line.tariff.beyond),
                "colours_and_clear_add": list(line.adders),
                "on_the_list": line.listed,
                "own_price": line.own,
                f"amount_{code}": number(line.amount),
            }
            for line in quote.lines
        ],
        f"set_up_shared_{code}": number(price.shared),
        f"test_panel_{code}": number(price.panel),
        f"to_minimum_charge_{code}": number(price.to_minimum),
        f"rush_{code}": number(price.rush),
        f"price_net_{code}": number(price.net),
        f"sales_tax_{code}": number(price.tax),
        f"price_printed_{code}": number(price.printed),
        "printed_with_tax": policy.prices_include_tax,
        "margin_share": number(quote.margin_share),
        "at_minimum_charge": bool(price.at_minimum),
        f"deposit_{code}": number(quote.deposit),
    }


def rule_figures(shop: Shop, rule: ExtraRule) -> dict[str, Any]:
    """Describe the two-tone extra as a rule, for every number ordered."""
    code = shop.currency
    return {
        "holds_for": "any number ordered, before minimum charge, rush and tax",
        "kinds": [
            {
                "title": line.title,
                f"on_the_first_{code}": number(line.first),
                f"on_each_further_{code}": number(line.each),
                f"on_each_beyond_{line.up_to}_{code}": number(line.beyond),
            }
            for line in rule.lines
        ],
        f"per_m_line_{code}": number(rule.per_m),
    }


def comparison_figures(comparison: Comparison) -> dict[str, Any]:
    """Describe a comparison of finishes, the extras and their rules."""
    first, sides = comparison.sides[0], []
    code = first.shop.currency
    for side in comparison.sides:
        told = {"finish": side.finish, **quote_figures(side)}
        if side is not first and side.price and first.price:
            told[f"extra_keeping_margin_{code}"] = number(float(side.marks.target) - float(first.marks.target))
            told[f"extra_printed_{code}"] = number(side.net - first.net)
            if side.sheet.finish.line != "none":
                told["rule"] = rule_figures(first.shop, rule_of(first, side))
        sides.append(told)
    return {"title": comparison.job.title, "sides": sides}


def list_figures(prices: PriceList) -> list[dict[str, Any]]:
    """Describe every row of the price list."""
    rows = [{str(key): value for key, value in row.items()} for row in prices.frame().to_dict(orient="records")]
    for row in rows:
        for key, value in row.items():
            if isinstance(value, float):
                row[key] = number(value)
    return rows

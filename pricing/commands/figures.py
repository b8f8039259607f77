"""The same answers for a program to read, each key with its unit; `in_currency` turns "money" into the shop's code."""

from typing import Any

from pricing.commands.shell import picked
from pricing.costing.lines import MONEY
from pricing.costing.sheet import CostSheet
from pricing.prices.compare import Comparison
from pricing.prices.extra import ExtraRule, rule_of
from pricing.prices.quote import Quote
from pricing.show.sums import why
from pricing.show.words import Words

_KINDS = {f"{kind}_money": kind for kind in MONEY}


def sheet_figures(sheet: CostSheet) -> dict[str, Any]:
    """Describe a cost sheet of one job."""
    words = Words(sheet.shop)
    return {
        "title": sheet.title,
        "finish_title": sheet.finish.title,
        "lines": [
            {
                "step": line.id,
                "title": words.title(line),
                **picked(line, "owner_min", "helper_min", "machine_min", attended_min="minutes"),
                "material_kg": {material.name: material.kg for material in line.materials},
                **picked(line, electricity_kWh="electricity_kwh", gas_gross_kWh="gas_kwh"),
                **picked(line, **_KINDS, total_money="total"),
                "known": sheet.kind(line),
                "because": why(sheet, line),
            }
            for line in sheet.lines
        ],
        **picked(sheet, **_KINDS, full_cost_money="total", attended_min="minutes"),
        "parts": sheet.work.parts,
        **picked(
            sheet,
            oven_visits_per_part="cycles",
            oven_visits_per_part_with_rework="expected_cycles",
            do_not_quote="refused",
        ),
        "guessed_share": sheet.guessed_share(),
        "cautions": [{"step": title, "text": text} for title, text in sheet.told_cautions()],
    }


def quote_figures(quote: Quote) -> dict[str, Any]:
    """Describe the cost sheet, the marks and the price of one job; no price where none may be given."""
    policy, marks, price = quote.shop.policy, quote.marks, quote.price
    told = sheet_figures(quote.sheet) | {"price_from": quote.origin}
    if price is None:
        return told
    told |= picked(
        marks,
        cash_floor_money="cash_floor",
        break_even_money="break_even",
        target_money="target",
        scarce_hour_price_money="scarce",
    )
    told |= {"scarce_resource": policy.scarce.resource, "target_margin_share": policy.target_margin}
    if quote.between:
        low, high = quote.between
        told |= {"fixed_at_intake": True, "price_net_low_money": low.net, "price_net_high_money": high.net}
    return told | {
        "order": [
            {
                **picked(line, "title", "count", "sold_by", "pieces"),
                "first_money": line.tariff.first,
                "each_further_money": line.tariff.each,
                f"each_beyond_{line.tariff.up_to}_money": line.tariff.beyond,
                **picked(line, colours_and_clear_add="adders", on_the_list="listed", own_price="own"),
                "amount_money": line.amount,
            }
            for line in quote.lines
        ],
        **picked(
            price,
            set_up_shared_money="shared",
            test_panel_money="panel",
            to_minimum_charge_money="to_minimum",
            rush_money="rush",
            price_net_money="net",
            sales_tax_money="tax",
            price_printed_money="printed",
        ),
        "printed_with_tax": policy.prices_include_tax,
        "margin_share": quote.margin_share,
        "at_minimum_charge": bool(price.at_minimum),
        "deposit_money": quote.deposit,
    }


def rule_figures(rule: ExtraRule) -> dict[str, Any]:
    """Describe the two-tone extra as a rule, for every number ordered."""
    return {
        "holds_for": "any number ordered, before minimum charge, rush and tax",
        "kinds": [
            {
                "title": title,
                **picked(line, on_the_first_money="first", on_each_further_money="each"),
                f"on_each_beyond_{line.up_to}_money": line.beyond,
            }
            for title, line in rule.lines
        ],
        "per_m_line_money": rule.per_m,
    }


def comparison_figures(comparison: Comparison) -> dict[str, Any]:
    """Describe a comparison of finishes, the extras and their rules."""
    first, sides = comparison.sides[0], []
    for side in comparison.sides:
        told = {"finish": side.finish, **quote_figures(side)}
        if side is not first and side.price and first.price:
            told["extra_keeping_margin_money"] = float(side.marks.target) - float(first.marks.target)
            told["extra_printed_money"] = side.net - first.net
            if side.sheet.finish.line != "none":
                told["rule"] = rule_figures(rule_of(first, side))
        sides.append(told)
    return {"title": comparison.job.title, "sides": sides}

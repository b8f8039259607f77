"""Page 6 in rows and words: the shop's numbers on one screen for somebody who has five minutes."""

from collections.abc import Mapping
from html import escape

import numpy as np

from pricing.basis.money import payback_y
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.hire_buy_drop import unused_hours
from pricing.prices.questions import fixed_per_month
from pricing.shop.shop import Shop
from pricing.show.blocks import Answer, Rows
from pricing.show.look import SIDES
from pricing.show.loss_words import chance_words, loss_words, swing_words
from pricing.show.mix_view import Mix
from pricing.show.sides import Sides
from pricing.show.tiles import fact_tiles, stopped, tile, tile_number, tiles, told_list
from pricing.show.what_if import WhatIf
from pricing.show.words import Words

_SHOWN = 6


class Bands:
    """What some items may cost, in both finishes, and what is charged; models are kept while numbers move."""

    def __init__(self, shop: Shop, items: Mapping[str, Item]) -> None:
        shown = list(items)[1 :: max(1, len(items) // _SHOWN)][:_SHOWN]
        self._words = Words(shop)
        self._all = [
            (place, items[key].title, side, job_of_item(items[key], column=column), WhatIf(shop))
            for place, key in enumerate(shown)
            for column, side in zip(("single", "two_tone"), SIDES, strict=True)
        ]

    def rows(self, numbers: Mapping[str, float]) -> dict[str, Rows]:
        """Collect a band and a price for each, with some numbers moved."""
        words, rows = self._words, []
        for place, title, side, job, bench in self._all:
            trial = bench.trial(job, job.finish, numbers)
            if trial.sheet.refused:
                continue
            low, high = (float(end) for end in np.asarray(trial.risk.quantile([0.05, 0.95])))
            price = trial.quote.net
            told = (
                f"{title}, {side.lower()}: {words.money(price)}\n"
                f"9 of 10 cost {words.money(low)} to {words.money(high)}, the mean {words.money(trial.total)}"
            )
            row = {"title": title, "place": place, "side": side, "price": price, "why": told}
            rows.append(row | {"low": round(low, 2), "high": round(high, 2), "cost": round(trial.total, 2)})
        return {"bands": rows}


def partner_tiles(sides: Sides, mix: Mix | None) -> str:
    """Write the tiles of the page."""
    words, shop = Words(sides.shop), sides.shop
    if sides.refused:
        return stopped(sides.refused)
    both = shop.hour_rates["owner"] + shop.hour_rates["overhead"]
    chance = sides.chances()[1]
    price = tile_number(words.money(sides.price, cents=False), "price")
    even, fixed = words.money(sides.fancy.total), words.money(fixed_per_month(mix.staff if mix else shop), cents=False)
    found = [
        tile(
            sides.job.title,
            price,
            f"two-tone; one colour {escape(words.money(sides.plain_price, cents=False))}",
            style="main",
        ),
        tile("Of it left over", tile_number(f"{sides.margin:.0%}", "margin"), f"breaks even at {escape(even)}"),
        tile("Chance that it loses money", tile_number(chance_words(chance), "chance"), "over all that is not sure"),
        tile("Your hour must bring", tile_number(words.money(both), "must"), "owner paid, bills met"),
        tile("A month costs", tile_number(fixed, "month"), "whether or not a job comes"),
    ]
    if mix is not None and np.isfinite(mix.month.break_even_quantity):
        even = f"{mix.month.break_even_quantity:.0f} orders"
        found.append(tile("Pay a month", tile_number(even, "even"), f"wanted are {mix.month.quantity:.0f}"))
    return tiles(found)


def unsure_words(sides: Sides) -> str:
    """Say how many of a hundred such jobs would lose and why, and which three guesses matter most."""
    told = swing_words(Words(sides.shop), sides.fancy)
    rows = "".join(f"<li><b>{escape(name)}</b>: {escape(moves)}</li>" for name, moves in told)
    share = sides.fancy.sheet.guessed_share()
    odds = told_list("How sure that is", loss_words(sides.shop, sides.fancy.odds(sides.price)))
    guesses = f'<p class="soft sub">{share:.0%} of the cost of this job rests on guesses.</p>'
    return f'{odds}<h3>Which guesses move it</h3>{guesses}<ul class="cautions">{rows}</ul>'


def money_words(shop: Shop, mix: Mix | None) -> str:
    """Say what is tied up, what a year leaves, and what would help most."""
    words = Words(shop)

    def whole(value: float, why: str) -> str:
        return tile_number(words.money(value, cents=False), why)

    machines, powder = _tied(shop)
    rows = [("machines, as bought", whole(machines, "machines")), ("powder, one pack of each", whole(powder, "powder"))]
    told = ""
    if mix is not None:
        idle = shop.owner.weeks * sum(row.money for row in unused_hours(mix.staff, mix.week))
        years = _payback(mix)
        back = f"{years:.1f} years" if np.isfinite(years) else "never"
        rows += [
            ("a year leaves, with the hours there are", whole(_year(mix), "year")),
            ("hours a year that nobody uses cost", whole(idle, "idle")),
            ("machines paid back in", tile_number(back, "payback")),
        ]
        scarce = mix.week.scarce
        if scarce:
            worth = words.money(scarce.one_more_hour, cents=False)
            told = f"One more hour a week of the {scarce.name} is worth {worth} a week."
    return f'<h3>Money tied up, and what comes back</h3>{fact_tiles(rows)}<p class="pp-note">{escape(told)}</p>'


def _tied(shop: Shop) -> tuple[float, float]:
    machines = sum(machine.price for machine in shop.machines.all())
    return machines, sum(powder.price_per_kg * powder.pack_kg for powder in shop.powders.values())


def _year(mix: Mix) -> float:
    """What a year of the best weeks the hours allow leaves, all costs met."""
    return mix.week.earned * mix.staff.owner.weeks - 12 * fixed_per_month(mix.staff)


def _payback(mix: Mix) -> float:
    """Years until what is left, and what was set aside for wear and interest, pays the machines."""
    shop = mix.staff
    set_aside = sum(m.yearly_cost(shop.policy.interest) - m.upkeep_per_y for m in shop.machines.all())
    each_year = _year(mix) + set_aside
    return payback_y(_tied(shop)[0], each_year)


def partner_answer(sides: Sides, mix: Mix | None, key: str) -> Answer | None:
    """Return the sum behind a number of the page."""
    from pricing.show.shop_view import shop_answer as of_shop
    from pricing.show.sides_why import two_tone_answer as of_sides

    shop, words = sides.shop, Words(sides.shop)
    if key in {"must", "month"}:
        return of_shop(mix.staff if mix is not None and key == "month" else shop, key)
    if key == "price":
        lines = [
            f"one colour {words.money(sides.plain_price)} + extra {words.money(sides.extra)}",
            "page 4 takes the extra apart",
        ]
        return Answer(f"Price {words.money(sides.price)}", lines)
    if key in {"margin", "chance"}:
        return of_sides(sides, "margin" if key == "margin" else "chance:fancy")
    machines, powder = _tied(shop)
    if key == "machines":
        lines = [f"{machine.name}: {words.money(machine.price)}" for machine in shop.machines.all()]
        return Answer(f"Machines {words.money(machines)}", lines)
    if key == "powder":
        lines = [
            f"{p.name}: {words.sig(p.pack_kg)} kg × {words.money(p.price_per_kg)}/kg" for p in shop.powders.values()
        ]
        return Answer(f"Powder {words.money(powder)}", lines)
    if mix is None:
        return of_sides(sides, key)
    if key == "even":
        return Answer("Orders that pay a month", [mix.month.say("orders", shop.currency)])
    if key == "idle":
        lines = [
            f"{row.name}: {words.sig(row.hours)} h a week × {words.money(shop.hour_rates[row.name])}"
            for row in unused_hours(mix.staff, mix.week)
            if row.money > 0
        ]
        return Answer(
            "Hours that nobody uses", [*lines, f"× {words.sig(shop.owner.weeks)} weeks; it is within the fixed costs"]
        )
    if key in {"year", "payback"}:
        fixed = words.money(12 * fixed_per_month(mix.staff))
        lines = [
            f"the best week the hours allow brings {words.money(mix.week.earned)} after cash",
            f"× {words.sig(shop.owner.weeks)} weeks − a year's fixed costs {fixed} = {words.money(_year(mix))}",
        ]
        if key == "payback":
            lines.append(
                f"with what is set aside for wear and interest, against {words.money(machines)} for the machines"
            )
        return Answer("What a year leaves", lines)
    return of_sides(sides, key)

"""A week and a month of orders in rows and words: which hours they take, what they leave; hire, buy, drop."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape
from math import isfinite

import numpy as np

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.basis.units import sig
from pricing.costing.capacity import Week, plan_week
from pricing.parts.items import Item
from pricing.prices.cost_volume_profit import Month, Sold, month
from pricing.prices.hire_buy_drop import Year, YearChoice, YearChoices, unused_hours, with_helpers, year_choices
from pricing.prices.questions import fixed_per_month
from pricing.prices.week import WEEKS_PER_MONTH, Offer, Wanted, offers, read_week, week_hours, work_of
from pricing.shop.shop import Shop
from pricing.show.blocks import Rows
from pricing.show.fields import ChoiceField, Field, Slider
from pricing.show.words import Words, out_words

_MOST_HELPERS = 3
_WORTH_IT = 0.005  # of what the owner draws: for less nobody drops anything
NO_WEEK = "Empty: what a usual week brings is not said yet: page 1, All settings, A usual week."
"""In place of charts of a week."""
CHOICES_NOTE = (
    "Each against the year as it is, at today's prices and the usual week; a kind of work against taking on all of it."
    " Wages and machines are paid whether used or not. Payback is without interest, worth today with it; taxes on"
    " profit are in neither."
)


def usual_week(shop: Shop, items: Mapping[str, Item]) -> tuple[Wanted, ...]:
    """Read the usual week; none where it cannot be read, which is told where it is mended."""
    try:
        return read_week(shop, items)
    except BadInput:
        return ()


def week_fields(shop: Shop, tongue: Tongue) -> list[Field]:
    """Ask how much work and how many helpers are tried; helpers only where the shop has one to take as a pattern."""
    times = Slider("times", "Times your usual week", 1.0, "", tongue, least=0.25, most=2.5, typed=(0.0, 20.0))
    if shop.helper is None:
        return [times]
    words = {"0": "none", "1": "one", "2": "two", "3": "three"}
    most = max(_MOST_HELPERS, shop.helper.heads)
    options = {str(n): words.get(str(n), str(n)) for n in range(most + 1)}
    return [times, ChoiceField("helpers", "Helpers", str(shop.helper.heads), options)]


@dataclass(frozen=True)
class Mix:
    """A week of orders, so many times over: what it earns and which hours it takes.

    ``staff`` is the shop with the helpers that are tried: their hours and wages; prices stay those of the shop.
    """

    shop: Shop
    offers: Sequence[Offer]
    times: float
    staff: Shop

    @classmethod
    def of(cls, shop: Shop, wanted: Sequence[object], times: float = 1.0, helpers: str = "") -> "Mix":
        """Cost and price a week that was read; ``helpers`` is what `week_fields` have chosen, '' those there are."""
        staff = with_helpers(shop, int(helpers)) if helpers else shop
        return cls(shop, offers(shop, wanted), times, staff)  # type: ignore[arg-type]  # what read_week gives

    @cached_property
    def week(self) -> Week:
        """The best the hours allow."""
        hours = week_hours(self.staff)
        works = [work_of(offer, hours) for offer in self.offers]
        return plan_week([work._replace(wanted=work.wanted * self.times) for work in works], hours)

    @cached_property
    def month(self) -> Month:
        """What a month of it leaves."""
        sold = [
            Sold(
                offer.wanted.name,
                offer.price,
                float(offer.sheet.cash - offer.sheet.wages),
                offer.wanted.orders * WEEKS_PER_MONTH * self.times,
            )
            for offer in self.offers
        ]
        return month(sold, fixed_per_month(self.staff))

    def hours_rows(self) -> dict[str, Rows]:
        """Collect hours taken, wanted and there, by resource."""
        week, words = self.week, Words(self.shop)
        used, there = [], []
        for place, row in enumerate(week.resources):
            asked = week.asked(row.name)
            told = f"{row.name}: {sig(row.hours)} h there, {sig(row.used)} h taken on, {sig(asked)} h wanted"
            if row.one_more_hour > 0.005:
                told += f"\none more hour is worth {words.money(row.one_more_hour)}"
            seen = {"title": row.name, "place": place, "why": told}
            used.append(seen | {"hours": round(row.used, 3), "rank": 0, "state": "taken on"})
            if asked - row.used > 0.005:
                used.append(seen | {"hours": round(asked - row.used, 3), "rank": 1, "state": "wanted, no time"})
            text = f"1 h more: {words.money(row.one_more_hour, cents=False)}" if row.one_more_hour > 0.5 else ""
            end = max(row.hours, asked)
            there.append(seen | {"hours": row.hours, "end": end, "text": text, "edge": end * (1.75 if text else 1.0)})
        return {"used": used, "there": there}

    def month_rows(self) -> dict[str, Rows]:
        """Collect what a month leaves against its orders."""
        found, words = self.month, Words(self.shop)
        fixed = fixed_per_month(self.staff)
        even = found.break_even_quantity
        pays = bool(np.isfinite(even))
        top = 1.3 * max(found.quantity, even if pays else 0.0, 1.0)
        line = [{"orders": x, "left": x * found.contribution - fixed} for x in (0.0, top)]

        def mark(orders: float, left: float, text: str, why: str) -> dict[str, object]:
            state = "pays" if left >= 0 else "loses money"
            return {"orders": orders, "left": left, "text": text, "state": state, "why": why}

        told = f"{found.quantity:.0f} orders a month leave {words.money(found.profit)}"
        marks = [mark(found.quantity, found.profit, "all that is wanted", told)]
        weeks = self.shop.owner.weeks / 12  # hours are those of a week at work, of which a month has fewer
        taken = float(self.week.taken.sum()) * weeks
        if taken < found.quantity - 0.05:
            left = self.week.earned * weeks - fixed
            told = f"{taken:.0f} orders, the best your hours allow, leave {words.money(left)}"
            marks.append(mark(taken, left, "your hours allow", told))
        told = f"{even:.1f} orders of this mix pay {words.money(fixed)} a month"
        at = [{"orders": even, "left": 0.0, "text": f"{even:.0f} to break even", "why": told}] if pays else []
        return {"line": line, "marks": marks, "even": at, "zero": [{"left": 0.0}]}

    def say(self) -> tuple[str, str]:
        """Say which hours run out first, and what the month leaves."""
        first, load = self.week.runs_out_first()
        out = out_words(first, load)
        told = self.month.say("orders", money=lambda left: Words(self.shop).money(left, cents=False))
        unused = sum(row.money for row in unused_hours(self.staff, self.week)) * self.shop.owner.weeks / 12
        if unused > 0:
            out += f" Hours that nobody uses cost {Words(self.shop).money(unused, cents=False)} a month."
        return escape(out), escape(f"If there were hours for all: {told}" if load > 1 else told)


def choice_words(words: Words, one: YearChoice) -> tuple[str, str, str]:
    """Say what is done, what it brings a year, and what comes of it.

    Such as "Buy the second small oven", "+ €1,250", and a sentence or two.
    """

    def whole(value: float) -> str:
        return words.money(value, cents=False)

    does = {"hire": "Work with", "buy": "Buy the", "drop": "Take no more of:"}[one.way]
    what = one.what[:1].upper() + one.what[1:] if one.what.startswith("without") else f"{does} {one.what}"
    sign = "+" if one.more >= 0 else "−"
    told = f"A year leaves {whole(one.year.left)}. {next_words(one.year)}"
    if one.way == "buy":
        back = words.local(f"back in {one.back_y:.1f} years") if isfinite(one.back_y) else "it never comes back"
        told = f"{whole(one.spent)} at once, {back}; worth {whole(one.worth)} today. {told}"
    return what, f"{sign} {whole(abs(one.more))}", told


def next_words(year: Year) -> str:
    """Say which hours run out, or come nearest to it."""
    return out_words(year.runs_out, year.load) if year.runs_out else "Nothing is wanted."


def worth_telling(shop: Shop, choices: YearChoices) -> tuple[YearChoice, ...]:
    """Return what is hired and bought, and the kinds of work that are better dropped."""
    return tuple(one for one in choices.rows if one.way != "drop" or one.more > _WORTH_IT * shop.owner.draw_per_y)


def nothing_to_drop(shop: Shop, choices: YearChoices) -> str:
    """Say so where no kind of work is better dropped, with the one that comes nearest; else nothing."""
    dropped = [one for one in choices.rows if one.way == "drop"]
    if not dropped or dropped[0].more > _WORTH_IT * shop.owner.draw_per_y:
        return ""
    return f"No kind of work is better dropped; nearest to it comes {dropped[0].what}."


def choices_html(mix: Mix) -> str:
    """Say all of it as HTML, for a page."""
    words = Words(mix.shop)
    found = year_choices(mix.staff, mix.offers, mix.times)
    rows: Sequence[tuple[str, str, str]] = [choice_words(words, one) for one in worth_telling(mix.shop, found)]
    told = "".join(
        f"<li><b>{escape(what)}: {escape(more)} a year.</b> {escape(said)}</li>" for what, more, said in rows
    )
    none = f'<p class="soft sub">{escape(nothing_to_drop(mix.shop, found))}</p>'
    return f'<h3>Hire, buy, drop</h3><ul class="cautions">{told}</ul>{none}'

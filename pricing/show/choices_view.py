"""Hire, buy, drop, in words: what a year with each leaves, when it is paid back, which hours run out next."""

from collections.abc import Sequence
from html import escape
from math import isfinite

from pricing.prices.hire_buy_drop import Year, YearChoice, YearChoices, year_choices
from pricing.shop.shop import Shop
from pricing.show.mix_view import Mix
from pricing.show.words import Words, out_words

CHOICES_NOTE = (
    "Each against the year as it is, at today's prices and the usual week; a kind of work against taking on all of it."
    " Wages and machines are paid whether used or not. Payback is without interest, worth today with it; taxes on"
    " profit are in neither."
)
_WORTH_IT = 0.005  # of what the owner draws: for less nobody drops anything


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

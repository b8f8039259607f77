"""Money, measures and steps in words, as a shop writes them."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from pricing.basis.checks import Floats
from pricing.basis.money import show_amount, show_money, show_rate
from pricing.basis.numerals import localized, signed
from pricing.basis.ranges import Ends
from pricing.basis.units import readable, shown, sig
from pricing.costing.lines import Line
from pricing.costing.walk import LEFTOVER, LOST, REDO, RESPRAY, WARRANTY
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.quote import Quote
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.steps.route import STEPS

if TYPE_CHECKING:
    from pricing.prices.extra import ExtraRule

LOOP_WORDS = {
    RESPRAY: "Spoiled before cure: blow off, spray and wipe again",
    REDO: "Rejects after cure: strip and start again",
    LEFTOVER: "Powder left in the pack",
    WARRANTY: "Set aside for claims under warranty",
    LOST: "Part lost, no redo allowed",
}
"""Titles of the lines that are no step of the route."""

MARKS = {"cash": "covers the cash", "even": "break-even", "target": "your margin", "scarce": "as good as other work"}
"""The four marks of a price, each by the question that it answers."""

ORIGIN = {
    "list": "by your list",
    "worked out": "worked out for this job",
    "minimum": "the smallest job decides",
    "refused": "no price",
}
"""Where a price comes from, in words."""

_ORDINAL = {1: "first coat", 2: "second coat", 3: "third coat", 4: "fourth coat"}


_NO_CENTS = 5e-3


@dataclass(frozen=True, slots=True)
class Words:
    """How a shop writes money and measures."""

    shop: Shop

    def money(self, value: float, *, cents: bool = True) -> str:
        """Write money in the shop's currency and locale."""
        return show_money(float(value), self.shop.currency, self.shop.front.locale, cents=cents)

    def short(self, value: float) -> str:
        """Write money, its cents only where there are some."""
        return self.money(value, cents=abs(value - round(value)) > _NO_CENTS)

    def local(self, text: str) -> str:
        """Write the numbers of a text without money in it; on papers, with the locale's decimal sign."""
        return text

    def rate(self, value: float) -> str:
        """Write a price per unit, with digits enough to reckon with it."""
        return show_rate(float(value), self.shop.currency, self.shop.front.locale)

    def amount(self, value: Floats) -> str:
        """Write money without its sign, under a head that names the currency."""
        return show_amount(float(value), self.shop.currency, self.shop.front.locale)

    def day(self, day: date) -> str:
        """Write a day as people of the shop's locale do."""
        from babel.dates import format_date

        return format_date(day, format="long", locale=self.shop.front.locale)

    def sig(self, value: float, digits: int = 3) -> str:
        """Write a plain number with the decimal mark of the shop's locale."""
        return signed(localized(sig(float(value), digits), self.shop.front.locale))

    def number(self, value: float, decimals: int) -> str:
        """Write a plain number with so many decimals."""
        return signed(localized(f"{value:.{decimals}f}", self.shop.front.locale))

    def share(self, value: float, decimals: int | None = None) -> str:
        """Write a share of 100, with so many decimals; without that with those it has: 8.25%."""
        text = f"{100 * value:.4g}%" if decimals is None else f"{value:.{decimals}%}"
        return signed(localized(text, self.shop.front.locale))

    def measure(self, value: float, unit: str, digits: int = 3) -> str:
        """Write a value of the model in the shop's units."""
        at = shown(float(value), unit, self.shop.front.units)
        if unit.startswith("money/"):
            return f"{self.rate(at.value)}/{readable(at.unit.removeprefix('money/'))}"
        return f"{self.sig(at.value, digits)} {readable(at.unit)}"

    def value_of(self, unit: str) -> Callable[[float], str]:
        """Return what writes a value of a unit of the model: money, a share or a measure."""
        if unit == "money":
            return self.money
        if unit == "share":
            return lambda value: self.share(value, 1)
        return lambda value: self.measure(value, unit) if unit else self.sig(value)

    def break_even(self, answer: BreakEven | WholeBreakEven) -> str:
        """Say where a price breaks even by one number."""
        if isinstance(answer, WholeBreakEven):
            return answer.say(self.shop.currency)
        return answer.say(self.shop.currency, measure=self.value_of(answer.unit))

    def title(self, line: Line) -> str:
        """Name a line as people read it."""
        return self.step_title(line.step, line.coat if line.step not in LOOP_WORDS else 0)

    def step_title(self, step: str, coat: int = 0) -> str:
        """Name a step, with its coat where it has one."""
        title = LOOP_WORDS.get(step) or known_steps()[step].title
        return f"{title}, {_ORDINAL.get(coat, f'coat {coat}')}" if coat else title


def counted(count: int, one: str = "piece", many: str = "pieces") -> str:
    """Count things in words that agree.

    >>> counted(1), counted(9)
    ('1 piece', '9 pieces')
    """
    return f"{count} {one if count == 1 else many}"


def out_words(resource: str, load: float) -> str:
    """Say which hours run out first, or come nearest to it, and how much of them is wanted."""
    if load > 1:
        return f"First to run out: {resource}, {load:.0%} of those hours are wanted."
    return f"Nothing runs out, nearest to it: {resource}, {load:.0%}."


def rule_words(words: Words, rule: "ExtraRule") -> list[str]:
    """Say the two-tone extra as a rule, a sentence a kind of part; it holds for every number ordered."""
    told = [
        f"as a rule, {title}: two-tone adds {words.money(line.first)} to the first"
        f" and {words.money(line.each)} to each further"
        + (f", {words.money(line.beyond)} beyond {line.up_to}" if line.beyond != line.each else "")
        for title, line in rule.lines
    ]
    return [*told, f"{line_words(words, rule)} at your margin"]


def line_words(words: Words, rule: "ExtraRule") -> str:
    """Say what one more metre or foot of line adds."""
    units = words.shop.front.units
    per_unit = words.money(shown(float(rule.per_m), "money/m", units).value)
    return f"one more {'foot' if units == 'us' else 'metre'} of line costs {per_unit}"


def order_words(words: Words, quote: Quote) -> list[str]:
    """Say how the price of a quote adds up, a line a sentence; empty where there is none."""
    if quote.price is None:
        return []
    told, price = [], quote.price
    for line in quote.lines:
        counted_as = f"{line.count} × {line.title}"
        if line.pieces != line.count:
            counted_as += f" ({line.pieces} pieces)"
        parts = [f"the first {words.money(line.tariff.first)}"]
        near = min(line.count, line.tariff.up_to) - 1
        if near:
            parts.append(f"{near} further × {words.money(line.tariff.each)}")
        if line.count > line.tariff.up_to:
            parts.append(f"{line.count - line.tariff.up_to} beyond × {words.money(line.tariff.beyond)}")
        with_it = f", with {', '.join(line.adders)}" if line.adders else ""
        told.append(f"{counted_as}{with_it}: {' + '.join(parts)} = {words.money(line.amount)}")
    for name, amount in (
        ("one set-up for all kinds", -float(price.shared)),
        ("test panel", price.panel),
        ("up to the minimum charge", float(price.to_minimum)),
        ("rush", float(price.rush)),
    ):
        if abs(amount) > 5e-3:
            told.append(f"{name}: {words.money(amount)}")
    return told


_EACH = {
    "area_m2": "area",
    "mass_kg": "mass",
    "edge_m": "edges",
    "line_m": "line",
    "repair_m": "old welds",
    "spots": "nooks",
    "plugs": "plugs",
    "scars": "scars",
}


def open_words(words: Words, job: Job) -> list[str]:
    """Say what of a job is only known from where to where, a part of it a sentence."""
    told = []
    for lot in job.lots:
        each = [_from_to(words, name, ends) for name, ends in lot.ranges.items()]
        if each:
            told.append(f"{lot.part.name}: {', '.join(each)}")
    return told


def _from_to(words: Words, name: str, ends: Ends) -> str:
    from pricing.costing.job_cost import AMOUNT_UNITS

    low, high = (words.measure(end, AMOUNT_UNITS[name]) if name in AMOUNT_UNITS else f"{end}" for end in ends[::2])
    return f"{low} to {high} of them" if name == "quantity" else f"{_EACH[name]} {low} to {high} each"


def between_words(words: Words, quote: Quote) -> str:
    """Say from where to where a price may come, as it is printed; empty where nothing of the job is open."""
    if quote.between is None:
        return ""
    low, high = (words.short(float(end.printed)) for end in quote.between)
    return f"from {low} to {high}, fixed at intake"


def place(line: Line) -> tuple[int, int, int]:
    """Work out a line's place in the order of the work, the same for every finish."""
    if line.step in LOOP_WORDS:
        return (3, 0, list(LOOP_WORDS).index(line.step))
    at = _PLACES[line.step]
    if line.coat:
        return (1, line.coat, at)
    return (2 if at > _PLACES["full_cure"] else 0, 0, at)


_PLACES = {step.key: at for at, step in enumerate(STEPS)}


def hour_words(resource: str) -> str:
    """Name an hour as its owner does.

    >>> hour_words("owner"), hour_words("small oven")
    ('your hour', 'an hour of the small oven')
    """
    return "your hour" if resource == "owner" else f"an hour of the {resource}"

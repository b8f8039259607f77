"""Decisions on the terminal: break-even, the three extras, risk, the week."""

from collections.abc import Callable, Mapping, Sequence

from rich.text import Text

from pricing.basis.units import readable
from pricing.commands.tables import console, grid, say
from pricing.costing.capacity import Rush, Week
from pricing.costing.risk import Risk
from pricing.costing.shares import Difference, VarianceShare
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.cost_volume_profit import Month
from pricing.prices.extra import Extras
from pricing.prices.paid_hours import unused_hours
from pricing.prices.wiped_or_masked import say_wiped
from pricing.shop.shop import Shop
from pricing.show.naming import Names
from pricing.show.words import Words, rule_words

FoundBreakEvens = Mapping[str, BreakEven | WholeBreakEven]
_QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
_MOST_SHARES = 8


def measure_of(shop: Shop, unit: str) -> Callable[[float], str]:
    """Work out the way to write a value of a unit in the shop's money and measures.

    Parameters
    ----------
    shop : Shop
        Whose.
    unit : str
        Unit of the model, ``money``, ``share`` or ''.
    """
    words = Words(shop)
    if unit == "money":
        return words.money
    if unit == "share":
        return lambda value: words.share(value, 1)
    return lambda value: words.measure(value, unit) if unit else f"{value:.0f}"


def show_break_even(shop: Shop, job: Job, found: FoundBreakEvens, price: float | None) -> None:
    """Print where a job breaks even, one sentence a question."""
    to = console()
    at = "its list price" if price is None else Words(shop).money(price)
    say(to, f"{job.title}: where it just covers its full cost, at {at}", style="bold")
    for answer in found.values():
        if isinstance(answer, BreakEven):
            text = answer.say(shop.currency, measure=measure_of(shop, answer.unit))
        else:
            text = answer.say(shop.currency)
        say(to, f"  {text}")


def show_month(shop: Shop, found: Month, fixed: float) -> None:
    """Print the month that the wanted week makes."""
    to, words = console(), Words(shop)
    table = grid(f"A month of {shop.front.name}", ("", shop.currency))
    table.add_row("fixed costs: bills, owner's draw, machines", words.money(fixed))
    table.add_row("an order brings, after cash", words.money(found.contribution))
    table.add_row("of the price", f"{found.contribution_ratio:.0%}")
    table.add_row("break-even sales", words.money(found.break_even_sales))
    to.print(table)
    say(to, found.say("orders", shop.currency))
    say(to, "Whether the hours suffice for the plan is told by: capacity")


def show_extras(shop: Shop, job: Job, extras: Extras, ways: Mapping[str, BreakEven]) -> None:
    """Print the extra and three answers beside it, the rule, and wiping against masking."""
    to, words = console(), Words(shop)
    fancy, plain = extras.fancy.sheet.finish.title, extras.plain.sheet.finish.title
    head = f"{job.title}: what '{fancy}' must cost more than '{plain}', in {shop.currency}"
    columns = ("the extra keeps", "extra", "price", "margin", f"per {extras.resource} hour", "chance of loss")
    table = grid(head, columns)
    for name, row in (
        (f"{plain}, for comparison", extras.base),
        ("as it is printed", extras.printed),
        *((row.keeps, row) for row in extras.answers),
    ):
        extra = "–" if row is extras.base else words.amount(row.extra)
        figures = (
            words.share(row.margin_share, 1),
            words.amount(row.per_scarce_hour),
            _chance(words, row.chance_of_loss),
        )
        table.add_row(name, extra, words.amount(row.price), *figures)
    to.print(table)
    if extras.chance_told != extras.base.chance_of_loss:
        say(to, f"the chance of loss that is kept is {_chance(words, extras.chance_told)}: draws tell no smaller one")
    for told in rule_words(words, extras.rule):
        say(to, told)
    for way in ways.values():
        say(to, say_wiped(way, measure_of(shop, way.unit)))


def show_risk(shop: Shop, title: str, answer: Risk, price: float, chance: float) -> None:
    """Print what the draws of one job say."""
    to, words = console(), Words(shop)
    note = "" if answer.complete else f", stopped; {answer.wanted:,} were wanted"
    table = grid(f"{title}: full cost in {shop.currency}, played through {len(answer.costs):,} times{note}", ("", ""))
    for share in _QUANTILES:
        table.add_row(f"in {share:.0%} of the cases at most", words.money(float(answer.quantile(share))))
    table.add_section()
    table.add_row("as quoted", words.money(answer.point))
    table.add_row("on average, with all that is not sure", words.money(answer.mean))
    table.add_row(f"chance of loss at {words.money(price)}", _chance(words, float(answer.chance_of_loss(price))))
    table.add_row(
        f"price for a chance of loss of {words.share(chance)}", words.money(answer.price_for(chance)), style="bold"
    )
    to.print(table)


def show_words(told: Sequence[str]) -> None:
    """Print sentences, each on a line of its own that is broken between words."""
    to = console()
    for sentence in told:
        say(to, sentence)


def show_shares(shop: Shop, shares: Sequence[VarianceShare], told: Difference) -> None:
    """Print what matters most, and why the mean is not the point quote."""
    to, names = console(), Names(shop)
    table = grid("What matters most: share of the variance", ("", "alone", "with all others"))
    for share in shares[:_MOST_SHARES]:
        table.add_row(Text(names.of(share.key)), f"{max(0.0, share.first):.0%}", f"{share.total:.0%}")
    to.print(table)
    say(to, told.say(names.of, Words(shop).money))


def show_risks(shop: Shop, answers: Mapping[str, Risk], prices: Mapping[str, float], chance: float) -> None:
    """Print what the draws of many jobs say, one row a job."""
    to, words = console(), Words(shop)
    columns = ("job", "price", "point", "mean", "5 %", "95 %", "chance of loss", f"price for {words.share(chance)}")
    table = grid(f"How sure the costs are, in {shop.currency}", columns)
    for title, answer in answers.items():
        ends = [float(answer.quantile(share)) for share in (0.05, 0.95)]
        amounts = (prices[title], answer.point, answer.mean, *ends)
        loss, wanted = (
            _chance(words, float(answer.chance_of_loss(prices[title]))),
            words.amount(answer.price_for(chance)),
        )
        mark = "" if answer.complete else " (stopped)"
        table.add_row(Text(title + mark), *[words.amount(amount) for amount in amounts], loss, wanted)
    to.print(table)


def show_week(shop: Shop, week: Week, added: Week | None, pushed: tuple[str, float, Rush] | None) -> None:
    """Print the hours of the week, the ranking, and what more hours or a rush would do."""
    to, words = console(), Words(shop)
    columns = ("hours a week", "there", "wanted", "used", f"one more hour, {shop.currency}")
    table = grid(f"{shop.front.name}: the best week earns {words.money(week.earned)} after cash", columns)
    for row in week.resources:
        asked = week.asked(row.name)
        style = "bold" if row.one_more_hour > 0.005 else ""
        figures = (*(words.number(hours, 1) for hours in (row.hours, asked, row.used)), words.amount(row.one_more_hour))
        table.add_row(row.name, *figures, style=style)
    to.print(table)
    if shop.helper:
        wages = shop.helper.wages_per_y / shop.owner.weeks
        say(to, f"Wages, booked or not, take {words.money(wages)} of it: {words.money(week.earned - wages)} left.")
        say(
            to,
            f"In the best week the helper does {week.helped_share:.0%} of what a helper may do"
            f" (your cost sheets take {shop.helper.share:.0%}).",
        )
    unused = [row for row in unused_hours(shop, week) if row.money > 0.005]
    if unused:
        told = ", ".join(f"{row.name} {words.number(row.hours, 1)} h {words.money(row.money)}" for row in unused)
        say(to, f"Hours that nobody uses cost {words.money(sum(r.money for r in unused))} of that week: {told}.")
    first, load = week.runs_out_first()
    if load > 1:
        say(to, f"{first} runs out first: the wanted work takes {load:.0%} of its hours.")
    else:
        say(to, f"Nothing runs out; {first} comes nearest, with {load:.0%} of its hours.")
    rank = grid(
        "Work by what an hour of what runs out first brings", ("work", shop.currency + "/h", "wanted", "taken on")
    )
    for line in week.ranked():
        rank.add_row(
            Text(line.name), words.amount(line.per_scarce_hour), words.sig(line.wanted), words.number(line.taken, 2)
        )
    to.print(rank)
    if added is not None:
        more = {name: added.hours[name] - there for name, there in week.hours.items() if added.hours[name] != there}
        told = ", ".join(f"{hours:+g} h {name}" for name, hours in more.items())
        say(to, f"With {told} the week earns {words.money(added.earned - week.earned)} more.")
    if pushed is not None:
        title, price, rush = pushed
        say(
            to,
            f"Rush '{title}': it pushes out work that earns {words.money(rush.displaced)};"
            f" at {words.money(price)} it needs {words.money(rush.surcharge)} more to be worth it.",
        )


def _chance(words: Words, share: float) -> str:
    return f"under {words.share(0.001)}" if share < 0.001 else words.share(share, 1)


def unit_key(unit: str, currency: str) -> str:
    """Write a unit as the end of a JSON key.

    >>> unit_key("min/m", "EUR"), unit_key("money/kg", "EUR"), unit_key("", "EUR")
    ('_min_per_m', '_EUR_per_kg', '')
    """
    text = readable(unit, currency).replace("/", "_per_").replace("²", "2")
    return f"_{text}" if text else ""

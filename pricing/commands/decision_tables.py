"""Decisions on the terminal: break-even, the three extras, risk, the week."""

from collections.abc import Mapping, Sequence

from pricing.commands.decision_figures import QUANTILES
from pricing.commands.tables import grid, tell
from pricing.costing.capacity import Rush, Week
from pricing.costing.risk import Risk
from pricing.costing.shares import Difference, VarianceShare
from pricing.parts.job import Job
from pricing.prices.break_even import BreakEven, WholeBreakEven
from pricing.prices.cost_volume_profit import Month
from pricing.prices.extra import Extras
from pricing.prices.hire_buy_drop import unused_hours
from pricing.prices.questions import say_wiped
from pricing.shop.shop import Shop
from pricing.show.naming import Names
from pricing.show.words import Words, out_words, rule_words

_MOST_SHARES = 8


def show_break_even(shop: Shop, job: Job, found: Mapping[str, BreakEven | WholeBreakEven], price: float | None) -> None:
    """Print where a job breaks even, one sentence a question."""
    words = Words(shop)
    at = "its list price" if price is None else words.money(price)
    tell(f"{job.title}: where it just covers its full cost, at {at}", style="bold")
    tell(*(f"  {words.break_even(answer)}" for answer in found.values()))


def show_month(shop: Shop, found: Month, fixed: float) -> None:
    """Print the month that the wanted week makes."""
    words = Words(shop)
    rows = [
        ("fixed costs: bills, owner's draw, machines", words.money(fixed)),
        ("an order brings, after cash", words.money(found.contribution)),
        ("of the price", f"{found.contribution_ratio:.0%}"),
        ("break-even sales", words.money(found.break_even_sales)),
    ]
    tell(
        grid(f"A month of {shop.front.name}", ("", shop.currency), rows),
        found.say("orders", shop.currency),
        "Whether the hours suffice for the plan is told by: capacity",
    )


def show_extras(shop: Shop, job: Job, extras: Extras, ways: Mapping[str, BreakEven]) -> None:
    """Print the extra and three answers beside it, the rule, and wiping against masking."""
    words = Words(shop)
    fancy, plain = extras.fancy.sheet.finish.title, extras.plain.sheet.finish.title
    head = f"{job.title}: what '{fancy}' must cost more than '{plain}', in {shop.currency}"
    columns = ("the extra keeps", "extra", "price", "margin", f"per {extras.resource} hour", "chance of loss")
    named = ((f"{plain}, for comparison", extras.base), ("as it is printed", extras.printed))
    rows = [
        (
            name,
            "–" if row is extras.base else words.amount(row.extra),
            words.amount(row.price),
            words.share(row.margin_share, 1),
            words.amount(row.per_scarce_hour),
            _chance(words, row.chance_of_loss),
        )
        for name, row in (*named, *((row.keeps, row) for row in extras.answers))
    ]
    tell(grid(head, columns, rows))
    if extras.chance_told != extras.base.chance_of_loss:
        tell(f"the chance of loss that is kept is {_chance(words, extras.chance_told)}: draws tell no smaller one")
    tell(*rule_words(words, extras.rule), *(say_wiped(way, words.value_of(way.unit)) for way in ways.values()))


def show_risk(shop: Shop, title: str, answer: Risk, price: float, chance: float) -> None:
    """Print what the draws of one job say."""
    words = Words(shop)
    note = "" if answer.complete else f", stopped; {answer.wanted:,} were wanted"
    quantiles = [(f"in {q:.0%} of the cases at most", words.money(float(answer.quantile(q)))) for q in QUANTILES]
    head = f"{title}: full cost in {shop.currency}, played through {len(answer.costs):,} times{note}"
    table = grid(head, ("", ""), quantiles)
    table.add_section()
    table.add_row("as quoted", words.money(answer.point))
    table.add_row("on average, with all that is not sure", words.money(answer.mean))
    table.add_row(f"chance of loss at {words.money(price)}", _chance(words, float(answer.chance_of_loss(price))))
    wished = words.money(answer.price_for(chance))
    table.add_row(f"price for a chance of loss of {words.share(chance)}", wished, style="bold")
    tell(table)


def show_shares(shop: Shop, shares: Sequence[VarianceShare], told: Difference) -> None:
    """Print what matters most, and why the mean is not the point quote."""
    names = Names(shop)
    rows = [(names.of(one.key), f"{max(0.0, one.first):.0%}", f"{one.total:.0%}") for one in shares[:_MOST_SHARES]]
    head = "What matters most: share of the variance"
    tell(grid(head, ("", "alone", "with all others"), rows), told.say(names.of, Words(shop).money))


def show_risks(shop: Shop, answers: Mapping[str, Risk], prices: Mapping[str, float], chance: float) -> None:
    """Print what the draws of many jobs say, one row a job."""
    words = Words(shop)
    columns = ("job", "price", "point", "mean", "5 %", "95 %", "chance of loss", f"price for {words.share(chance)}")
    rows = []
    for title, answer in answers.items():
        price, mark = prices[title], "" if answer.complete else " (stopped)"
        amounts = (price, answer.point, answer.mean, *(float(answer.quantile(share)) for share in (0.05, 0.95)))
        loss = _chance(words, float(answer.chance_of_loss(price)))
        rows.append((title + mark, *map(words.amount, amounts), loss, words.amount(answer.price_for(chance))))
    tell(grid(f"How sure the costs are, in {shop.currency}", columns, rows))


def show_week(shop: Shop, week: Week, added: Week | None, pushed: tuple[str, float, Rush] | None) -> None:
    """Print the hours of the week, the ranking, and what more hours or a rush would do."""
    words = Words(shop)
    columns = ("hours a week", "there", "wanted", "used", f"one more hour, {shop.currency}")
    table = grid(f"{shop.front.name}: the best week earns {words.money(week.earned)} after cash", columns)
    for row in week.resources:
        hours = [words.number(hours, 1) for hours in (row.hours, week.asked(row.name), row.used)]
        style = "bold" if row.one_more_hour > 0.005 else ""
        table.add_row(row.name, *hours, words.amount(row.one_more_hour), style=style)
    tell(table)
    if shop.helper:
        wages = shop.helper.wages_per_y / shop.owner.weeks
        tell(
            f"Wages, booked or not, take {words.money(wages)} of it: {words.money(week.earned - wages)} left.",
            f"In the best week the helper does {week.helped_share:.0%} of what a helper may do"
            f" (your cost sheets take {shop.helper.share:.0%}).",
        )
    unused = [row for row in unused_hours(shop, week) if row.money > 0.005]
    if unused:
        told = ", ".join(f"{row.name} {words.number(row.hours, 1)} h {words.money(row.money)}" for row in unused)
        tell(f"Hours that nobody uses cost {words.money(sum(r.money for r in unused))} of that week: {told}.")
    tell(out_words(*week.runs_out_first()))
    rows = [
        (line.name, words.amount(line.per_scarce_hour), words.sig(line.wanted), words.number(line.taken, 2))
        for line in week.ranked()
    ]
    head = "Work by what an hour of what runs out first brings"
    tell(grid(head, ("work", shop.currency + "/h", "wanted", "taken on"), rows))
    if added is not None:
        more = {name: added.hours[name] - there for name, there in week.hours.items() if added.hours[name] != there}
        told = ", ".join(f"{hours:+g} h {name}" for name, hours in more.items())
        tell(f"With {told} the week earns {words.money(added.earned - week.earned)} more.")
    if pushed is not None:
        title, price, rush = pushed
        tell(
            f"Rush '{title}': it pushes out work that earns {words.money(rush.displaced)};"
            f" at {words.money(price)} it needs {words.money(rush.surcharge)} more to be worth it."
        )


def _chance(words: Words, share: float) -> str:
    return f"under {words.share(0.001)}" if share < 0.001 else words.share(share, 1)

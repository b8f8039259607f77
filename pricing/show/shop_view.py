"""Page 1 in rows and words: what an hour costs, what a change does to the list, and why; what a new part would cost."""

from collections.abc import Sequence
from typing import Any

from pricing.basis.errors import BadInput
from pricing.basis.money import yearly_capital_charge
from pricing.costing.sheet import cost
from pricing.parts.items import Item
from pricing.parts.job import job_of_item
from pricing.prices.marks import marks_of
from pricing.prices.questions import fixed_per_month
from pricing.prices.quote import quote
from pricing.shop.machines import Machine
from pricing.shop.own_prices import COLUMNS
from pricing.shop.shop import Shop
from pricing.show.blocks import Answer, Rows
from pricing.show.desk import Desk
from pricing.show.look import HOUR_COLOURS, SIDES
from pricing.show.tiles import stopped, tile, tile_number, tiles
from pricing.show.words import Words

_RANK = {part: rank for rank, part in enumerate(HOUR_COLOURS)}


def hour_rows(shop: Shop) -> dict[str, Rows]:
    """Collect what an hour of each resource costs, by what makes it."""
    words = Words(shop)
    rows: list[dict[str, Any]] = []
    sums: list[dict[str, Any]] = []
    for place, (name, parts) in enumerate(_hours(shop).items()):
        whole = sum(parts.values())
        sums.append({"title": name, "place": place, "cost": whole, "text": words.money(whole)})
        for part, cost_per_h in parts.items():
            told = f"{name}: {part} {words.money(cost_per_h)}/h of {words.money(whole)}/h"
            row = {"title": name, "place": place, "part": part, "rank": _RANK[part], "cost": round(cost_per_h, 3)}
            rows.append(row | {"why": told, "why_key": f"hour:{name}"})
    edge = 1.12 * max(float(row["cost"]) for row in sums)  # room for the words behind the longest bar
    return {"hours": rows, "sums": [row | {"edge": edge} for row in sums]}


def _hours(shop: Shop) -> dict[str, dict[str, float]]:
    owner, bills = shop.owner, shop.overhead_per_y / shop.billable_hours
    pay = owner.draw_per_y / owner.billable_hours
    found = {"owner's hour": {"pay": pay, "dues": pay * owner.on_cost, "bills": bills}}
    if shop.helper:
        wage = shop.helper.wage_per_h / shop.helper.billable
        found["helper's hour"] = {"pay": wage, "dues": wage * shop.helper.on_cost, "bills": bills}
    for machine in shop.machines.all():
        wear = (machine.yearly_cost(shop.policy.interest) - machine.upkeep_per_y) / machine.practical_hours_h
        found[machine.name] = {"wear and interest": wear, "upkeep": machine.upkeep_per_y / machine.practical_hours_h}
    return found


def item_rows(desk: Desk, shown: Sequence[str]) -> dict[str, Rows]:
    """Collect what one of some items must cost to leave the margin wanted, now and as saved."""
    words, rows = desk.words, []
    for place, key in enumerate(key for key in shown if key in desk.items):
        item, old = desk.items[key], desk.saved.items.get(key)
        for column, side in zip(("single", "two_tone"), SIDES, strict=True):
            now = _asks(desk.shop, item, column)
            before = _asks(desk.saved.shop, old, column) if old else now
            told = f"{item.title}, {side.lower()}: {words.money(now)} now, {words.money(before)} as saved"
            row = {"title": item.title, "place": place, "side": side, "why": told}
            rows.append(row | {"cost": round(now, 2), "saved": round(before, 2)})
    return {"items": rows}


def _asks(shop: Shop, item: Item, column: str) -> float:
    return float(marks_of(cost(shop, job_of_item(item, column=column))).target)


def shop_tiles(shop: Shop) -> str:
    """Write the tiles of the page."""
    words, rates = Words(shop), shop.hour_rates
    both = rates["owner"] + rates["overhead"]
    guesses = sum(row.kind == "guess" for row in shop.uncertain.values())
    return tiles(
        [
            tile(
                "Your hour must bring",
                tile_number(words.money(both), "must"),
                "machines and powder extra",
                style="main",
            ),
            tile("Your hour costs", tile_number(words.money(rates["owner"]), "owner"), "pay and dues"),
            tile("Of it the bills", tile_number(words.money(rates["overhead"]), "overhead"), "rent, insurance, van …"),
            tile(
                "Hours booked on jobs",
                tile_number(f"{words.sig(shop.billable_hours)} h", "booked"),
                "a year, with the helper" if shop.helper else "a year",
            ),
            tile(
                "A month costs",
                tile_number(words.money(fixed_per_month(shop), cents=False), "month"),
                "before a job comes in",
            ),
            tile("Of the numbers guesses", f"{guesses} of {len(shop.uncertain)}", "time one, change its row"),
        ]
    )


def shop_answer(shop: Shop, key: str) -> Answer | None:
    """Return the sum behind a number of the page."""
    kind, _, name = key.partition(":")
    words, owner = Words(shop), shop.owner
    hours = (
        f"{words.sig(owner.weeks)} weeks × {words.sig(owner.hours_per_week_h)} h × {owner.billable:.0%} booked on jobs"
        f" = {words.sig(owner.billable_hours)} h a year"
    )
    pay = (
        f"{words.money(owner.draw_per_y)} a year + {owner.on_cost:.0%} dues = "
        f"{words.money(owner.draw_per_y * (1 + owner.on_cost))}, ÷ {words.sig(owner.billable_hours)} h"
        f" = {words.money(shop.hour_rates['owner'])}/h"
    )
    bills = [f"{bill.name}: {words.money(bill.cost_per_y)} a year" for bill in shop.fixed]
    over = (
        f"together {words.money(shop.overhead_per_y)} ÷ {words.sig(shop.billable_hours)} h booked on jobs"
        f" = {words.money(shop.hour_rates['overhead'])}/h"
    )
    booked = [hours]
    if shop.helper:
        h = shop.helper
        booked.append(
            f"helper: {words.sig(h.weeks)} weeks × {words.sig(h.hours_per_week_h)} h × {h.billable:.0%}"
            f" = {words.sig(h.billable_hours)} h"
        )
    match kind:
        case "must":
            both = shop.hour_rates["owner"] + shop.hour_rates["overhead"]
            return Answer(f"{words.money(both)} an hour", [hours, pay, *bills, over])
        case "owner":
            return Answer(f"{words.money(shop.hour_rates['owner'])} an hour", [hours, pay])
        case "overhead":
            return Answer(f"{words.money(shop.hour_rates['overhead'])} an hour", [*bills, over])
        case "booked":
            return Answer(f"{words.sig(shop.billable_hours)} h booked on jobs", booked)
        case "month":
            machines = sum(m.yearly_cost(shop.policy.interest) for m in shop.machines.all())
            wages = shop.helper.wages_per_y if shop.helper else 0.0
            lines = [
                f"you: {words.money(owner.draw_per_y * (1 + owner.on_cost))} a year with dues",
                f"bills: {words.money(shop.overhead_per_y)} a year",
                f"wages: {words.money(wages)} a year, booked or not",
                f"machines: {words.money(machines)} a year, wear, interest and upkeep",
                "÷ 12",
            ]
            return Answer(f"{words.money(fixed_per_month(shop))} a month", lines)
        case "hour":
            return _hour(shop, name, pay, over)
    return None


def _hour(shop: Shop, name: str, pay: str, over: str) -> Answer | None:
    words = Words(shop)
    if name == "owner's hour":
        return Answer(name, [pay, over])
    if name == "helper's hour" and shop.helper:
        h = shop.helper
        line = (
            f"{words.money(h.wage_per_h)} × (1 + {h.on_cost:.0%} dues) ÷ {h.billable:.0%} booked on jobs"
            f" = {words.money(h.cost_per_h)}/h"
        )
        return Answer(name, [line, over])
    machine = next((m for m in shop.machines.all() if m.name == name), None)
    return Answer(name, _machine(shop, machine)) if machine else None


def _machine(shop: Shop, machine: Machine) -> list[str]:
    words, interest = Words(shop), shop.policy.interest
    charge = yearly_capital_charge(machine.price, salvage=machine.salvage, rate_per_y=interest, years=machine.life_y)
    return [
        (
            f"bought for {words.money(machine.price)}, worth {words.money(machine.salvage)} after"
            f" {words.sig(machine.life_y)} years,"
            f" at {interest:.0%} interest: {words.money(float(charge))} a year"
        ),
        f"upkeep {words.money(machine.upkeep_per_y)} a year",
        (
            f"÷ {words.sig(machine.practical_hours_h)} h it is really in use"
            f" = {words.money(machine.hour_rate(interest))}/h"
        ),
        "energy comes on top, job by job",
    ]


def part_tiles(shop: Shop, item: Item) -> str:
    """Write area, mass, edges, border and how it hangs."""
    words, part = Words(shop), item.part
    sizes = (words.measure(mm, "mm") for mm in (part.height_mm, part.depth_mm))
    return tiles(
        [
            tile("Area coated", tile_number(words.measure(part.area_m2, "m**2")), "all faces"),
            tile("Mass", tile_number(words.measure(part.mass_kg, "kg")), part.material),
            tile("Edges to sand", tile_number(words.measure(part.edge_m, "m")), "every arris"),
            tile("Border of two colours", tile_number(words.measure(part.line_m, "m")), "round the face"),
            tile(
                "Takes of the rail", tile_number(words.measure(part.width_mm, "mm")), f"{' down, '.join(sizes)} across"
            ),
        ]
    )


def part_prices(shop: Shop, item: Item) -> str:
    """Write the prices of one and of ten, single-tone and two-tone, by the rule that every price follows."""
    words, shown = Words(shop), []
    for column, title in zip(COLUMNS, ("Single-tone", "Two-tone"), strict=True):
        finish = shop.finishes[getattr(item, column)].title
        try:
            one = quote(shop, job_of_item(item, column=column))
            ten = quote(shop, job_of_item(item, units=10, column=column))
        except BadInput as why:
            shown.append(stopped([str(problem) for problem in why.problems], title=f"{title}: no price"))
            continue
        if one.refused:
            shown.append(stopped(one.refused, title=f"{title}: do not quote"))
            continue
        told = f"{finish}; ten of them {words.money(ten.net)}" if not ten.refused else finish
        shown.append(tile(f"{title}, one", tile_number(words.money(one.net)), told, style="main"))
    return tiles(shown)

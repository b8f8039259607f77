"""The sum behind a number, in words with units, in the shop's money and measures.

Room     show. Imports basis, costing, shop, steps.
"""

from dataclasses import dataclass

from pricing.basis.checks import Floats
from pricing.basis.money import show_amount, show_money, show_rate
from pricing.basis.units import readable, shown, sig
from pricing.costing.lines import Line
from pricing.costing.sheet import LEFTOVER, REDO, RESPRAY, CostSheet
from pricing.shop.folder import known_steps
from pricing.shop.rates import DRIVERS
from pricing.shop.shop import Shop
from pricing.steps.route import STEPS
from pricing.steps.step import Term, Use

LOOPS = {
    RESPRAY: "Spoiled before cure: blow off, spray and wipe again",
    REDO: "Rejects after cure: strip and start again",
    LEFTOVER: "Powder left in the pack",
}
"""Titles of the lines that are no step of the route."""

_DRIVER = {"m2": "area", "edge_m": "edge", "line_m": "line", "tape_m": "tape", "kg": "mass"}
_ORDINAL = {1: "first coat", 2: "second coat", 3: "third coat", 4: "fourth coat"}


@dataclass(frozen=True, slots=True)
class Words:
    """How a shop writes money and measures."""

    shop: Shop

    def money(self, value: float, *, cents: bool = True) -> str:
        """Write money in the shop's currency and locale."""
        return show_money(float(value), self.shop.currency, self.shop.front.locale, cents=cents)

    def rate(self, value: float) -> str:
        """Write a price per unit, with digits enough to reckon with it."""
        return show_rate(float(value), self.shop.currency, self.shop.front.locale)

    def amount(self, value: Floats) -> str:
        """Write money without its sign, under a head that names the currency."""
        return show_amount(float(value), self.shop.currency, self.shop.front.locale)

    def measure(self, value: float, unit: str) -> str:
        """Write a value of the model in the shop's units."""
        if unit.startswith("money/"):
            at = shown(float(value), unit, self.shop.front.units)
            per = readable(at.unit.removeprefix("money/"))
            return f"{self.rate(at.value)}/{per}"
        return str(shown(float(value), unit, self.shop.front.units))

    def title(self, line: Line) -> str:
        """Name a line as people read it."""
        return self.step_title(line.step, line.coat if line.step not in LOOPS else 0)

    def step_title(self, step: str, coat: int = 0) -> str:
        """Name a step, with its coat where it has one."""
        title = LOOPS.get(step) or known_steps()[step].title
        return f"{title}, {_ORDINAL.get(coat, f'coat {coat}')}" if coat else title


def counted(count: int, one: str = "piece", many: str = "pieces") -> str:
    """Count things in words that agree.

    >>> counted(1), counted(9)
    ('1 piece', '9 pieces')
    """
    return f"{count} {one if count == 1 else many}"


def place(line: Line) -> tuple[int, int, int]:
    """Give a line's place in the order of the work, the same for every finish."""
    if line.step in LOOPS:
        return (3, 0, list(LOOPS).index(line.step))
    at = _PLACES[line.step]
    if line.coat:
        return (1, line.coat, at)
    return (2 if at > _PLACES["full_cure"] else 0, 0, at)


_PLACES = {step.key: at for at, step in enumerate(STEPS)}


def cautions(sheet: CostSheet) -> list[tuple[str, str]]:
    """Give the usual cautions of a job's steps, each once: (title, text)."""
    steps = known_steps()
    seen: dict[str, str] = {}
    for line in sheet.lines:
        if line.step in steps and steps[line.step].caution:
            seen.setdefault(steps[line.step].title, steps[line.step].caution)
    return list(seen.items())


def why(sheet: CostSheet, line: Line) -> list[str]:
    """Give the sum behind a line, one sentence a row.

    Parameters
    ----------
    sheet : CostSheet
        Of one job (floats, not arrays).
    line : Line
        One of its lines.

    Returns
    -------
    list of str
        Minutes first, then what they cost, then materials, energy, machines; last how well it is known.
    """
    words = Words(sheet.shop)
    rows: list[str] = []
    for use in line.uses:
        if len(line.uses) > 1 and (use.minutes or use.materials or use.bought_in):
            rows.append(f"{words.step_title(use.step, use.coat) if use.step != LEFTOVER else LOOPS[LEFTOVER]}:")
        rows += _use(use, sheet, words, "  " if len(line.uses) > 1 else "")
    rows += _money(line, sheet, words)
    rows.append(_known(sheet, line))
    return rows


def _term(term: Term, sheet: CostSheet, words: Words) -> str:
    per = DRIVERS[term.driver] or term.driver
    amount = words.measure(float(term.amount), per) if per != term.driver else _counted(float(term.amount), term.driver)
    unit = f"{'money' if term.gives == 'supplies' else 'min'}/{per}"
    rate = words.measure(float(term.rate), unit)
    result = float(term.amount * term.rate)
    total = words.money(result) if term.gives == "supplies" else f"{sig(result)} min"
    what = _DRIVER.get(term.driver, "")
    kind = sheet.shop.kind_of(term.key)
    return f"{what + ' ' if what else ''}{amount} × {rate} = {total} ({kind})"


def _counted(amount: float, driver: str) -> str:
    plural = driver if abs(float(amount) - 1) < 1e-9 else {"enquiry": "enquiries"}.get(driver, f"{driver}s")
    return f"{sig(float(amount))} {plural}"


def _use(use: Use, sheet: CostSheet, words: Words, indent: str) -> list[str]:
    rows = [indent + _term(term, sheet, words) for term in use.terms]
    rest = float(sheet.book["rest.allowance"])
    if use.minutes:
        rows.append(f"{indent}with {rest:.0%} for rest and small delays: {sig(float(use.minutes))} min attended")
    detail = {key: float(value) for key, value in use.detail.items()}
    if "film_um" in detail:
        rows.append(
            f"{indent}powder: {words.measure(detail['area_m2'], 'm**2')} × {words.measure(detail['film_um'], 'um')}"
            f" × density ÷ {detail['utilisation']:.0%} utilisation"
        )
    if "loads" in detail:
        metal = words.measure(detail["metal_degC"], "degC")
        rows.append(
            f"{indent}oven: {sig(detail['loads'])} loads paid × ({sig(detail['bring_up_min'])} min until the heaviest"
            f" section is at {metal} + {sig(detail['dwell_min'])} min there)"
        )
        heat = {key.removeprefix("kWh "): value for key, value in detail.items() if key.startswith("kWh ")}
        rows.append(f"{indent}heat in kWh: {', '.join(f'{word} {sig(kwh)}' for word, kwh in heat.items() if kwh)}")
    if detail.get("waiting_min", 0.0) > 0:
        bar = words.measure(detail["nozzle_bar"], "bar")
        rows.append(f"{indent}the compressor holds {bar} and is the limit: {sig(detail['waiting_min'])} min longer")
    if "trips" in detail:
        rows.append(f"{indent}sent out: {words.measure(detail['kg'], 'kg')} and {sig(detail['trips'])} trips")
    for material in use.materials:
        cost = float(material.kg * material.price_per_kg)
        price = words.measure(float(material.price_per_kg), "money/kg")
        kg = words.measure(float(material.kg), "kg")
        rows.append(f"{indent}{material.name}: {kg} × {price} = {words.money(cost)}")
    return rows


def _money(line: Line, sheet: CostSheet, words: Words) -> list[str]:
    book, rows = sheet.book, []
    owner, helper = float(line.owner_min), float(line.helper_min)
    hour = {name: words.rate(float(book[f"hour.{name}"])) for name in ("owner", "helper", "overhead")}
    if owner:
        rows.append(f"owner {sig(owner, 4)} min × {hour['owner']}/h = {words.money(float(line.labour))}")
    if helper:
        wage = helper / 60 * float(book["hour.helper"])
        rows.append(f"helper {sig(helper, 4)} min × {hour['helper']}/h = {words.money(wage)}")
    if line.minutes:
        rows.append(
            f"overhead {sig(float(line.minutes), 4)} min × {hour['overhead']}/h = {words.money(float(line.overhead))}"
        )
    for machine, held in line.machine_min.items():
        rate = float(book[f"hour.{machine}"])
        if held:
            cost = words.money(float(held) * rate / 60)
            rows.append(f"{machine} {sig(float(held), 4)} min × {words.rate(rate)}/h = {cost}")
    for carrier in ("electricity", "gas"):
        kwh = float(getattr(line, f"{carrier}_kwh"))
        if kwh:
            tariff = float(book[f"tariff.{carrier}"])
            rows.append(f"{carrier} {sig(kwh, 4)} kWh × {words.rate(tariff)}/kWh = {words.money(kwh * tariff)}")
    if line.bought_in:
        rows.append(f"bought in: {words.money(float(line.bought_in))}")
    kinds = ", ".join(
        f"{kind} {words.money(float(getattr(line, kind)))}" for kind in ("cash", "labour", "machines", "overhead")
    )
    rows.append(f"together {words.money(float(line.total))}: {kinds}")
    return rows


def _known(sheet: CostSheet, line: Line) -> str:
    kind = sheet.kind(line)
    weak = sorted(key for key in line.used() if sheet.shop.kind_of(key) == kind)
    if not weak or kind == "measured":
        return "known: measured in the shop"
    named = ", ".join(weak[:6]) + (f" and {len(weak) - 6} more" if len(weak) > 6 else "")
    return f"known: {kind}, because of {named}"

"""Money, measures and steps in words, as a shop writes them.

Room     show. Imports basis, costing, shop, steps.
"""

from dataclasses import dataclass

from pricing.basis.money import show_money
from pricing.basis.units import readable, shown
from pricing.costing.lines import Line
from pricing.costing.sheet import LEFTOVER, REDO, RESPRAY, CostSheet
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.steps.route import STEPS

LOOPS = {
    RESPRAY: "Spoiled before cure: blow off, spray and wipe again",
    REDO: "Rejects after cure: strip and start again",
    LEFTOVER: "Powder left in the pack",
}
"""Titles of the lines that are no step of the route."""

_ORDINAL = {1: "first coat", 2: "second coat", 3: "third coat", 4: "fourth coat"}


@dataclass(frozen=True, slots=True)
class Words:
    """How a shop writes money and measures."""

    shop: Shop

    def money(self, value: float, *, cents: bool = True) -> str:
        """Write money in the shop's currency and locale."""
        return show_money(float(value), self.shop.currency, self.shop.front.locale, cents=cents)

    def rate(self, value: float) -> str:
        """Write a price per unit; below one unit of money with three digits, as tariffs are printed."""
        text = self.money(value)
        if 0 < value < 1:
            cents = self.money(round(value, 2))
            exact = f"{value:.3f}".rstrip("0")
            return text if abs(value - round(value, 2)) < 5e-5 else cents.replace(f"{round(value, 2):.2f}", exact)
        return text

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

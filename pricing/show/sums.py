"""The sum behind a line of a cost sheet, written from the graph of the model's own sums: numbers with their units.

Takes    a cost sheet; its functions are run again on symbols that know what they are called.
Gives    rows such as ``line 24.3 m × 2.5 min/m = 60.8 min``. No rule of the model stands here: what is multiplied
         with what is read off the graph, as the spreadsheet's formulas are.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from functools import lru_cache
from typing import Any

import numpy as np

from pricing.basis.identity import Same
from pricing.costing.graph import WHOLE, Graph, Script, Symbol, SymbolBook, Value, brief, inside, where
from pricing.costing.lines import MONEY, Line
from pricing.costing.sheet import CostSheet, cost_of_work
from pricing.costing.walk import LEFTOVER
from pricing.parts.work import Work
from pricing.shop.rates import DRIVERS
from pricing.shop.shop import Shop
from pricing.show.labels import short, short_with_unit
from pricing.show.words import LOOP_WORDS, Words
from pricing.steps.blast import blast_rate_of
from pricing.steps.oven_visit import VisitAsked
from pricing.steps.step import Term, Use

_SIGNS = {
    np.add: (" + ", 2),
    np.subtract: (" − ", 2),
    np.multiply: (" × ", 3),
    np.divide: (" ÷ ", 3),
    np.power: (" ^ ", 4),
}
_CALLS = {
    np.maximum: ("the larger of {0} and {1}", 1),
    np.minimum: ("the smaller of {0} and {1}", 1),
    np.ceil: ("({0}) rounded up", WHOLE),
}
_UNITS_SAY_SO = frozenset([1e-3])  # m² × µm × g/cm³ are grams
_MEASURES = {"m2": "m**2", "edge_m": "m", "line_m": "m", "kg": "kg"}
_CALLED = {
    "m2": "area",
    "second_m2": "area of the second colour",
    "edge_m": "edge",
    "line_m": "line",
    "kg": "mass",
    "scale_m2": "area with scale or rust",
    "cast_m2": "area of castings",
    "cast_kg": "mass of castings",
}
_COUNTS = ("parts", "spots", "plugs", "apart")
_WRITTEN_AS_THEY_ARE = {"kWh": "kWh", "kWh/kg": "kWh/kg", "kW": "kW", "g/cm**3": "g/cm³"}
_OFTEN = 3
_DIGITS = 4  # a product of two such numbers is right to the third digit when it is worked out again


class _Settled(Graph):
    """A graph for numbers as they stand: of a choice, it keeps what was chosen."""

    def made(self, op: Callable[..., Any], inputs: Sequence[Any]) -> Value:
        chosen: Value
        if op is where:
            chosen = inputs[1] if sum_number(inputs[0]) else inputs[2]
        elif op is np.maximum and any(not isinstance(value, Symbol) and value == 0.0 for value in inputs):
            chosen = max(inputs, key=sum_number)
        else:
            chosen = super().made(op, inputs)
        return chosen


class Sums:
    """The cost sheet of one job (floats, not arrays) on symbols, and what of it was told; each figure is told once."""

    def __init__(self, sheet: CostSheet) -> None:
        self.words, self._graph = Words(sheet.shop), _Settled()
        self._constants: dict[float, str] = {}
        self._hand = Script(_SIGNS, _CALLS, self._constant, self._seen, _UNITS_SAY_SO)
        powders = [
            powder.model_copy(
                update={"density_g_per_cm3": self._number(powder.density_g_per_cm3, "g/cm**3", "density")}
            )
            for powder in sheet.powders
        ]
        self.sheet = cost_of_work(
            self._named_machines(sheet.shop),
            self._work(sheet.work),
            sheet.finish,
            powders,
            title=sheet.title,
            book=_Book(self._graph, sheet, self._number),  # type: ignore[arg-type]  # symbols
            in_oven=True,
        )

        self._uses = Counter(part.at for node in self._graph.nodes for part in node.inputs if isinstance(part, Symbol))

    def _named_machines(self, shop: Shop) -> Shop:
        """Put names to what the machines of the shop draw; what a compressor takes is known by its value alone."""
        machines = shop.machines
        fans = {
            name: {"fan_kw": self._number(one.fan_kw, "kW", f"fan of the {one.name}")}
            for name, one in (("booth", machines.booth), ("cabinet", machines.cabinet))
        }
        fans["cabinet"]["air_on"] = self._number(machines.cabinet.air_on, "share", "nozzle open")
        drawn_kw = float(blast_rate_of(machines.cabinet, machines.compressor, shop.front.air_degC).electric_kW)
        self._constants[drawn_kw] = f"{machines.compressor.name} {self.words.sig(drawn_kw, _DIGITS)} kW"
        named = {name: getattr(machines, name).model_copy(update=update) for name, update in fans.items()}
        return replace(shop, machines=machines.model_copy(update=named))

    def tell(self, label: str, figure: Any, text: str) -> list[str]:
        """Tell a figure, once: its label, the sum behind it, and what it comes to; it is called by that from now on.

        Gives one row after those of the sums inside it, or none where there is nothing to tell.
        """
        if not isinstance(figure, Symbol) or figure.op is None or figure.place is not None:
            return []
        rows = [row for part in self._parts(figure) for row in self.tell("", part, self.words.sig(part.value))]
        told = f"{label}{self._hand.written(figure)} = {text}"
        figure.place = text
        return [*rows, told]

    def _parts(self, figure: Symbol) -> list[Symbol]:
        """Sums inside a figure that stand in several others: they are told by themselves, the innermost first."""
        return [part for part in inside(figure) if self._uses[part.at] >= _OFTEN and not brief(part)]

    def term(self, term: Term) -> list[str]:
        """Tell a product of a rate, after its amount where that is a sum itself."""
        words, per = self.words, DRIVERS[term.driver] or term.driver
        amount, money = sum_number(term.amount), term.gives == "supplies"
        text = _counted(words, amount, term.driver) if per == term.driver else words.measure(amount, per, _DIGITS)
        rows = self.tell("", term.amount, text)
        result = amount * sum_number(term.rate)
        told = words.money(result) if money else f"{words.sig(result, _DIGITS)} min"
        called = _CALLED.get(term.driver, "tape" if term.driver == "tape_m" else "")
        shown = getattr(term.amount, "place", None) or text
        label = shown if shown.startswith(called) else f"{called} {shown}"
        rate = words.measure(sum_number(term.rate), f"{'money' if money else 'min'}/{per}", _DIGITS)
        product: Any = term.amount * term.rate
        if isinstance(product, Symbol):
            product.place = told
        return [*rows, f"{label} × {rate} = {told} ({self.sheet.shop.kind_of(term.key)})"]

    def line(self, name: str) -> Line:
        """Return a line on symbols, with nothing told yet."""
        for node in self._graph.nodes:
            if node.op is not None:
                node.place = None
        return next(line for line in self.sheet.lines if line.id == name)

    def per_min(self, name: str) -> Any:
        """Return what a minute of somebody or something costs; it is called by the price of its hour. [money/min]"""
        hour: Any = self.sheet.book[f"hour.{name}"]
        per_min: Any = hour / 60.0
        if isinstance(per_min, Symbol):
            per_min.place = f"{self.words.rate(sum_number(hour))}/h"
        return per_min

    def _constant(self, value: float) -> str:
        return self._constants.get(value) or self.words.sig(value)

    def _seen(self, symbol: Symbol) -> str | None:
        if symbol.place is None and symbol.op is None:
            symbol.place = self._called(symbol.name, symbol.value)
        found: str | None = symbol.place
        return found

    def _called(self, key: str, value: float) -> str:
        """Name a number of the book with its value and unit."""
        words, kind = self.words, key.split(".", maxsplit=1)[0]
        if kind in {"hour", "tariff", "price"}:
            return words.measure(value, {"hour": "money/h", "tariff": "money/kWh", "price": "money/kg"}[kind])
        row = words.shop.uncertain.get(key)
        match "share" if row is None else row.unit:
            case "share":
                text = f"{words.sig(100 * value)}%"
            case "number":
                text = words.sig(value)
            case unit:
                text = words.measure(value, unit)
        name = short(words.shop, key)
        return f"{name[:1].lower()}{name[1:]} {text}"

    def _number(self, value: float, unit: str, called: str = "") -> Symbol:
        found = self._graph.number(value)
        if unit == "share":
            text = self.words.share(value)
        elif plain := _WRITTEN_AS_THEY_ARE.get(unit):
            text = f"{self.words.sig(value, _DIGITS)} {plain}"
        else:
            text = self.words.measure(value, unit, _DIGITS)
        found.place = f"{called} {text}".strip()
        return found

    def _work(self, work: Work) -> Work:
        """Put names and units to the amounts of a job."""

        def lifted(name: str, amount: Any) -> Any:
            if not isinstance(amount, float) or not amount:
                return amount
            end = next((end for end in _MEASURES if name.endswith(end)), "")
            if end:
                return self._number(amount, _MEASURES[end], _CALLED.get(name, _CALLED[end]))
            found = self._graph.number(amount)
            found.place = _counted(self.words, amount, name if name in {"spots", "plugs"} else "parts")
            return found

        changed: dict[str, Any] = {}
        for name in (one.name for one in fields(Work) if one.name.endswith((*_MEASURES, *_COUNTS))):
            value = getattr(work, name)
            many = isinstance(value, dict)
            changed[name] = {key: lifted(name, one) for key, one in value.items()} if many else lifted(name, value)
        return replace(work, **changed, fates=tuple(self._work(sort) for sort in work.fates))


class _Book(SymbolBook):
    """The book of a sheet as symbols, and the figures of its oven visits as well."""

    def __init__(self, graph: Graph, sheet: CostSheet, number: Callable[[float, str], Symbol]) -> None:
        super().__init__(graph, sheet.book, lambda key: key in sheet.book)
        self._number, self._visits = number, dict[Any, VisitAsked]()

    def lift(self, key: Any, visit: VisitAsked) -> VisitAsked:
        """Return a visit on symbols."""
        if key not in self._visits:
            self._visits[key] = visit.shown_as(self._number)
        return self._visits[key]


def sum_number(value: Any) -> float:
    """Work out what a symbol or a number comes to."""
    return float(value.value if isinstance(value, Symbol) else value)


@lru_cache(maxsize=4)
def _sums(sheet: Same[CostSheet]) -> Sums:
    """All lines of a sheet are told from one run."""
    return Sums(sheet.thing)


def why(sheet: CostSheet, line: Line | str) -> list[str]:
    """Tell the sum behind a line of one job's sheet (floats, not arrays), or its key ``"wipe.2"``: a sentence a row.

    Minutes first, then materials and energy, then what they cost; last how well it is known.
    """
    line = sheet.line(line) if isinstance(line, str) else line
    sums = _sums(Same(sheet))
    found = sums.line(line.id)
    rows: list[str] = []
    several = len(found.uses) > 1
    for use in found.uses:
        told = _use(use, sums)
        if several and told:
            title = LOOP_WORDS[LEFTOVER] if use.step == LEFTOVER else sums.words.step_title(use.step, use.coat)
            rows += [f"{title}:", *(f"  {row}" for row in told)]
        else:
            rows += told
    return [*rows, *_money(found, sums), _known(sheet, line)]


def _use(use: Use, sums: Sums) -> list[str]:
    words = sums.words
    rows = [row for term in use.terms for row in sums.term(term)]
    rows += sums.tell("attended: ", use.minutes, f"{words.sig(sum_number(use.minutes), _DIGITS)} min")
    detail = {key: sum_number(value) for key, value in use.detail.items()}
    if detail.get("waiting_min", 0.0) > 0:
        bar = words.measure(detail["nozzle_bar"], "bar")
        waiting = words.sig(detail["waiting_min"])
        rows.append(f"the compressor holds {bar} and is the limit: {waiting} min of it are waiting")
    if "loads" in detail:
        metal, heated = words.measure(detail["metal_degC"], "degC"), words.sig(detail["bring_up_min"])
        rows += sums.tell(f"until the heaviest section is at {metal}: ", use.detail["bring_up_min"], f"{heated} min")
        rows.append(f"then {words.sig(detail['dwell_min'])} min at {metal}")
        heat = {key.removeprefix("kWh "): value for key, value in detail.items() if key.startswith("kWh ")}
        rows.append(f"heat in kWh: {', '.join(f'{word} {words.sig(kwh)}' for word, kwh in heat.items() if kwh)}")
    for material in use.materials:
        cost: Any = material.kg * material.price_per_kg
        rows += sums.tell(f"{material.name}: ", material.kg, words.measure(sum_number(material.kg), "kg"))
        rows += sums.tell(f"{material.name}: ", cost, words.money(sum_number(cost)))
    for carrier, kwh in (("electricity", use.electricity_kwh), ("gas", use.gas_kwh)):
        rows += sums.tell(f"{carrier}: ", kwh, f"{words.sig(sum_number(kwh), _DIGITS)} kWh")
    return rows + sums.tell("bought in: ", use.bought_in, words.money(sum_number(use.bought_in)))


def _money(line: Line, sums: Sums) -> list[str]:
    words, book = sums.words, sums.sheet.book
    rows: list[str] = []
    hours = {"helper": line.helper_min, "owner": line.owner_min, "overhead": line.minutes}
    for name, held in (hours | line.machine_min).items():
        rows += sums.tell(f"{name}: ", held, f"{words.sig(sum_number(held), _DIGITS)} min")
        cost: Any = held * sums.per_min(name)
        rows += sums.tell(f"{name} ", cost, words.money(sum_number(cost)))
    for carrier, kwh in (("electricity", line.electricity_kwh), ("gas", line.gas_kwh)):
        rows += sums.tell(f"{carrier}: ", kwh, f"{words.sig(sum_number(kwh), _DIGITS)} kWh")
        cost = kwh * book[f"tariff.{carrier}"]
        rows += sums.tell(f"{carrier} ", cost, words.money(sum_number(cost)))
    for kind in MONEY:
        figure: Any = getattr(line, kind)
        rows += sums.tell(f"{kind}: ", figure, words.money(sum_number(figure)))
        if isinstance(figure, Symbol):
            figure.place = f"{kind} {words.money(sum_number(figure))}"
    told = words.money(sum_number(line.total))
    return rows + (sums.tell("together: ", line.total, told) or [f"together: {told}"])


def _known(sheet: CostSheet, line: Line) -> str:
    kind = sheet.kind(line)
    weak = sorted(key for key in line.used() if sheet.shop.kind_of(key) == kind)
    if not weak or kind == "measured":
        return "known: measured in the shop"
    weak = list(dict.fromkeys(short_with_unit(sheet.shop, key) for key in weak))
    named = "; ".join(weak[:6]) + (f" and {len(weak) - 6} more" if len(weak) > 6 else "")
    return f"known: {kind}, because of {named}"


def _counted(words: Words, amount: float, driver: str) -> str:
    one = driver.removesuffix("s") if driver in {"parts", "spots", "plugs"} else driver
    many = {"enquiry": "enquiries"}.get(one, f"{one}s")
    return f"{words.sig(amount)} {one if abs(amount - 1) < 1e-9 else many}"

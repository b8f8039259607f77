"""Constants of physics and trade behind a summary, in words: a formula is one row, not a row for each coefficient."""

from collections.abc import Iterator
from typing import NamedTuple

from pricing.basis.facts import Fact, facts
from pricing.basis.units import System, readable, shown

_NOT_OF_PRICES = {"drawing", "ledger", "fit", "photo"}  # limits of readers, of fits and of pictures
_MODEL_UNIT = {"millimeter": "mm", "micrometer": "um"}
_WORDS = {
    "cp": "specific heat",
    "co2": "carbon dioxide",
    "h2o": "water vapour",
    "o2": "oxygen",
    "n2": "nitrogen",
    "stainless": "stainless steel",
    "gross": "heat of burning, gross",
    "latent": "heat of evaporation",
    "air_film": "heat passed on by its air",
    "inside_film": "heat passed on inside",
    "outside_film": "heat passed on outside",
    "bridging": "heat bridges, times clean insulation",
    "skin": "steel skin inside",
    "conductivity_slope": "conductivity, rise a degree",
    "reach_12_in_b": "reach 12 in, case B",
    "grasp_1a": "grasp, case 1A",
    "move_12_in_c": "move 12 in, case C",
    "move_10_in_b": "move 10 in, case B",
    "kind_df": "spread between kinds of work, degrees of freedom",
    "356": "aluminium 356",
    "6061": "aluminium 6061",
    "burnoff": "burn-off oven",
    "cast_356_t6": "aluminium 356-T6, cast",
}
_IN_FULL = 1e4  # from here on whole numbers read better than powers of ten
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


class Constant(NamedTuple):
    """One constant as it is printed."""

    what: str
    value: str
    source: str


def constants(units: System) -> list[Constant]:
    """Collect the constants that prices rest on, each with its bounds, how well it is known, and whence.

    Parameters
    ----------
    units : {'metric', 'us'}
        What the shop thinks in; formulas stay as their source prints them.
    """
    return [Constant(_name(fact), _value(fact, units), _source(fact)) for fact in _used()]


def _used() -> Iterator[Fact]:
    for fact in facts().values():
        words = fact.name.split(".")
        inside_formula = words[-1] in {"c1", "c2", "c3"} or f"{'.'.join(words[:-1])}.c0" in facts()
        if words[0] not in _NOT_OF_PRICES and (words[-1] == "c0" or not inside_formula):
            yield fact


def _name(fact: Fact) -> str:
    words = [_WORDS.get(word, word.replace("_", " ")) for word in fact.name.removesuffix(".c0").split(".")]
    text = ", ".join(words)
    if fact.name == "door.film":
        text = "door, heat lost through it when open"
    return text[:1].upper() + text[1:]


def _value(fact: Fact, units: System) -> str:
    if fact.name.endswith(".c0"):
        return _formula(fact)
    value, unit = _shown(fact.value, fact.unit, units)
    ends = [_shown(end, fact.unit, units)[0] for end in (fact.low, fact.high)]
    bounds = f" ({ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
    return f"{value}{bounds} {unit}".strip()


def _formula(first: Fact) -> str:
    """Write a polynomial of the temperature with its unit and its end."""
    stem, known = first.name.removesuffix("c0"), facts()
    bounds = f" ({_figure(first.low)} to {_figure(first.high)})" if first.low != first.high else ""
    text = _figure(first.value) + bounds
    for power, by in ((1, "T"), (2, "T²"), (3, "T³")):
        more = known.get(f"{stem}c{power}")
        if more is not None:
            text += f" {'−' if more.value < 0 else '+'} {_figure(abs(more.value))} {by}"
    text += f" {readable(first.unit)}"
    if f"{stem}c1" in known:
        text += "; T in °C"
    end = known.get(f"{stem}to")
    return f"{text}, up to {end.value:g} °C" if end else text


def _figure(value: float) -> str:
    text = f"{value:.4g}"
    if "e" not in text:
        return text
    head, power = text.split("e")
    return f"{head} × 10{str(int(power)).translate(_RAISED)}"


def _shown(value: float, unit: str, units: System) -> tuple[str, str]:
    if unit in {"dimensionless", ""}:
        return _figure(value), ""
    at = shown(value, _MODEL_UNIT.get(unit, unit), units)
    return (f"{at.value:.0f}" if abs(at.value) >= _IN_FULL else _figure(at.value)), readable(at.unit)


def _source(fact: Fact) -> str:
    told = f"{fact.source.kind}: {fact.source.title}"
    return "; ".join([told + (f", {fact.where}" if fact.where else ""), *([fact.note] if fact.note else [])])

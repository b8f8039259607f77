"""Quantities as people write them, in and out; the only room that knows pint.

Takes    a number and its unit: 12 ``ft``, 2.5 ``mil``, 390 ``°F``, 0.31 ``EUR/kWh``.
Gives    a plain float in the unit asked for; a text in metric or US units on the way out.
Rules    film in mil is a thou (pint's own ``mil`` is an angle). A level of temperature and a rise of temperature are
         two things. How a text is taken apart is the business of ``typed``.
Files    ``units.txt`` defines the units; ``usual_units.csv`` keeps what pint makes of the conversions that nearly
         every shop asks for, so that a quote starts without pint (tests hold each row against it).
"""

import csv
import re
import sys
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pricing.basis.errors import nearest, shorten

if TYPE_CHECKING:
    from pint import UnitRegistry

System = Literal["metric", "us"]

COUNT_UNITS = ("job", "enquiry", "load", "colour", "coat", "part", "spot", "plug", "panel", "scar", "set", "visit")
"""Things counted; each is a dimension of its own, so that min/part is never read as min/job."""

_POWER = re.compile(r"\b(mm|cm|dm|m|ft|in|yd)([23])\b")
_WORDS = {
    "mil": "thou",
    "mils": "thou",
    "lbs": "lb",
    "sqft": "ft**2",
    "sqm": "m**2",
    "F": "degF",
    "C": "degC",
    "hr": "h",
    "hrs": "h",
    "mins": "min",
    "kwh": "kWh",
    "KWH": "kWh",
    "pcs": "part",
    "parts": "part",
    "mo": "month",
    "wk": "week",
    "wks": "week",
    "Kg": "kg",
    "KG": "kg",
    "kgs": "kg",
    "kw": "kW",
    "KW": "kW",
    "sqin": "in**2",
}
_SIGNS = str.maketrans({"∆": "delta_", "°": "deg", "μ": "µ", "·": "*", "²": "2", "³": "3"})
_WORD = re.compile(r"[A-Za-z]+")


class _Line(NamedTuple):
    """``value in target = scale x number + offset``."""

    scale: float
    offset: float


_SAME = _Line(1.0, 0.0)


def _pint() -> Any:
    """Return pint, kept from loading dask: where that is installed, it takes longer than all else."""
    absent = [name for name in ("dask",) if name not in sys.modules]
    sys.modules.update(dict.fromkeys(absent))  # type: ignore[arg-type]  # None stands for a module that is not there
    try:
        import pint  # heavy: only where a unit is read that is not usual
    finally:
        for name in absent:
            del sys.modules[name]
    return pint


@cache
def registry() -> "UnitRegistry[Any]":
    """Return the one pint registry, of the units in ``units.txt``; made on first use."""
    ureg: UnitRegistry[Any] = _pint().UnitRegistry(str(Path(__file__).with_name("units.txt")), cache_folder=None)
    for count in COUNT_UNITS:
        ureg.define(f"{count} = [{count}]")
    return ureg


@cache
def _usual() -> dict[tuple[str, str], _Line]:
    with Path(__file__).with_name("usual_units.csv").open(encoding="utf-8", newline="") as rows:
        return {
            (row["written"], row["wanted"]): _Line(float(row["scale"]), float(row["offset"]))
            for row in csv.DictReader(rows)
        }


@cache
def _know_currency(code: str) -> None:
    registry().define(f"{code} = [{code}]")


def _tidy(unit: str) -> str:
    unit = re.sub(r"\b(?:sq\.?|square)\s*(ft|in|m|yd)\b", r"\g<1>2", unit.translate(_SIGNS))
    unit = _POWER.sub(r"\1**\2", unit)
    return _WORD.sub(lambda word: _WORDS.get(word[0], word[0]), unit)


@lru_cache(maxsize=4096)
def _line(unit: str, target: str, currency: str) -> _Line | str:
    """Read a unit text once; a str is the reason why it cannot be had in ``target``."""
    written = _tidy(unit)
    if written == target:
        return _SAME
    if "money" not in written:
        plain = re.sub(rf"\b{re.escape(currency)}\b", "money", written) if currency else written
        if plain == target:
            return _SAME
        if known := _usual().get((plain, target)):
            return known
    return _line_by_pint(unit, written, target, currency)


def _line_by_pint(unit: str, written: str, target: str, currency: str) -> _Line | str:
    pint, ureg = _pint(), registry()
    for code in set(re.findall(r"\b[A-Z]{3}\b", unit)) | ({currency} if currency else set()):
        if code == currency or code in _currencies():
            _know_currency(code)
            if code != currency and "money" in target:
                return f"The shop counts in {currency}; turn {code} into {currency} first."
    wanted = target.replace("money", currency) if currency else target
    try:
        if wanted == "delta_degC" and re.search(r"(?<!delta_)deg[CF]|\bkelvin\b", written):
            return "This is a rise, not a level: write '170 K', '170 delta_degC' or '306 delta_degF'."
        if wanted == "delta_degC" and written == "K":
            return _SAME
        zero = ureg.Quantity(0.0, written).to(wanted).magnitude
        one = ureg.Quantity(1.0, written).to(wanted).magnitude
    except pint.DimensionalityError:
        return f"{unit} is not a unit of this kind."
    except (pint.PintError, AttributeError, ValueError, TypeError, AssertionError, KeyError, SyntaxError):
        return f"The unit {shorten(unit, 30)} is not known. {_near(ureg, written)}".rstrip()
    except Exception as why:  # noqa: BLE001  tokenize errors of odd texts differ between Python versions
        return f"The unit {shorten(unit, 30)} is not known ({type(why).__name__})."
    return _Line(float(one - zero), float(zero))


def _near(ureg: "UnitRegistry[Any]", written: str) -> str:
    unknown = [word for word in _WORD.findall(written) if word not in ureg]
    return nearest(unknown[0], list(ureg)) if unknown else ""


@cache
def _currencies() -> frozenset[str]:
    from babel.core import get_global  # heavy: only where a currency is read

    return frozenset(get_global("all_currencies"))


def turned(number: float, written: str, unit: str, *, currency: str = "") -> float | str:
    """Turn a number in the unit that somebody wrote into another; a str in its place says why it cannot be.

    Parameters
    ----------
    number : float
        The number.
    written : str
        Its unit, as people write it: ``sq ft``, ``mils``, ``°F``, ``EUR/kWh``.
    unit : str
        Unit wanted, as pint writes it; ``money`` stands for the shop's currency,
        ``degC`` for a level of temperature, ``delta_degC`` for a rise.
    currency : str
        Code of the shop's currency.

    Examples
    --------
    >>> turned(12, "ft", "m"), turned(2, "mil", "um"), turned(390, "degF", "degC")
    (3.6576, 50.8, 198.888888889)
    >>> turned(0.15, "USD/kWh", "money/kWh", currency="USD"), turned(12, "kg", "m")
    (0.15, 'kg is not a unit of this kind.')
    """
    line = _line(written, unit, currency)
    if isinstance(line, str):
        return line
    if line == _SAME:
        return number
    return float(f"{line.scale * number + line.offset:.12g}")  # 12 digits hide the last bits of a conversion


@lru_cache(maxsize=512)
def readable(unit: str, currency: str = "") -> str:
    """Write a unit as people do: ``m²``, ``EUR/kWh``, ``°C``.

    >>> readable("money/m**2", "EUR"), readable("delta_degC"), readable("um")
    ('EUR/m²', 'K', 'µm')
    """
    text = unit.replace("**2", "²").replace("**3", "³").replace("money", currency or "money")
    text = (
        text.replace("**4", "⁴")
        .replace("delta_degC", "K")
        .replace("delta_degF", "∆°F")
        .replace("degC", "°C")
        .replace("degF", "°F")
        .replace("thou", "mil")
    )
    return re.sub(r"\bum\b", "µm", text).replace("*", "·")


_US = {
    "m": "ft",
    "m**2": "ft**2",
    "kg": "lb",
    "um": "thou",
    "mm": "in",
    "degC": "degF",
    "delta_degC": "delta_degF",
    "min/m": "min/ft",
    "min/m**2": "min/ft**2",
    "min/kg": "min/lb",
    "money/m": "money/ft",
    "m**3": "ft**3",
    "money/m**2": "money/ft**2",
    "money/kg": "money/lb",
    "m**3/h": "cfm",
    "m**3/min": "cfm",
    "bar": "psi",
    "g/cm**3": "g/cm**3",
    "kg/m**2": "lb/ft**2",
}


class Shown(NamedTuple):
    """A value in the unit it is shown in."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{sig(self.value)} {readable(self.unit)}"


def shown(value: float, unit: str, system: System = "metric") -> Shown:
    """Turn a value in a unit of the model into the units the shop reads.

    >>> str(shown(3.6576, "m", "us")), str(shown(80, "um", "us")), str(shown(80, "um"))
    ('12 ft', '3.15 mil', '80 µm')
    """
    if system == "metric" or unit not in _US:
        return Shown(value, unit)
    target = _US[unit]
    if "money" in unit:  # money itself does not change, only what it is counted against
        line = _line(unit.replace("money/", ""), target.replace("money/", ""), "")
        return Shown(value / _scale(line), target)
    line = _line(unit, target, "")
    return Shown(value * _scale(line) + (line.offset if isinstance(line, _Line) else 0.0), target)


def _scale(line: _Line | str) -> float:
    if isinstance(line, str):
        raise TypeError(line)
    return line.scale


def sig(value: float, digits: int = 3) -> str:
    """Write a number with a few significant digits and no needless zeros.

    >>> sig(3.14159), sig(1234.5), sig(0.00012), sig(12.0)
    ('3.14', '1234', '0.00012', '12')
    """
    if value == 0 or value != value:  # noqa: PLR0124  NaN
        return "0" if value == 0 else "n/a"
    if abs(value) >= 10**digits:
        return f"{value:.0f}"
    text = f"{value:.{digits}g}"
    return f"{float(text):.10f}".rstrip("0").rstrip(".") if "e" in text else text

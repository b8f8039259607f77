"""Settle a fresh folder's currency, locale, units and sales tax before its owner fills it in.

Amounts    of the demo shop are turned into another currency at the rate of ``data/exchange_rates.csv``, or one that is
           told; each row that was turned says so and counts as a guess.
Measures   are written in the units that the shop thinks in, to three digits; titles and notes with a measure in them
           stand in ``data/us_words.csv``.
"""

import re
from collections.abc import Callable
from math import floor, log10
from pathlib import Path
from typing import NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import data_folder
from pricing.basis.files import read_table, read_text, table_text, write_safely
from pricing.basis.typed import read_field
from pricing.basis.units import shown, sig

CONVERTED = "converted"
"""Key of the source of an amount that was turned from another currency."""
_MODEL = {"m2": "m**2", "m3": "m**3", "K": "delta_degC"}
_FILE = {"m**2": "m2", "ft**2": "ft2", "thou": "mil"}
_QUANTITY = re.compile(r"([\d.]+) ([A-Za-z][\w/]*)")
_IN_QUOTES = re.compile(r'"([\d.]+) ([A-Za-z][\w/]*)"')
_STEPS = ("up_to", "step")
_CHARGES = ("minimum_charge", "further_kind")


class First(NamedTuple):
    """What a new folder is settled to; what is empty stays the demo's.

    Parameters
    ----------
    currency, locale, units : str
        What the shop counts in, how it prints money, what it thinks in. Without a locale, another currency brings
        that of its country, so that dollars are written $95 and not US$95.
    sales_tax : float, optional
        Share of the price; without it none in another currency, and the folder says that it was not asked.
    rate : float, optional
        What one of the demo's currency is worth in the shop's; without it that of ``data/exchange_rates.csv``.
    """

    currency: str = ""
    locale: str = ""
    units: str = ""
    sales_tax: float | None = None
    rate: float | None = None


class _Turn(NamedTuple):
    """From one currency to another, and into which units."""

    old: str
    new: str
    rate: float
    told: str
    us: bool

    @property
    def money(self) -> bool:
        return self.new != self.old

    def quantity(self, number: float, unit: str, digits: int = 3) -> tuple[float, str]:
        """Turn a number and its unit as a file writes them; what stays as it is keeps all its digits."""
        value, to = number, unit
        over, _, under = unit.partition("/")
        if over == self.old:
            over, value = self.new, number * self.rate
            to = f"{over}/{under}" if under else over
        if self.us:
            plain = f"money/{under}" if over == self.new and under else unit
            at = shown(value, _named(plain, _MODEL), "us")
            if at.unit != _named(plain, _MODEL):
                value, to = at.value, _named(at.unit, _FILE).replace("money", over)
        return (number, to) if value == number else (float(f"{value:.{digits}g}"), to)


def _named(unit: str, names: dict[str, str]) -> str:
    return "/".join(names.get(part, part) for part in unit.split("/"))


def rate_of(old: str, new: str, rate: float | None = None) -> tuple[float, str]:
    """Work out what one of a currency is worth in another, and where that is from; a rate that is told counts.

    Raises
    ------
    BadInput
        It was not told, and is not in ``data/exchange_rates.csv``.
    """
    if old == new:
        return 1.0, ""
    if rate is not None:
        return rate, "as you said"
    rows = currencies()
    if not {old, new} <= set(rows):
        mend = f"Say it, for example: --rate 1.25. Known without it: {', '.join(rows)}."
        raise BadInput("new", [Problem("--rate", "missing", f"what one {old} is worth in {new}", mend)])
    value = read_field(rows[new]["per_eur"], "number", new) / read_field(rows[old]["per_eur"], "number", old)
    return float(sig(value, 4)), f"{rows[new]['note']} {rows[new]['as_of']}, {rows[new]['source'].replace('_', ' ')}"


def currencies() -> dict[str, dict[str, str]]:
    """Collect the currencies whose rates are known, by code: rows of ``data/exchange_rates.csv``."""
    return {row["currency"]: row for row in read_table(data_folder() / "exchange_rates.csv")}


def settle_first(folder: Path, *, old: str, first: First) -> None:
    """Write other settings into a fresh copy of the demo, whose files are written in an old currency.

    Raises
    ------
    BadInput
        No rate is known between the two currencies.
    """
    new = first.currency or old
    rate, told = rate_of(old, new, first.rate)
    turn = _Turn(old, new, rate, told, first.units == "us")
    if turn.us:
        _say_it_in_feet(folder)
    if turn.us or turn.money:
        _all_rows(folder, turn)
    _front(folder / "shop.toml", turn, first)
    if turn.money:
        path = folder / "sources.csv"
        title = f"Turned from {old} at {sig(rate, 4)} {new} for one ({told})"
        lines = [line for line in read_text(path).rstrip().split("\n") if not line.startswith(f"{CONVERTED},")]
        write_safely(path, "\n".join([*lines, f'{CONVERTED},guess,"{title}",the workbook,,\n']))


def relabel(folder: Path, old: str, new: str) -> None:
    """Write another currency behind every amount, whose number stays: for a shop whose amounts are turned already."""
    turn = _Turn(old, new, 1.0, "", us=False)
    _all_rows(folder, turn)
    path = folder / "shop.toml"
    text = "\n".join(
        _IN_QUOTES.sub(lambda found: found[0].replace(old, new), line) if not line.lstrip().startswith("#") else line
        for line in read_text(path).split("\n")
    )
    write_safely(path, re.sub(r'(?m)^currency = "[^"]*"', f'currency = "{new}"', text, count=1))


def _all_rows(folder: Path, turn: _Turn) -> None:
    for name, change in (("rates", _points), ("assumptions", _points), ("powders", _cells), ("items", _cells)):
        _rows(folder / f"{name}.csv", change, turn)


def _say_it_in_feet(folder: Path) -> None:
    texts: dict[str, str] = {}
    for row in read_table(data_folder() / "us_words.csv"):
        text = texts.get(row["file"]) or read_text(folder / row["file"])
        texts[row["file"]] = text.replace(row["metric"], row["us"])
    for name, text in texts.items():
        write_safely(folder / name, text)


_Row = dict[str, str]


def _rows(path: Path, change: Callable[[_Turn, _Row], _Row], turn: _Turn) -> None:
    """Change the rows of a table; one in which money was turned is marked as a guess."""
    out = []
    for row in read_table(path):
        row.pop("#")
        made = change(turn, row)
        if turn.told and "source" in row and any(turn.old in value.split("/")[0].split() for value in row.values()):
            made |= {"source": CONVERTED, "where": f"{', '.join(_amounts(row, turn.old))} before"}
        out.append(made)
    write_safely(path, table_text([*out[0]], out))


def _amounts(row: _Row, old: str) -> list[str]:
    if row.get("unit", "").startswith(old):
        return [f"{row['low']} to {row['high']} {row['unit']}"]
    return [value for value in row.values() if f" {old}" in value]


def _points(turn: _Turn, row: _Row) -> _Row:
    made = dict(row)
    for name in ("low", "likely", "high"):
        value, made["unit"] = turn.quantity(float(row[name]), row["unit"])
        made[name] = row[name] if value == float(row[name]) else sig(value)
    return made


def _cells(turn: _Turn, row: _Row) -> _Row:
    made = dict(row)
    for name, text in row.items():
        if found := _QUANTITY.fullmatch(text):
            value, unit = turn.quantity(float(found[1]), found[2])
            made[name] = f"{found[1] if value == float(found[1]) else sig(value)} {unit}"
    if row.get("value"):  # what a part is worth stands without its unit
        made["value"] = sig(turn.quantity(float(row["value"]), turn.old)[0])
    return made


def _front(path: Path, turn: _Turn, first: First) -> None:
    """Settle ``shop.toml``, its comments kept."""
    lines = [_line(line, turn) for line in read_text(path).split("\n")]
    if turn.money:
        said = f"# Amounts: those of the demo in {turn.old}, at {sig(turn.rate, 4)} {turn.new} for one ({turn.told})."
        lines[1:1] = [said, "# They are guesses: put your own in their place."]
    text = "\n".join(lines)
    written = re.search(r'(?m)^locale = "([^"]*)"', text)
    locale = first.locale or (_locale_where(turn.new, written[1]) if written else "")
    for field, value in (("currency", first.currency), ("locale", locale), ("units", first.units)):
        if value:
            text = re.sub(rf'(?m)^{field} = "[^"]*"', f'{field} = "{value}"', text, count=1)
    if turn.us:
        text = text.replace('# or "us"', '# or "metric"')
    if first.sales_tax is not None:
        text = re.sub(r"(?m)^sales_tax = .*", f"sales_tax = {first.sales_tax:.6g}", text, count=1)
    elif turn.money:
        asked = 'sales_tax = 0               # not asked yet: put your own, such as "8 %"'
        text = re.sub(r"(?m)^sales_tax = .*", asked, text, count=1)
    write_safely(path, text)


def _locale_where(currency: str, locale: str) -> str:
    """Find the locale of the same language in a currency's country, whose code begins the currency's (ISO 4217).

    >>> _locale_where("USD", "en_IE"), _locale_where("CHF", "de_DE"), _locale_where("EUR", "en_US")
    ('en_US', 'de_CH', 'en_US')
    """
    from babel.localedata import exists

    there = f"{locale.partition('_')[0]}_{currency[:2]}"
    return there if exists(there) else locale


def _line(line: str, turn: _Turn) -> str:
    if line.lstrip().startswith("#"):
        return line
    name = line.partition("=")[0].strip(" {")

    def put(found: re.Match[str]) -> str:
        number, unit = float(found[1]), found[2]
        if turn.money and unit == turn.old and name in _STEPS:
            return f'"{sig(_round(number * turn.rate))} {turn.new}"'
        value, to = turn.quantity(number, unit, 2 if name in _CHARGES else 3)
        return f'"{found[1] if value == number else sig(value)} {to}"'

    return _IN_QUOTES.sub(put, line)


def _round(value: float) -> float:
    """Work out the nearest of 1, 2 and 5 of a power of ten: what prices are rounded to.

    >>> _round(1.08), _round(8200.0), _round(0.54)
    (1.0, 10000.0, 0.5)
    """
    unit = 10.0 ** floor(log10(value))
    return min((step * unit for step in (1, 2, 5, 10)), key=lambda step: abs(log10(step / value)))

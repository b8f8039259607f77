"""The rate book as tables: every uncertain number with its three points, and how well it is known."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from pricing.basis.tongue import LARGEST, Range, Wrong
from pricing.shop.folder import known_steps
from pricing.shop.own_sources import named_sources
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop
from pricing.show.cells import Measure, cell
from pricing.show.desk import Desk
from pricing.show.naming import Names
from pricing.show.open_fields import TextField
from pricing.show.sheets import Cell, Column, Row, Sheet

_POINTS = ("low", "likely", "high")
_NOTE = (
    "Low: a good day, one in twenty. High: a bad day, one in twenty. The price is built on the mean, not on likely."
    " A number you change counts as your guess until you say how you know it."
)


def rate_sheets(shop: Shop) -> list[Sheet]:
    """Collect the tabs of rates and of assumptions, with the shop's sources to choose from."""
    offered = {*named_sources(shop), "owner_guess", "owner_watch", "supplier_bill", "common_practice"}
    known = tuple((key, source.title) for key, source in shop.sources.items() if key in offered)
    columns = (
        Column("name", "Number", "plain"),
        *(Column(p, p, num=True, width="54px") for p in _POINTS),
        Column("unit", "unit", "plain"),
        Column("mean", "mean", "plain", num=True),
        Column("source", "how I know it", "choice", options=known),
        Column("note", "note", width="150px"),
        Column("where", "where it stands", width="110px"),
    )
    return [
        Sheet("rates", "Rates of work", columns, note=_NOTE),
        Sheet("assumptions", "Assumptions", columns, note=_NOTE),
    ]


def rate_rows(desk: Desk) -> dict[str, list[Row]]:
    """Collect the rows of both tabs, with what differs from what is saved."""
    shop, saved, names = desk.shop, desk.saved.shop, Names(desk.shop)
    steps = known_steps()
    rates = [
        _row(
            row,
            saved.rates.get(key),
            desk,
            names.of(key).split(": ", 1)[-1],
            steps[key.split(".", maxsplit=1)[0]].title,
        )
        for key, row in shop.rates.items()
    ]
    assumed = [_row(row, saved.assumptions.get(key), desk, names.of(key), "") for key, row in shop.assumptions.items()]
    return {"rates": rates, "assumptions": assumed}


def _row(row: Assumption, before: Assumption | None, desk: Desk, label: str, group: str) -> Row:
    measure = Measure(row.unit, desk.tongue)

    def texts(of: Assumption) -> dict[str, str]:
        points = {point: measure.write(getattr(of, point)) for point in _POINTS}
        return points | {"source": of.source.key, "note": of.note, "where": of.where}

    old = texts(before) if before else {}
    cells = {name: cell(text, old.get(name)) for name, text in texts(row).items()}
    cells |= {"unit": Cell(measure.heading), "mean": Cell(measure.write(row.mean))}
    return Row(row.key, label, cells, group)


def edit_rate(desk: Desk, sheet: str, key: str, column: str, given: str) -> None:
    """Take what was typed in a row and column of the rates or the assumptions.

    Raises
    ------
    Wrong
        What is accepted.
    """
    table: Mapping[str, Assumption] = getattr(desk.shop, sheet)
    row = table[key]
    if column in {"note", "where"}:
        words: dict[str, Any] = {column: TextField(column, column, "").read(given)}
        new = replace(row, **words)
    elif column == "source":
        new = replace(row, source=desk.shop.sources[given], read_on=date.today().isoformat())  # noqa: DTZ011
    else:
        within = Range(0.0, 1.0 if row.unit == "share" else LARGEST)
        value = Measure(row.unit, desk.tongue, within).read(given, getattr(row, column))
        if value == getattr(row, column):
            return
        points: dict[str, Any] = {point: getattr(row, point) for point in _POINTS} | {column: value}
        if not points["low"] <= points["likely"] <= points["high"]:
            raise Wrong("Low, likely and high must rise in this order.")
        measured = row.source.kind == "measured" and column == "likely" and row.shape == "lognormal"
        source = row.source if measured else desk.shop.sources.get("owner_guess", row.source)
        new = replace(row, source=source, where="", read_on=date.today().isoformat(), **points)  # noqa: DTZ011
    desk.change({sheet: {**table, key: new}})

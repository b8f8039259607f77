"""New rates from the log, and their way into the shop's folder, row by row, when the owner says so.

Takes    a calibration, rates of rework, and the shop.
Gives    `Proposal` rows; `accept` writes the chosen ones and keeps what stood before.
Form     a measured rate is a log-normal: likely is the typical time, and its mean, on which prices
         rest, is the mean of the log with its overruns; how well that mean is known stands beside it. A
         measured share is three points with the mean of the log.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import Source
from pricing.basis.files import read_table, table_text
from pricing.basis.switch import locked
from pricing.costing.spread import SPREADS, spread_row
from pricing.ledger.calibrate import SOURCE, Calibration, StepResult, likely_of
from pricing.ledger.intervals import LogNormal, t_quantile
from pricing.ledger.numbers import Learned
from pricing.ledger.rework import ReworkRate
from pricing.shop.folder import FILES, open_shop, save_shop
from pricing.shop.rates import Z95, Assumption
from pricing.shop.shop import Shop

HISTORY = "rates_history.csv"
HISTORY_COLUMNS = ("key", "low", "likely", "high", "unit", "source", "where", "read_on", "note", "shape", "until")
_DOUBT = ("doubt",)  # a column that histories written before do not have
LEAST_JOBS = 5
"""A rate is called measured from this many jobs on."""
LEAST_LEARNED = 0.3
"""Share of the guess's variance that the log must have taken away before a rate is called measured."""
_LEAST_MEAN = 1.00005  # a log-normal without spread has no points to write


@dataclass(frozen=True, slots=True)
class Proposal:
    """A row of the rate book as it stands and as the log would have it.

    Parameters
    ----------
    key : str
        ``step.driver.gives``, or the name of an assumption.
    old, new : Assumption
        Before and after.
    jobs : int
        Logged jobs behind it.
    notes : tuple of str
        What the owner should know before accepting.
    """

    key: str
    old: Assumption
    new: Assumption
    jobs: int
    notes: tuple[str, ...]

    @property
    def change(self) -> float:
        """New mean over old mean, less one."""
        return self.new.mean / self.old.mean - 1 if self.old.mean else 0.0


def propose(
    shop: Shop,
    calibration: Calibration,
    rework: Mapping[str, ReworkRate],
    numbers: Sequence[Learned] = (),
    *,
    today: date | None = None,
) -> list[Proposal]:
    """Propose a row, of the day, for every number that enough was logged of.

    Raises
    ------
    BadInput
        The sources do not hold the shop's log.
    """
    day = (today or date.today()).isoformat()  # noqa: DTZ011  the owner's own calendar day
    source = _source(shop)
    found = []
    for result in calibration.steps.values():
        if result.fit.rows >= LEAST_JOBS:
            found += _of_step(shop, result, source, day)
    for key, rate in rework.items():
        if rate.jobs >= LEAST_JOBS and key in shop.assumptions:
            found.append(_of_share(shop.assumptions[key], rate, source, day))
    for one in numbers:
        old = book_row(shop, one.key)
        if old and one.rows >= LEAST_JOBS and one.learned >= LEAST_LEARNED:
            found.append(_of_number(old, one, source, day))
    return [proposal for proposal in found if not _same(proposal.old, proposal.new)]


def _source(shop: Shop) -> Source:
    if SOURCE not in shop.sources:
        mend = "Add a row with this key and the kind measured."
        raise BadInput("sources.csv", [Problem("key", f"{SOURCE} missing", "there", mend)])
    return shop.sources[SOURCE]


def _of_step(shop: Shop, result: StepResult, source: Source, day: str) -> list[Proposal]:
    fit, seen = result.fit, result.seen
    low, high = fit.rate_interval(0.95)
    wider = float(t_quantile(fit.df, 0.95)) / Z95  # few jobs say little of their own scatter
    doubt = float(np.exp(wider * fit.unsure(fit.usual_mix(seen.amounts))))
    found = []
    for i, driver in enumerate(seen.drivers):
        key = f"{result.step}.{driver}.hands"
        if fit.learned[i] < LEAST_LEARNED or key not in shop.rates:
            continue  # the guess stays a guess
        old, typical = shop.rates[key], float(fit.typical[i])
        note = f"typical time {typical:.3g}, 95 % sure from {low[i]:.3g} to {high[i]:.3g} {old.unit}"
        where = f"{fit.rows} jobs from {seen.days[0]} to {seen.days[-1]}"
        form = LogNormal.through(typical, max(fit.mean_factor, _LEAST_MEAN))
        ends = [_round(float(form.quantile(chance))) for chance in (0.05, 0.95)]
        new = Assumption(
            key, ends[0], _round(typical), ends[1], old.unit, source, where, day, note, "lognormal", _round(doubt)
        )
        found.append(Proposal(key, old, new, fit.rows, tuple(result.words)))
    return found


def _of_share(old: Assumption, rate: ReworkRate, source: Source, day: str) -> Proposal:
    share = rate.share
    where = f"{rate.failed} of {rate.tries} parts in {rate.jobs} jobs from {rate.first} to {rate.last}"
    notes = []
    if rate.clumping > 1.5:
        notes.append(f"Failures come in clumps: the log counts for {rate.tries / rate.clumping:.0f} parts only.")
    points = share.quantile(0.05), share.mean, share.quantile(0.95)
    new = replace(_with_points(old, *points), source=source, where=where, read_on=day)
    return Proposal(old.key, old, new, rate.jobs, tuple(notes))


def _of_number(old: Assumption, one: Learned, source: Source, day: str) -> Proposal:
    where, note = (
        f"{one.rows} entries from {one.first} to {one.last}",
        f"95 % sure from {one.sure[0]:.3g} to {one.sure[1]:.3g}",
    )
    points = (one.low, one.mean, one.high)
    if old.key == "helper.share" or old.key.startswith("uses."):  # a table that holds one number for it
        points = (one.mean, one.mean, one.mean)
    new = replace(_with_points(old, *points), source=source, where=where, read_on=day, note=note)
    return Proposal(old.key, old, new, one.rows, one.words)


def _with_points(old: Assumption, low: float, mean: float, high: float) -> Assumption:
    """Return a row with three points that have the mean of the log."""
    low, likely, high = map(_round, (low, likely_of(mean, low, high), high))
    return replace(old, low=low, likely=likely, high=high, shape="pert", doubt=1.0)


def book_row(shop: Shop, key: str) -> Assumption | None:
    """Return the row that a number stands in, of the tables of powders and people too; None where it has none."""
    if key in shop.rates or key in shop.assumptions:
        return shop.rates.get(key) or shop.assumptions[key]
    if key in SPREADS:
        return spread_row(shop, key)
    if key.startswith("film."):
        return shop.uncertain.get(key)
    powder = shop.powders.get(key.removeprefix("uses."))
    value = powder.uses if powder and key.startswith("uses.") else None
    if key == "helper.share" and shop.helper:
        value = shop.helper.share
    if value is None:
        return None
    source = shop.sources[powder.source] if powder else shop.sources.get("owner_guess", _source(shop))
    unit, day = ("number", powder.read_on) if powder else ("share", "")
    return Assumption(key, value, value, value, unit, source, "", day, "")


def with_row(shop: Shop, row: Assumption) -> Shop:
    """Return the shop with a row of its book, whose key `book_row` knows, in place of the one of that name."""
    if row.key in shop.rates:
        return replace(shop, rates={**shop.rates, row.key: row})
    if row.key in shop.assumptions or row.key in SPREADS:
        return replace(shop, assumptions={**shop.assumptions, row.key: row})
    if row.key == "helper.share" and shop.helper:
        return replace(shop, helper=shop.helper.model_copy(update={"share": row.likely}))
    kind, _, name = row.key.partition(".")
    changes = {"uses": row.likely}
    if kind == "film":
        changes = {"film_low_um": row.low, "film_likely_um": row.likely, "film_high_um": row.high}
    return replace(shop, powders={**shop.powders, name: shop.powders[name].model_copy(update=changes)})


def _round(value: float) -> float:
    return float(f"{value:.4g}")


def _same(old: Assumption, new: Assumption) -> bool:
    return (old.low, old.likely, old.high, old.shape) == (new.low, new.likely, new.high, new.shape)


def accept(folder: Path | str, proposals: Sequence[Proposal]) -> list[str]:
    """Write the rows that the owner accepts into the shop's folder, what stood before into the history first.

    Returns
    -------
    list of str
        Names of the files that were changed.

    Raises
    ------
    BadInput
        A row was changed since it was proposed, or the folder cannot be written.
    """
    if not proposals:
        return []
    at = Path(folder)
    with locked(at, FILES):
        shop = open_shop(at)
        new, bad, old_rows = shop, [], []
        for proposal in proposals:
            if book_row(shop, proposal.key) != proposal.old:
                mend = "It was changed since; look at the proposals again."
                bad.append(Problem(proposal.key, "changed", "as it was when it was proposed", mend))
                continue
            old_rows.append(proposal.old)
            new = with_row(new, proposal.new)
        if bad:
            raise BadInput(str(at), bad)
        return save_shop(new, at, {HISTORY: _with_history(_history(at), [_history_row(old) for old in old_rows])})


def take_back(folder: Path | str) -> str:
    """Put the row back that stood before the newest one that was taken from the log, and give its key.

    The row that is taken back stays in the history.

    Raises
    ------
    BadInput
        No row from the log stands in the book, or the folder cannot be written.
    """
    at = Path(folder)
    with locked(at, FILES):
        shop, rows = open_shop(at), _history(at)
        newest = {row["key"]: row for row in rows}
        for row in reversed(rows):
            now = book_row(shop, row["key"])
            if now and newest[row["key"]] is row and row["source"] in shop.sources and _from_log(now, row):
                break
        else:
            mend = "Nothing was changed."
            raise BadInput(str(at), [Problem("the book", "without a row from the log", "one with such a row", mend)])
        left = _history_row(now) | {"source": SOURCE}
        save_shop(with_row(shop, _old_row(row, now, shop)), at, {HISTORY: _with_history(rows, [left])})
    return now.key


def _from_log(now: Assumption, before: Mapping[str, str]) -> bool:
    """Tell whether a row came from the log; tables of powders and people do not say so themselves."""
    if now.key.startswith(("film.", "uses.")) or now.key == "helper.share":
        return before["source"] != SOURCE
    return now.source.key == SOURCE


def _old_row(row: Mapping[str, str], now: Assumption, shop: Shop) -> Assumption:
    return replace(
        now,
        low=float(row["low"]),
        likely=float(row["likely"]),
        high=float(row["high"]),
        source=shop.sources[row["source"]],
        where=row["where"],
        read_on=row["read_on"],
        note=row["note"],
        shape="lognormal" if row["shape"] == "lognormal" else "pert",
        doubt=float(row["doubt"] or 1.0),
    )


def _history(folder: Path) -> list[dict[str, str]]:
    path = folder / HISTORY
    return read_table(path, HISTORY_COLUMNS, optional=_DOUBT) if path.exists() else []


def _history_row(old: Assumption) -> dict[str, str]:
    until = date.today().isoformat()  # noqa: DTZ011  the owner's own calendar day
    row = {name: getattr(old, name) for name in (*HISTORY_COLUMNS[:-1], *_DOUBT)}
    row |= {"source": old.source.key, "until": until}
    return {name: value if isinstance(value, str) else repr(value) for name, value in row.items()}


def _with_history(rows: Sequence[dict[str, str]], more: Sequence[dict[str, str]]) -> str:
    return table_text([*HISTORY_COLUMNS, *_DOUBT], [*rows, *more])


def first_beliefs(shop: Shop) -> dict[str, Assumption]:
    """Collect the rates and shares as they stood before the log had its say, as the history of the shop's folder tells.

    Raises
    ------
    BadInput
        The history file is not readable.
    """
    names = ["helper.share", *SPREADS, *(f"{kind}.{name}" for kind in ("film", "uses") for name in shop.powders)]
    others = {name: found for name in names if (found := book_row(shop, name))}
    book = {**shop.rates, **shop.assumptions, **others}
    for row in reversed(_history(shop.folder) if shop.folder else ()):  # the oldest row of a key is read last and stays
        stands = book_row(shop, row["key"]) if row["key"] in book else None
        if stands and row["source"] != SOURCE and row["source"] in shop.sources and _from_log(stands, row):
            book[row["key"]] = _old_row(row, book[row["key"]], shop)
    return book

"""New rates from the log, and their way into the shop's folder, row by row, when the owner says so.

Takes    a calibration, rates of rework, and the shop.
Gives    `Proposal` rows; `accept` writes the chosen ones and keeps what stood before.
Form     a measured rate is a log-normal: likely is the typical time, and its mean, on which prices
         rest, is the mean of the log with its overruns. A measured share is three points with the
         mean of the log.
Room     ledger. Imports basis, shop, calibrate, intervals, rework.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pricing.basis.errors import BadInput, Problem
from pricing.basis.facts import Source
from pricing.basis.files import read_table, table_text
from pricing.basis.switch import locked
from pricing.ledger.calibrate import SOURCE, Calibration, StepResult
from pricing.ledger.intervals import LogNormal
from pricing.ledger.rework import ReworkRate
from pricing.shop.folder import FILES, open_shop, save_shop
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop

HISTORY = "rates_history.csv"
HISTORY_COLUMNS = (
    "key", "low", "likely", "high", "unit", "source", "where", "read_on", "note", "shape", "until",
)  # fmt: skip
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
    shop: Shop, calibration: Calibration, rework: Mapping[str, ReworkRate], *, today: date | None = None
) -> list[Proposal]:
    """Propose a row for every rate that enough jobs were logged of.

    Parameters
    ----------
    shop : Shop
        As it stands.
    calibration : Calibration
        Of its log.
    rework : mapping of ReworkRate
        Of its log.
    today : date, optional
        Day that goes into the rows.

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
    return [proposal for proposal in found if not _same(proposal.old, proposal.new)]


def _source(shop: Shop) -> Source:
    if SOURCE not in shop.sources:
        mend = "Add a row with this key and the kind measured."
        raise BadInput("sources.csv", [Problem("key", f"{SOURCE} missing", "there", mend)])
    return shop.sources[SOURCE]


def _of_step(shop: Shop, result: StepResult, source: Source, day: str) -> list[Proposal]:
    fit, seen = result.fit, result.seen
    low, high = fit.rate_interval(0.95)
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
            key, ends[0], _round(typical), ends[1], old.unit, source, where, day, note, "lognormal"
        )  # fmt: skip
        found.append(Proposal(key, old, new, fit.rows, tuple(result.words)))
    return found


def _of_share(old: Assumption, rate: ReworkRate, source: Source, day: str) -> Proposal:
    low, high, mean = rate.quantile(0.05), rate.quantile(0.95), rate.mean
    likely = min(max((6 * mean - low - high) / 4, low), high)
    where = f"{rate.failed} of {rate.tries} parts in {rate.jobs} jobs from {rate.first} to {rate.last}"
    notes = []
    if rate.clumping > 1.5:
        notes.append(f"Failures come in clumps: the log counts for {rate.tries / rate.clumping:.0f} parts only.")
    new = Assumption(
        old.key, _round(low), _round(likely), _round(high), old.unit, source, where, day, old.note, "pert"
    )  # fmt: skip
    return Proposal(old.key, old, new, rate.jobs, tuple(notes))


def _round(value: float) -> float:
    return float(f"{value:.4g}")


def _same(old: Assumption, new: Assumption) -> bool:
    return (old.low, old.likely, old.high, old.shape) == (new.low, new.likely, new.high, new.shape)


def accept(folder: Path | str, proposals: Sequence[Proposal], *, today: date | None = None) -> list[str]:
    """Write the chosen rows into the shop's folder; what stood before goes to the history first.

    Parameters
    ----------
    folder : path
        The shop's folder.
    proposals : sequence of Proposal
        Those the owner accepts.
    today : date, optional
        Day that goes into the history.

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
        rates, assumptions, bad, old_rows = dict(shop.rates), dict(shop.assumptions), [], []
        for proposal in proposals:
            book = rates if proposal.key in rates else assumptions
            if book.get(proposal.key) != proposal.old:
                mend = "It was changed since; look at the proposals again."
                bad.append(Problem(proposal.key, "changed", "as it was when it was proposed", mend))
                continue
            old_rows.append(proposal.old)
            book[proposal.key] = proposal.new
        if bad:
            raise BadInput(str(at), bad)
        until = (today or date.today()).isoformat()  # noqa: DTZ011  the owner's own calendar day
        path = at / HISTORY
        rows = read_table(path, HISTORY_COLUMNS) if path.exists() else []
        text = table_text(HISTORY_COLUMNS, [*rows, *(_history_row(old, until) for old in old_rows)])
        return save_shop(replace(shop, rates=rates, assumptions=assumptions), at, {HISTORY: text})


def take_back(folder: Path | str, *, today: date | None = None) -> str:
    """Put the row back that stood before the newest one that was taken from the log.

    Parameters
    ----------
    folder : path
        The shop's folder.
    today : date, optional
        Day that goes into the history, where the row that is taken back stays.

    Returns
    -------
    str
        Key of the row.

    Raises
    ------
    BadInput
        No row from the log stands in the book, or the folder cannot be written.
    """
    at = Path(folder)
    with locked(at, FILES):
        shop, path = open_shop(at), at / HISTORY
        rows = read_table(path, HISTORY_COLUMNS) if path.exists() else []
        newest = {row["key"]: row for row in rows}
        for row in reversed(rows):
            now = shop.rates.get(row["key"]) or shop.assumptions.get(row["key"])
            if now and now.source.key == SOURCE and newest[row["key"]] is row and row["source"] in shop.sources:
                break
        else:
            mend = "Nothing was changed."
            raise BadInput(str(at), [Problem("the book", "without a row from the log", "one with such a row", mend)])
        table = "rates" if now.key in shop.rates else "assumptions"
        book = {**getattr(shop, table), now.key: _old_row(row, now, shop)}
        until = (today or date.today()).isoformat()  # noqa: DTZ011  the owner's own calendar day
        text = table_text(HISTORY_COLUMNS, [*rows, _history_row(now, until)])
        save_shop(replace(shop, **{table: book}), at, {HISTORY: text})
    return now.key


def _old_row(row: Mapping[str, str], now: Assumption, shop: Shop) -> Assumption:
    return replace(
        now, low=float(row["low"]), likely=float(row["likely"]), high=float(row["high"]),
        source=shop.sources[row["source"]], where=row["where"], read_on=row["read_on"], note=row["note"],
        shape="lognormal" if row["shape"] == "lognormal" else "pert",
    )  # fmt: skip


def _history_row(old: Assumption, until: str) -> dict[str, str]:
    return {
        "key": old.key, "low": repr(old.low), "likely": repr(old.likely), "high": repr(old.high), "unit": old.unit,
        "source": old.source.key, "where": old.where, "read_on": old.read_on, "note": old.note, "shape": old.shape,
        "until": until,
    }  # fmt: skip


def first_beliefs(shop: Shop) -> dict[str, Assumption]:
    """Give the rates and shares as they stood before the log had its say.

    Parameters
    ----------
    shop : Shop
        Read from a folder; its history file is read with it.

    Raises
    ------
    BadInput
        The history file is not readable.
    """
    book = {**shop.rates, **shop.assumptions}
    path = shop.folder / HISTORY if shop.folder else None
    if path is None or not path.exists():
        return book
    for row in reversed(read_table(path, HISTORY_COLUMNS)):  # the oldest row of a key is read last and stays
        now = book.get(row["key"])
        if now is None or row["source"] == SOURCE or row["source"] not in shop.sources:
            continue
        if shop.uncertain[row["key"]].source.key == SOURCE:
            book[row["key"]] = _old_row(row, now, shop)
    return book

"""Everything the log has to say, for a screen or a page: read once, worked out when it is asked for.

Takes    an open ledger and the shop.
Gives    a `Review`: fits by step, rates of rework, proposals, then and now, what to time next, and
         won and lost against price.
"""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

import numpy as np

from pricing.basis.facts import data_folder
from pricing.ledger.calibrate import Calibration, calibrate, guess_at
from pricing.ledger.exchange import import_folder
from pricing.ledger.expected import expected_of_jobs
from pricing.ledger.expected_and_actual import Compared, Coverage, coverage, expected_and_actual
from pricing.ledger.fit import assumptions
from pricing.ledger.numbers import (
    Learned,
    learn_energy,
    learn_enquiries,
    learn_ratio,
    learn_uses,
    seen_in_loads,
    seen_in_powder,
)
from pricing.ledger.proposals import Proposal, first_beliefs, propose
from pricing.ledger.quotes import quoted_amounts
from pricing.ledger.rework import ReworkRate, rework_rates
from pricing.ledger.spreads import learn_spreads
from pricing.ledger.store import Ledger, LedgerRow, open_ledger
from pricing.ledger.timing import ToTime, to_time
from pricing.ledger.value_of_information import TimingWorth, one_of_each, worth
from pricing.ledger.winning import Winning, winning
from pricing.ledger.workers import Pace, learn_helper, paces
from pricing.shop.rates import Assumption
from pricing.shop.shop import Shop


@dataclass(frozen=True)
class Review:
    """What the log says, each part worked out on first use.

    Parameters
    ----------
    shop : Shop
        As it stands.
    times, quotes, outcomes, jobs, redone, loads, meters, powder, packs : sequence of dict
        Rows of the ledger that stand.
    today : date
        Day of the review.
    """

    shop: Shop
    times: Sequence[LedgerRow]
    quotes: Sequence[LedgerRow]
    outcomes: Sequence[LedgerRow]
    jobs: Sequence[LedgerRow]
    redone: Sequence[LedgerRow]
    today: date
    loads: Sequence[LedgerRow] = ()
    meters: Sequence[LedgerRow] = ()
    powder: Sequence[LedgerRow] = ()
    packs: Sequence[LedgerRow] = ()

    @cached_property
    def beliefs(self) -> dict[str, Assumption]:
        """Rates and shares before the log had its say."""
        return first_beliefs(self.shop)

    @cached_property
    def calibration(self) -> Calibration:
        """Fits by step."""
        return calibrate(self.times, self.hands, quoted_amounts(self.quotes))

    @cached_property
    def hands(self) -> dict[str, Assumption]:
        """Rates before the log had its say."""
        return {key: self.beliefs[key] for key in self.shop.rates}

    @cached_property
    def rework(self) -> dict[str, ReworkRate]:
        """Shares of work that was done again."""
        shares = {key: self.beliefs[key] for key in self.shop.assumptions}
        return rework_rates(self.jobs, self.redone, self.shop.finishes, shares)

    @cached_property
    def proposals(self) -> list[Proposal]:
        """Rows of the rate book as the log would have them."""
        return propose(self.shop, self.calibration, self.rework, self.numbers, today=self.today)

    @cached_property
    def numbers(self) -> list[Learned]:
        """Numbers that loads, meters, powder, packs, enquiries and names teach."""
        expected, beliefs = expected_of_jobs(self.quotes), self.beliefs
        seen = seen_in_loads(self.loads, expected) | seen_in_powder(self.powder, expected, self.shop)
        found = [learn_ratio(key, guess_at(beliefs[key], key), rows) for key, rows in seen.items() if key in beliefs]
        found.append(learn_energy(self.meters, self.loads, expected, self.shop, beliefs["oven.energy_factor"]))
        found.append(learn_enquiries(beliefs["enquiries.per_job"], self.outcomes))
        if "helper.share" in beliefs:
            found.append(learn_helper(self.times, self.shop, beliefs["helper.share"].likely))
        found += learn_uses(self.packs, self.powder, self.shop, beliefs)
        found += learn_spreads(self.calibration, beliefs)
        return [one for one in found if one is not None]

    @cached_property
    def people(self) -> list[Pace]:
        """Who does which step, and how fast."""
        return paces(self.times, self.calibration)

    @cached_property
    def to_time(self) -> list[ToTime]:
        """Three open jobs that part the rates best, with the steps whose timing is worth most money."""
        over = {row["job"] for row in self.outcomes if row["result"] == "lost"} | {row["job"] for row in self.jobs}
        timed = {(row["job"], row["step"]) for row in self.times}
        jobs = {job: steps for job, steps in quoted_amounts(self.quotes).items() if job not in over and steps}
        return to_time(jobs, timed, self.calibration, self.hands, self.worth)

    @cached_property
    def compared(self) -> list[Compared]:
        """Every logged job against what was known before it."""
        return expected_and_actual(self.calibration.steps.values(), self.quotes)

    @cached_property
    def coverage(self) -> Coverage:
        """How well the intervals kept their promise."""
        return coverage(self.compared)

    @cached_property
    def worth(self) -> list[TimingWorth]:
        """Steps by what timing them is worth, on the last year's quotes; before any, on the price list done once."""
        since = (self.today - timedelta(days=365)).isoformat()
        recent = [row for row in self.quotes if row["on"] > since and row["minutes"]] or one_of_each(self.shop)
        return worth(recent, self.shop, self.calibration, self.hands)

    @cached_property
    def winning(self) -> Winning | str:
        """Chance to win against price over cost, or why it cannot be said."""
        quoted = {row["job"]: row for row in self.quotes if row["cost"] > 0 and row["price"] > 0}
        told = [(quoted[row["job"]], row["result"] == "won") for row in self.outcomes if row["job"] in quoted]
        ratio = np.array([row["price"] / row["cost"] for row, _ in told])
        kinds = [
            ("two-tone" if self._colours(row["finish"]) > 1 else "single-tone", *row["sheet"].get("items", ()))
            for row, _ in told
        ]
        return winning(ratio, np.array([won for _, won in told], dtype=bool), kinds)

    def _colours(self, finish: str) -> int:
        return self.shop.finishes[finish].colours if finish in self.shop.finishes else 1

    def expected(self, job: str, step: str) -> float:
        """Work out the minutes that a step of a job should take by its quote or the log; 0 where neither can say."""
        quoted = next((row for row in reversed(self.quotes) if row["job"] == job), None)
        if quoted and quoted["minutes"].get(step):
            return float(quoted["minutes"][step])
        result = self.calibration.steps.get(step)
        return float(np.median(result.seen.minutes)) if result and len(result.seen.minutes) else 0.0

    def far_off(self, job: str, step: str, minutes: float) -> float:
        """Work out the minutes expected where those told are ten times more or fewer; else 0."""
        expected, factor = self.expected(job, step), assumptions().absurd_factor
        return expected if expected and not expected / factor < minutes < expected * factor else 0.0


def review(ledger: Ledger, shop: Shop, *, today: date | None = None) -> Review:
    """Read the ledger of a shop for a review of the day.

    Raises
    ------
    BadInput
        The ledger cannot be read.
    """
    day = today or date.today()  # noqa: DTZ011  the owner's own calendar day
    return Review(
        shop,
        ledger.rows("times"),
        ledger.rows("quotes", brief=True),
        ledger.rows("outcomes"),
        ledger.rows("jobs"),
        ledger.rows("rework"),
        day,
        *(ledger.rows(kind) for kind in ("loads", "meters", "powder", "packs")),
    )


def invented_review(shop: Shop) -> Review:
    """Read the invented log that comes with the workbook, held against a shop, to look at while there is none.

    Raises
    ------
    BadInput
        The invented log cannot be read.
    """
    with tempfile.TemporaryDirectory() as name, open_ledger(Path(name)) as ledger:
        import_folder(ledger, data_folder() / "ledger")
        return review(ledger, shop)

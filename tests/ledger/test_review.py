"""The invented log of the demo shop, read through everything the ledger can say."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
from scipy.stats import linregress
from scipy.stats import t as student

from pricing.basis.errors import BadInput
from pricing.basis.facts import data_folder
from pricing.costing.sheet import cost
from pricing.ledger.calibrate import StepResult, calibrate, observe, then_known
from pricing.ledger.drift import drift, months
from pricing.ledger.exchange import import_csv, import_folder
from pricing.ledger.expected_and_actual import Coverage, job_totals
from pricing.ledger.fit import Guess, assumptions, fit_step
from pricing.ledger.predict import predict
from pricing.ledger.proposals import HISTORY, Proposal, accept, first_beliefs
from pricing.ledger.review import Review, review
from pricing.ledger.store import Ledger, open_ledger
from pricing.ledger.winning import Winning
from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, Lot
from pricing.prices.price_list import fallen, price_list
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop
from pricing.show.log_view import take
from pricing.steps.step import Term
from tests.ledger import demo

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    at = new_folder(tmp_path_factory.mktemp("review") / "mine")
    with open_ledger(at) as ledger:
        reports = import_folder(ledger, data_folder() / "ledger")
    assert [report.refused for report in reports] == [()] * len(reports)
    return at


@pytest.fixture(scope="module")
def demo_review(folder: Path) -> Iterator[Review]:
    with open_ledger(folder) as ledger:
        yield review(ledger, open_shop(folder), today=TODAY)


@pytest.mark.slow
def test_the_demo_log_is_large_enough_and_made_by_its_seed(
    demo_review: Review, shop: Shop, items: dict[str, Item]
) -> None:
    assert len(demo_review.jobs) >= 150
    assert demo.demo(shop, items) == demo.demo(shop, items)
    assert demo.demo(shop, items, seed=1) != demo.demo(shop, items, seed=2)
    with (data_folder() / "ledger" / "times.csv").open() as file:
        steps = {row["step"] for row in csv.DictReader(file)}
    assert steps <= {key.split(".")[0] for key in shop.rates}
    assert max(row["on"] for row in demo_review.times) <= TODAY.isoformat()


def test_calibration_finds_the_rates_the_log_was_made_with(demo_review: Review, shop: Shop) -> None:
    off = {}
    for step, result in demo_review.calibration.steps.items():
        amounts = result.seen.amounts
        truth = amounts @ np.array([shop.book[f"{step}.{d}.hands"] for d in result.seen.drivers])
        truth *= demo.TRUE_FACTOR.get(step, 1.0)
        off[step] = float(np.median(predict(result.fit, amounts).typical / truth)) - 1
    worst = max(off, key=lambda step: abs(off[step]))
    assert abs(off[worst]) < 0.25, (worst, off[worst])
    assert np.mean(np.abs(list(off.values()))) < 0.07


def test_slips_of_the_pen_are_asked_about_and_not_counted(demo_review: Review) -> None:
    asked = {(row.step, row.job): row for row in demo_review.calibration.doubtful}
    short = [row for row in asked.values() if row.minutes < row.expected / 10]
    assert [row.step for row in short] == ["blast"]
    assert not short[0].counted
    long = max(asked.values(), key=lambda row: row.minutes / row.expected)
    assert (long.step, long.counted) == ("wipe", False)
    assert any("set aside until you say" in words for words in demo_review.calibration.steps["blast"].words)


def test_the_intervals_known_before_each_job_kept_their_promise(demo_review: Review) -> None:
    found = demo_review.coverage
    assert found.jobs == sum(len(r.seen.jobs) for r in demo_review.calibration.steps.values())
    assert found.share == pytest.approx(0.90, abs=0.02)
    assert found.words.endswith("They keep their promise.")
    assert Coverage(10, 20, 0.3, 0.7).words.endswith(
        "The intervals are too narrow: the work is less steady than the log of its start."
    )
    assert Coverage(99, 100, 0.95, 1.0).words.endswith("The intervals are wider than need be.")
    assert Coverage(0, 1, 0.0, 0.85).words == "0 of 1 (0%) inside; promised 90%. Too few to judge."
    assert Coverage(0, 0, 0.0, 1.0).words == "No job logged yet."


def test_nothing_of_a_job_is_known_before_it(demo_review: Review) -> None:
    result = demo_review.calibration.steps["wipe"]
    mean, low, high = then_known(result)
    half = then_known(type(result)(result.step, result.seen.first(20), result.fit))
    assert all(np.array_equal(whole[:20], part) for whole, part in zip((mean, low, high), half, strict=True))


def test_then_and_now_adds_up_per_job(demo_review: Review) -> None:
    totals = job_totals(demo_review.compared)
    assert len(totals) >= 150
    first = totals[0]
    rows = [row for row in demo_review.compared if row.job == first.job and row.quoted is not None]
    assert (first.quoted, first.actual, first.steps) == (
        pytest.approx(sum(row.quoted or 0 for row in rows)),
        pytest.approx(sum(row.actual for row in rows)),
        len(rows),
    )


def test_what_to_time_next_is_what_costs_most(demo_review: Review) -> None:
    rows = demo_review.worth
    assert [row.timing for row in rows] == sorted((row.timing for row in rows), reverse=True)
    assert all(0 <= row.timing <= row.knowing for row in rows)
    assert rows[0].step == "wipe", "much of the time, and unsteady"
    bare = Review(demo_review.shop, [], demo_review.quotes, [], [], [], TODAY).worth
    assert {row.jobs for row in bare} == {0}
    before, after = ({row.step: row.knowing for row in some} for some in (bare, rows))
    assert all(after[step] < before[step] for step in after), "every job that is logged makes ignorance cheaper"


def test_before_any_quote_the_price_list_says_what_to_time_next(ledger: Ledger, shop: Shop) -> None:
    found = review(ledger, shop, today=TODAY).worth
    assert [row.timing for row in found] == sorted((row.timing for row in found), reverse=True)
    items = read_items(shop)
    wipe = next(row for row in found if row.step == "wipe")
    by_hand = sum(float(line.amount * line.rate) for item in items.values() for line in _terms(shop, item, "wipe"))
    assert wipe.minutes == pytest.approx(by_hand)
    assert wipe.jobs == 0
    assert wipe.timing > 0


def _terms(shop: Shop, item: Item, step: str) -> list[Term]:
    lots = (Lot(part=item.part, quantity=item.pieces),)
    sheet = cost(shop, Job(title=item.title, finish=item.two_tone, powders=item.powders, lots=lots))
    return [t for line in sheet.lines if line.step == step for u in line.uses for t in u.terms if t.gives == "hands"]


def test_the_value_of_knowing_counts_both_directions_by_simulation(demo_review: Review) -> None:
    row = demo_review.worth[0]
    money = row.knowing / row.unsure * np.sqrt(2 * np.pi) / 2  # at stake when the step takes twice the time
    draws = money * row.unsure * np.random.default_rng(3).standard_normal(200_000)
    assert row.knowing == pytest.approx(np.abs(draws).mean(), rel=0.02)


def test_won_and_lost_finds_that_price_decides(demo_review: Review) -> None:
    found = demo_review.winning
    assert isinstance(found, Winning)
    assert found.words.startswith("Dearer quotes are lost more often.")
    assert found.slope == pytest.approx(-5.0, abs=2.5)
    few = Review(demo_review.shop, [], demo_review.quotes, demo_review.outcomes[:4], [], [], TODAY).winning
    assert isinstance(few, str)
    assert few.startswith("Too few quotes to say")


def test_proposals_are_measured_dated_and_keep_the_mean(demo_review: Review) -> None:
    proposals = {proposal.key: proposal for proposal in demo_review.proposals}
    wipe, result = proposals["wipe.line_m.hands"], demo_review.calibration.steps["wipe"]
    column = result.seen.drivers.index("line_m")
    assert wipe.new.kind == "measured"
    assert wipe.new.mean == pytest.approx(float(result.fit.mean[column]), rel=2e-3)
    assert wipe.new.likely == pytest.approx(float(result.fit.typical[column]), rel=1e-3)
    assert wipe.new.where == f"{result.fit.rows} jobs from {result.seen.days[0]} to {result.seen.days[-1]}"
    assert wipe.new.read_on == "2026-11-25"
    assert wipe.new.low < wipe.new.likely < wipe.new.high
    reject = proposals["reject.wiped.casting"]
    assert reject.new.mean == pytest.approx(demo_review.rework["reject.wiped.casting"].share.mean, rel=5e-3)
    assert "strip_burn_off.job.hands" not in proposals, "never logged"
    assert not [p for p in proposals.values() if p.jobs < 5]


def test_accepting_a_row_changes_the_shop_and_keeps_what_stood_before(folder: Path, letters: Job) -> None:
    with open_ledger(folder) as ledger:
        before = open_shop(folder)
        first = {p.key: p for p in review(ledger, before, today=TODAY).proposals}
        files = accept(folder, [first["wipe.line_m.hands"], first["reject.wiped.wrought"]])
        assert files == [HISTORY, "assumptions.csv", "rates.csv"]
        after = open_shop(folder)
        assert after.rates["wipe.line_m.hands"] == first["wipe.line_m.hands"].new
        assert after.assumptions["reject.wiped.wrought"] == first["reject.wiped.wrought"].new
        assert after.rates["wipe.spot.hands"] == before.rates["wipe.spot.hands"]
        assert float(cost(after, letters).total) != float(cost(before, letters).total)
        with (folder / HISTORY).open() as file:
            old = {row["key"]: row for row in csv.DictReader(file)}
        assert (old["wipe.line_m.hands"]["likely"], old["wipe.line_m.hands"]["until"]) == (
            "2.2",
            datetime.now(UTC).astimezone().date().isoformat(),
        )
        assert first_beliefs(after)["wipe.line_m.hands"].likely == 2.2
        again = review(ledger, after, today=TODAY)
        result = again.calibration.steps["wipe"]
        assert float(result.fit.mean[result.seen.drivers.index("line_m")]) == pytest.approx(
            after.book["wipe.line_m.hands"], rel=2e-3
        )
        assert "wipe.line_m.hands" not in {p.key for p in again.proposals}, "no job counts twice"
        with pytest.raises(
            BadInput, match=r"wipe\.line_m\.hands is 'changed'; it must be as it was when it was proposed"
        ):
            accept(folder, [first["wipe.line_m.hands"]])
    assert accept(folder, []) == []


def test_drift_and_season_are_shown(demo_review: Review) -> None:
    steady = demo_review.calibration.steps["coat"]
    trend = drift(steady)
    assert trend is not None
    assert trend.low < 0 < trend.high
    assert not trend.sure
    by_month = months(steady)
    assert [m.month for m in by_month] == sorted(m.month for m in by_month)
    assert all(m.low < m.ratio < m.high for m in by_month)
    slower = [
        {**row, "minutes": row["minutes"] * 1.6 ** ((date.fromisoformat(row["on"]) - demo.FIRST).days / 365.25)}
        for row in demo_review.times
        if row["step"] == "coat"
    ]
    result = calibrate(slower, demo_review.shop.rates).steps["coat"]
    found = drift(result)
    assert found is not None
    assert found.sure
    assert found.low < 0.6 < found.high


def test_jobs_are_gathered_from_their_rows() -> None:
    rows = [
        {"job": "b", "step": "blast", "on": "2026-03-02", "minutes": 10.0, "amounts": {"m2": 1.0}, "confirmed": False},
        {"job": "b", "step": "blast", "on": "2026-03-04", "minutes": 5.0, "amounts": {"m2": 0.5}, "confirmed": True},
        {"job": "a", "step": "blast", "on": "2026-03-03", "minutes": 8.0, "amounts": {}, "confirmed": True},
        {"job": "c", "step": "blast", "on": "2026-03-01", "minutes": 9.0, "amounts": {}, "confirmed": False},
        {"job": "a", "step": "coat", "on": "2026-03-03", "minutes": 99.0, "amounts": {"m2": 9.0}, "confirmed": False},
    ]
    seen = observe(rows, "blast", ["job", "m2"], {"a": {"blast": {"m2": 0.7, "job": 1.0}}})
    assert seen.jobs == ("a", "b")
    assert seen.days == ("2026-03-03", "2026-03-04")
    assert seen.minutes.tolist() == [8.0, 15.0]
    assert seen.amounts.tolist() == [[1.0, 0.7], [1.0, 1.5]]
    assert seen.confirmed.tolist() == [True, False]
    assert seen.unusable == ("c",)
    told = StepResult(
        "coat", seen, fit_step(seen.minutes, seen.amounts, [Guess(d, 1.0, 2.0, 3.0) for d in seen.drivers])
    )
    assert "1 job teaches nothing: no amount of job or m2 was logged or quoted." in told.words


@pytest.mark.slow
def test_ten_thousand_rows_are_reviewed(tmp_path: Path) -> None:
    at = new_folder(tmp_path / "mine")
    lines = (data_folder() / "ledger" / "times.csv").read_text("utf-8").splitlines()
    with open_ledger(at) as ledger:
        for copy in range(7):
            path = tmp_path / f"{copy}.csv"
            path.write_text("\n".join([lines[0], *(f"{copy}{line}" for line in lines[1:])]), "utf-8")
            import_csv(ledger, "times", path)
        import_csv(ledger, "quotes", data_folder() / "ledger" / "quotes.csv")
    shop = open_shop(at)
    with open_ledger(at) as ledger:
        found = review(ledger, shop, today=TODAY)
        assert len(found.times) > 10_000
        assert found.proposals
        assert found.coverage.jobs > 10_000
        assert found.worth


def test_learning_does_not_lower_a_price_by_itself(tmp_path: Path) -> None:
    mine = new_folder(tmp_path / "mine")
    shop, items = open_shop(mine), read_items(open_shop(mine))
    row = shop.rates["wipe.line_m.hands"]
    faster = replace(row, low=row.low / 3, likely=row.likely / 3, high=row.high / 3, source=shop.sources["shop_log"])
    files, told = take(mine, [Proposal(row.key, row, faster, 30, ())])
    after = open_shop(mine)
    assert files
    assert "kept as they were" in told
    assert after.rates[row.key].mean == pytest.approx(row.mean / 3)
    before, now = price_list(shop, items), price_list(after, items)
    assert [one.tariff for one in now.rows] == [one.tariff for one in before.rows], "every price stands"
    assert any(one.own is not None for one in now.rows)
    assert now.row("sign_letter_300", "two_tone").asked.first < now.row("sign_letter_300", "two_tone").tariff.first
    back = replace(faster, low=row.low / 6, likely=row.likely / 6, high=row.high / 6)
    assert take(mine, [Proposal(row.key, faster, back, 30, ())], let_fall=True)[1] == "", "own prices never fall"


def test_prices_follow_where_the_owner_lets_them(tmp_path: Path) -> None:
    mine = new_folder(tmp_path / "mine")
    shop, items = open_shop(mine), read_items(open_shop(mine))
    row = shop.rates["wipe.line_m.hands"]
    faster = replace(row, low=row.low / 3, likely=row.likely / 3, high=row.high / 3, source=shop.sources["shop_log"])
    _, told = take(mine, [Proposal(row.key, row, faster, 30, ())], let_fall=True)
    assert told.startswith("With them fell")
    assert not open_shop(mine).own_prices
    lower = fallen(shop, open_shop(mine), items)
    assert lower
    assert all(one.now.first <= one.was.first and one.now.each <= one.was.each and one.by > 0 for one in lower)


def _steps_of(days: list[int], logs: list[float]) -> StepResult:
    first = date(2026, 1, 1).toordinal()
    rows = [
        {"job": f"{n}", "step": "coat", "on": date.fromordinal(first + day).isoformat(), "amounts": {"m2": 1.0}}
        | {"minutes": 10.0 * float(np.exp(off)), "confirmed": True}
        for n, (day, off) in enumerate(zip(days, logs, strict=True))
    ]
    seen = observe(rows, "coat", ["m2"])
    return StepResult("coat", seen, fit_step(seen.minutes, seen.amounts, [Guess("m2", 8.0, 10.0, 12.0)]))


def test_drift_is_the_slope_of_scipy_from_eight_jobs_over_ninety_days() -> None:
    days = [0, 10, 25, 40, 52, 61, 75, 90]
    logs = [0.00, 0.04, -0.02, 0.05, 0.08, 0.03, 0.09, 0.07]
    result = _steps_of(days, logs)
    assert (result.fit.weight > 0.5).all()
    found = drift(result)
    theirs = linregress(np.array(days) / 365.25, logs)
    assert found is not None
    assert np.log1p(found.per_year) == pytest.approx(theirs.slope, rel=1e-6)
    half = student.ppf(0.975, 6) * theirs.stderr
    assert np.log1p([found.low, found.high]) == pytest.approx([theirs.slope - half, theirs.slope + half], rel=1e-6)
    assert drift(_steps_of([*days[:-1], 89], logs)) is None
    assert drift(_steps_of(days[1:], logs[1:])) is None
    march = months(_steps_of([60, 61, 62, 90, 91], [0.1, 0.0, 0.2, 0.3, 0.1]))
    assert [(one.month, one.jobs) for one in march] == [(3, 3)]


def test_the_minutes_expected_are_those_quoted_last_and_ten_times_off_is_asked(shop: Shop) -> None:
    quotes = [{"job": "gate", "minutes": {"coat": minutes}, "sheet": {}} for minutes in (30.0, 40.0)]
    times = [
        {"job": f"{n}", "step": "hang", "on": "2026-03-02", "minutes": m, "amounts": {"part": 1.0}, "confirmed": True}
        for n, m in enumerate((2.0, 3.0, 7.0))
    ]
    found = Review(shop, times, quotes, (), (), (), TODAY)
    assert found.expected("gate", "coat") == 40.0
    assert found.expected("gate", "hang") == 3.0
    assert found.expected("other", "coat") == 0.0
    factor = assumptions().absurd_factor
    assert found.far_off("gate", "coat", 40.0 * factor) == 40.0
    assert found.far_off("gate", "coat", 40.0 / factor) == 40.0
    assert found.far_off("gate", "coat", 39.0 * factor) == 0.0


def test_only_quotes_with_a_cost_and_a_price_tell_of_winning_each_by_its_kind(shop: Shop) -> None:
    def quoted(job: str, **fields: object) -> dict[str, object]:
        return {"job": job, "cost": 100.0, "price": 150.0, "finish": "single", "sheet": {}, **fields}

    quotes = [quoted("a"), quoted("b", finish="two_tone_wiped", sheet={"items": ["gate"]}), quoted("c", cost=0.0)]
    quotes += [quoted("d", price=0.0), quoted("e", finish="gone"), quoted("f", cost=0.5, price=0.5)]
    outcomes = [{"job": job, "result": result} for job, result in zip("abcdef", ["won", "lost"] * 3, strict=True)]
    with patch("pricing.ledger.review.winning") as asked:
        assert Review(shop, (), quotes, outcomes, (), (), TODAY).winning
    ratio, won, kinds = asked.call_args.args
    assert ratio.tolist() == [1.5, 1.5, 1.5, 1.0]
    assert won.tolist() == [True, False, True, False]
    assert kinds == [("single-tone",), ("two-tone", "gate"), ("single-tone",), ("single-tone",)]

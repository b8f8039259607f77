"""A trial of prices: turns alternate, it outlives the program, and the curve learns from it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from pricing.basis.errors import BadInput
from pricing.basis.ranges import Between
from pricing.commands.main import main
from pricing.ledger.kinds import read_entry
from pricing.ledger.price_trial import PriceTrial, begin_trial, end_trial, read_trial, sides_of
from pricing.ledger.quotes import freeze
from pricing.ledger.store import Ledger
from pricing.ledger.winning import Winning, winning
from pricing.papers.customer_quote import quote_fields
from pricing.papers.told import PaperWords
from pricing.parts.job import Job, Lot, read_job
from pricing.parts.part import Part
from pricing.prices.price_rule import times_listed
from pricing.prices.quote import quote
from pricing.screens.panel_break_even import BreakEvenPanel
from pricing.screens.panel_job import JobPanel
from pricing.shop.folder import open_shop
from pricing.shop.policy import PricePoint
from pricing.shop.shop import Shop
from pricing.show.advice_view import won_and_lost
from pricing.show.desk import Desk
from pricing.show.own_log import URL_VARIABLE, opened_log
from pricing.show.price_trial_view import TrialStanding, start_trial, trial_of

DAY = date(2026, 11, 26)
LISTED = {"listed": 100.0}
BLACK_ON_WHITE = {"finish": "two_tone_wiped", "powders": ("jet black", "signal white")}


def test_turns_alternate_until_all_quotes_are_given(tmp_path: Path) -> None:
    assert read_trial(tmp_path) is None
    begin_trial(tmp_path, 1.2, 34, DAY, 0.95)
    trial = read_trial(tmp_path)  # as another program would, after a restart
    assert trial is not None
    assert (trial.times, trial.quotes, trial.before, trial.began) == (1.2, 20, 34, DAY)
    assert [trial.turn(34 + given) for given in range(22)] == [*range(1, 21), 0, 0]
    assert [trial.asks(34 + given) for given in range(22)] == [1.2, 0.95] * 10 + [1.0, 1.0]
    end_trial(tmp_path)
    assert read_trial(tmp_path) is None


def test_nothing_is_tried_where_the_advice_is_to_keep_the_list(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="times the list is '1.212'; it must be another price than 1.200 times"):
        begin_trial(tmp_path, 1.212, 0, DAY, 1.2)
    with (
        opened_log(tmp_path) as ledger,
        pytest.raises(BadInput, match="would hardly change the advice: ask what is advised"),
    ):
        start_trial(tmp_path, ledger, None, DAY)
    assert not (tmp_path / "price_trial.toml").exists()


def test_a_trial_begun_before_the_second_price_was_kept_goes_on_against_the_list(tmp_path: Path) -> None:
    (tmp_path / "price_trial.toml").write_text("began = 2026-11-26\ntimes = 1.3\nquotes = 20\nbefore = 0\n", "utf-8")
    trial = read_trial(tmp_path)
    assert trial is not None
    assert (trial.asks(0), trial.asks(1)) == (1.3, 1.0)


def test_a_file_that_says_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "price_trial.toml").write_text("began = 2026-11-26\ntimes = -1\nquotes = 20\nbefore = 0\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)price_trial.toml.*times is -1; it must be above 0"):
        read_trial(tmp_path)


@pytest.mark.parametrize("times", [1.2, 0.85])
def test_quotes_count_where_they_were_asked(tmp_path: Path, times: float) -> None:
    trial = begin_trial(tmp_path, times, 1, DAY)
    asked = [3.0, times, 1.0, times * 0.99, 1.01, times]
    quotes = [{"job": f"{at}", "price": 100 * by, "sheet": {"listed": 100.0}} for at, by in enumerate(asked)]
    quotes.append({"job": "by hand", "price": 100.0, "sheet": {}})
    results = [
        {"job": "0", "result": "won"},
        {"job": "1", "result": "won"},
        {"job": "2", "result": "lost"},
        {"job": "3", "result": "lost"},
    ]
    sides = sides_of(trial, quotes, results)
    assert sides["times"] == (3, 1, 1)
    assert sides["against"] == (2, 0, 1)


def test_who_asks_two_prices_learns_how_customers_mind_them() -> None:
    """The slope's doubt after twenty quotes at one price, and at two in turn; a mean over made-up shops."""
    doubts = {1.0: [], 1.25: []}  # type: dict[float, list[float]]
    for seed in range(60):
        draw = np.random.default_rng(seed)
        luck, near = draw.random(20), 1.4 * np.exp(draw.normal(0, 0.03, 20))
        for times, told in doubts.items():
            ratio = near * np.where(np.arange(20) % 2 == 0, times, 1.0)
            found = winning(ratio, luck < 1 / (1 + np.exp(-(0.4 - 4.0 * np.log(ratio / 1.4)))))
            assert isinstance(found, Winning)
            told.append(float(np.sqrt(found.covariance[1, 1])))
    assert np.mean(doubts[1.25]) < 0.93 * np.mean(doubts[1.0])


@pytest.mark.slow
def test_commands_and_pages_say_what_the_next_quote_asks(own: Path) -> None:
    def said(*words: str) -> str:
        done = CliRunner().invoke(main, [*words, "--shop", str(own)])
        assert done.exit_code == 0, done.output
        return done.output

    shop = open_shop(own)
    listed = quote(shop, read_job("bench_ends", shop)).net
    panel = BreakEvenPanel(Desk(own, read_only=False))
    panel.form.put("try", True)
    told = panel.form.state["tried"]["text"]
    assert told.startswith("Trial of prices, quote 1 of 20: it asks the list × 1.")
    assert panel.form.state["try"]["hidden"]
    trial = trial_of(own)
    assert trial is not None
    asks = trial.asks(quote(shop, read_job("bench_ends", shop)))
    assert asks >= listed * trial.trial.times
    assert asks % 5 == 0
    assert f"quote 1 of 20: ask €{asks:,.2f} without tax" in said("quote", "bench_ends")
    said("log", "quote", "bench_ends", f"{asks:.2f}")
    said("log", "won", "bench_ends")
    second = said("quote", "bench_ends")
    on_paper = said("customer-quote", "bench_ends", "--asked", f"{asks:.2f}", "--format", "html", "--out", f"{own}/to")
    assert f"€{asks:,.2f}" in Path(on_paper.splitlines()[0]).read_text("utf-8")
    low = trial_of(own).asks(quote(shop, read_job("bench_ends", shop)))  # type: ignore[union-attr]
    assert f"quote 2 of 20: ask €{low:,.2f} without tax, the list × {trial.trial.against:.2f}." in second
    assert f"So far 1 of 1 won at the list × {trial.trial.times:.2f}." in second
    job = JobPanel(Desk(own, read_only=False))
    assert "quote 2 of 20" in job.form.state["trial"]["text"]
    job.form.put("quote", True)
    assert "quote 3 of 20" in job.form.state["trial"]["text"]
    job.form.put("tried", True)
    asked = float(job.form["asked"].value)
    assert job._paper(DAY, own).fields["price"]["net"] == pytest.approx(asked, abs=0.005)
    assert job.trial is not None
    made = job.trial.quote
    assert float(job.form["asked"].value) == pytest.approx(trial_of(own).asks(made))  # type: ignore[union-attr]
    assert float(job.form["asked"].value) > made.net
    panel.show()
    assert panel.form.state["tried"]["text"].startswith("Trial of prices, quote 3 of 20")
    assert panel.form.state["try"]["hidden"]
    advised = " ".join(said("advise").split())
    assert "Trial of prices, quote 3 of 20" in advised
    assert "Begin with" not in advised, "a trial is running"
    assert "No prices are tried any more" in said("advise", "--trial", "stop")
    panel.form.put("untry", True)
    assert panel.form.state["untry"]["hidden"]
    assert "Trial" not in said("quote", "bench_ends")


def test_a_quote_asks_on_the_price_points_of_the_list_it_is_made_by(shop: Shop, letters: Job) -> None:
    sevens = (PricePoint(up_to=1e6, step=7.0),)
    theirs = replace(shop, policy=shop.policy.model_copy(update={"price_points": sevens, "prices_include_tax": False}))
    found = quote(theirs, letters)
    asks = TrialStanding(PriceTrial(began=DAY, times=1.17, quotes=20, before=0), 0, "").asks(found)
    assert 0 <= asks - 1.17 * found.net < 7
    assert asks % 7 == pytest.approx(0.0)


@pytest.mark.parametrize("with_tax", [False, True])
def test_the_paper_prints_what_is_asked(shop: Shop, letters: Job, *, with_tax: bool) -> None:
    mine = replace(shop, policy=shop.policy.model_copy(update={"prices_include_tax": with_tax}))
    found = quote(mine, letters)
    asked = times_listed(found.net, 1.17, mine.policy)
    fields = quote_fields(mine, letters, day=DAY, asked=asked)
    kept = freeze(found.sheet, letters, asked, on=DAY, listed=found.net)
    assert fields["price"]["net"] == pytest.approx(kept.price, abs=0.005)
    assert fields["price"]["total"] == pytest.approx(kept.price * (1 + mine.policy.sales_tax), abs=0.01)
    rows = {kind: amount for _, amount, kind in fields["price_rows"] if kind}
    assert rows["price"] == PaperWords(mine).money(fields["price"]["net"])
    assert {option["net"] for option in fields["options"] if option["chosen"]} == {fields["price"]["net"]}
    listed = {option["title"]: option["net"] for option in quote_fields(mine, letters, day=DAY)["options"]}
    assert all(option["net"] > listed[option["title"]] for option in fields["options"])
    assert found.asking(found.net) is found


def test_both_ends_of_open_amounts_move_with_the_price_asked(shop: Shop, plate: Part) -> None:
    wide = plate.model_copy(update={"line_m": Between(1.0, 6.0, 1.4)})
    found = quote(shop, Job(title="p", lots=(Lot(part=wide, quantity=20),), **BLACK_ON_WHITE))
    assert found.between is not None
    dearer = found.asking(found.net * 1.25)
    assert dearer.between is not None
    assert dearer.between[0].net <= dearer.net <= dearer.between[1].net
    assert dearer.between[1].net / found.between[1].net == pytest.approx(1.25, rel=0.03)


def test_trial_and_advice_read_the_log_wherever_it_is_kept(
    own: Path, url: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = url or f"sqlite:///{own / 'another name.db'}"
    shop = open_shop(own)
    begin_trial(own, 1.2, 0, DAY)
    assert won_and_lost(shop) == "No log yet."

    def log(ledger: Ledger, job: str, result: str) -> None:
        told = {"job": job, "on": DAY, "price": 120.0, "cost": 80.0, "finish": "f", "currency": "EUR", "sheet": LISTED}
        ledger.add("quotes", read_entry("quotes", told, "test"))
        ledger.add("outcomes", read_entry("outcomes", {"job": job, "on": DAY, "result": result}, "test"))

    with opened_log(own, address) as ledger:
        for at in range(6):
            log(ledger, f"j{at}", "won" if at % 3 else "lost")
    assert not (own / "ledger.db").exists()
    monkeypatch.setenv(URL_VARIABLE, address)
    trial = trial_of(own)
    assert trial is not None
    assert trial.next_words().endswith("quote 7 of 20: it asks the list × 1.20. So far 4 of 6 won at the list × 1.20.")
    curve = won_and_lost(shop)
    assert isinstance(curve, Winning)
    assert (curve.won, curve.lost) == (4, 2)
    with opened_log(own) as ledger:  # what is kept of the log is read again when a fact is added
        log(ledger, "j6", "lost")
    curve = won_and_lost(shop)
    assert isinstance(curve, Winning)
    assert curve.lost == 3
    assert "quote 8 of 20" in trial_of(own).next_words()  # type: ignore[union-attr]

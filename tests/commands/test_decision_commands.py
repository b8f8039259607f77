"""Break-even, two-tone, risk and capacity, run as an owner runs them."""

from pathlib import Path

import pytest

from pricing.costing.sheet import cost
from pricing.parts.job import Job
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop
from pricing.show.naming import Names
from tests.commands.test_commands import JOB, process, refused, run, run_json


def test_break_even_answers_every_question(shop: Shop, letters: Job) -> None:
    told = run_json("break-even", JOB)
    assert told["price"]["turns"][0]["value_EUR"] == pytest.approx(float(cost(shop, letters).total), rel=1e-6)
    assert told["wipe"]["turns"][0]["value_min_per_m"] > 0
    assert told["batch"]["always_from"] >= 1
    assert len(told["batch"]["count"]) == len(told["batch"]["cost_each_EUR"]) == 60
    text = run("break-even", JOB)
    for words in ("By price, it pays from €", "By wiping time", "By batch size", "owner's hour", "number of such jobs"):
        assert words in text


def test_break_even_of_a_row_of_the_list() -> None:
    told = run_json("break-even", "--item", "bicycle_frame", "--over", "line", "--price", "300 EUR")
    assert told["price_net_EUR"] == 300.0
    assert "line" in told["line"]["in_words"]
    single = run_json(
        "break-even", "--item", "gate_single", "--column", "single", "--over", "batch", "--to", "9", "--from", "2"
    )
    assert single["batch"]["count"] == [2, 3, 4, 5, 6, 7, 8, 9]


def test_break_even_reads_units(shop: Shop) -> None:
    told = run_json("break-even", JOB, "--over", "wipe", "--from", "0.1 min/ft", "--to", "1 min/ft")
    assert told["wipe"]["low_min_per_m"] == pytest.approx(0.1 / 0.3048, rel=1e-5)
    share = run_json("break-even", JOB, "--over", "reject", "--from", "1 %", "--to", "0.5")
    assert (share["reject"]["low_share"], share["reject"]["high_share"]) == (0.01, 0.5)


def test_a_month_of_the_wanted_week() -> None:
    told = run_json("break-even", "--over", "month")
    assert told["orders_break_even"] * told["contribution_per_order_EUR"] == pytest.approx(told["fixed_costs_EUR"])
    assert "of this mix pay the fixed costs" in run("break-even", "--over", "month").replace("\n", " ")


def test_what_is_wrong_with_a_question_is_told() -> None:
    assert "JOB is 'missing'; it must be a job, or --item" in refused("break-even")
    assert "--item is 'bicycle'; it must be" in refused("break-even", "--item", "bicycle")
    assert "Write '3 EUR' or '3000 EUR' for 3,000 EUR" in refused("break-even", JOB, "--price", "3.000")
    assert "one question where --from or --to" in refused("break-even", JOB, "--from", "1", "--to", "2")
    assert "--to is 'missing'; it must be given with the other" in refused(
        "break-even", JOB, "--over", "batch", "--from", "1"
    )
    assert "--from is 'two'; it must be a whole number" in refused(
        "break-even", JOB, "--over", "batch", "--from", "two", "--to", "9"
    )
    assert "nothing is wiped" in refused("break-even", JOB, "--finish", "single", "--over", "wipe")


def test_two_tone_gives_three_answers_and_the_crossing() -> None:
    told = run_json("two-tone", JOB, "--draws", "16384")
    base = told["plain"]
    assert told["keeps margin share"]["margin_share"] == pytest.approx(base["margin_share"])
    assert told["keeps what an hour brings"]["earns_EUR_per_scarce_h"] == pytest.approx(
        base["earns_EUR_per_scarce_h"], rel=1e-5
    )
    assert told["keeps chance of loss"]["chance_of_loss_share"] <= told["chance_of_loss_kept_share"]
    assert told["wiped_or_masked"]["wipe"]["turns"][0]["value_min_per_m"] > 0
    text = run("two-tone", JOB, "--draws", "16384")
    for words in ("margin share", "what an hour brings", "chance of loss", "By wiping time, cheaper is wiping"):
        assert words in text
    assert "it must be two_tone_wiped" in refused("two-tone", JOB, "--finish", "single")


def test_risk_of_one_job() -> None:
    told = run_json("risk", JOB, "--draws", "20000", "--seed", "3", "--chance", "0.1")
    assert told == run_json("risk", JOB, "--draws", "20000", "--seed", "3", "--chance", "0.1")
    axis = told["chance_of_loss_by_price"]
    assert len(axis["price_EUR"]) == len(axis["chance_share"]) == 200
    assert axis["chance_share"] == sorted(axis["chance_share"], reverse=True)
    assert told["quantiles_EUR"]["P5"] < told["quantiles_EUR"]["P50"] < told["quantiles_EUR"]["P95"]
    assert told["quantiles_EUR"]["P75"] < told["price_for_chance_EUR"] < told["quantiles_EUR"]["P95"]
    assert told["chance_of_loss_share"] < told["chance_of_loss_if_slower_share"]
    assert told["in_words"].startswith("Of a hundred such jobs")
    assert [one["kind"] for one in told["reasons"]][:2] == ["speed", "whole job"]
    assert told["what_matters"][0]["total_share"] >= told["what_matters"][1]["total_share"]
    text = run("risk", JOB, "--draws", "20000")
    for words in (
        "chance of loss at",
        "What matters most",
        "luck: parts found bad after cure",
        "On average it costs",
    ):
        assert words in text


def test_risk_of_several_jobs_is_the_same_on_processes() -> None:
    words = ("risk", "sign_letters", "bench_ends", "--draws", "20000")
    assert run_json(*words) == run_json(*words, "--workers", "2")
    assert "How sure the costs are" in run(*words)


def test_no_risk_is_told_of_what_may_not_be_quoted() -> None:
    assert "do not quote" in refused("risk", "wheels_three_coats")


def test_a_long_run_shows_its_progress_on_the_error_stream() -> None:
    done = process("-m", "pricing", "risk", "sign_letters", "--draws", "2000000", "--json")
    assert done.returncode == 0, done.stderr
    assert "piece" in done.stderr


def test_capacity_ranks_the_work_and_prices_an_hour() -> None:
    told = run_json("capacity", "--more", "owner=1 h", "--rush", "bench_ends")
    assert told["runs_out_first"] == "owner"
    owner = next(row for row in told["resources"] if row["name"] == "owner")
    assert owner["one_more_hour_EUR"] == pytest.approx(told["more_hours_earn_EUR_per_week"])
    earns = [row["earns_EUR_per_scarce_h"] for row in told["ranking"]]
    assert earns == sorted(earns, reverse=True)
    assert told["rush"]["displaced_EUR"] > 0
    text = run("capacity", "--more", "owner=60 min", "--rush", "bench_ends").replace("\n", " ")
    for words in ("First to run out: owner", "With +1 h owner the week earns", "Rush 'Four cast-iron bench ends"):
        assert words in text
    assert "--more is 'owner'; it must be a resource and hours" in refused("capacity", "--more", "owner")
    assert "resource is 'oven'; it must be owner, helper" in refused("capacity", "--more", "oven=1 h")


def test_numbers_of_the_book_have_names_in_words(shop: Shop) -> None:
    names = Names(shop)
    assert names.of("wipe.line_m.hands") == "Wipe the line clean: minutes per metre of line"
    assert names.of("film.signal white") == "film of signal white"
    assert names.of("reject.wiped.casting") == "reject rate, wiped finish, casting"
    assert names.of("oven.jobs_per_load") == "oven, jobs per load"
    assert all("_" not in names.of(key) for key in shop.uncertain)


def test_the_three_ways_to_buy_a_colour_are_told(tmp_path: Path) -> None:
    found = run_json("powders")
    assert found["sky blue"]["way"] == "shared"
    assert found["sky blue"]["stocked"] <= found["sky blue"]["shared"] < found["sky blue"]["passed_on"]
    assert "sky blue" in run("powders")
    folder = new_folder(tmp_path / "mine")
    table = folder / "powders.csv"
    table.write_text(table.read_text("utf-8").replace("shared,138,", "shared,2,"), "utf-8")
    assert "powders.csv" in run("powders", "--shop", str(folder), "--save")
    assert open_shop(folder).powders["sky blue"].uses == 138.0

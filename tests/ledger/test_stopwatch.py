"""The stopwatch: buttons in, minutes out, and nothing lost or doubled on the way."""

import multiprocessing
import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.ledger import clocks, stopwatch
from pricing.ledger.clocks import Moment, Pressed
from pricing.ledger.store import Ledger, open_ledger

START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)


class Clock:
    """Both clocks, set by hand: the time of day may be set back, the steady one only runs forward."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.at, self.steady_s, self.machine = START, 1000.0, "one"
        monkeypatch.setattr(clocks, "datetime", self)
        monkeypatch.setattr(clocks, "_steady_s", lambda: self.steady_s)
        monkeypatch.setattr(clocks, "_clock", lambda: self.machine)

    def now(self, _zone: object) -> datetime:
        return self.at

    def wait(self, minutes: float) -> None:
        self.at += timedelta(minutes=minutes)
        self.steady_s += 60 * minutes

    def set_back(self, minutes: float) -> None:
        self.at -= timedelta(minutes=minutes)

    def moment(self) -> Moment:
        return Moment(self.at, self.steady_s, self.machine)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


def test_start_switch_pause_and_finish(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(12)
    stopwatch.start(ledger, "gate", "coat")
    clock.wait(5)
    stopwatch.pause(ledger, "gate")
    clock.wait(45)
    watch = stopwatch.start(ledger, "gate", "coat")
    clock.wait(3)
    assert watch.running is not None
    assert list(stopwatch.watches(ledger)) == ["gate"]
    assert stopwatch.read_watch(ledger, "gate").minutes == pytest.approx({"blast": 12.0, "coat": 8.0})
    written = stopwatch.finish(ledger, "gate", {"blast": {"m2": 1.5}, "coat": {"m2": 1.5, "part": 2}}, worker="owner")
    rows = {row["step"]: row for row in ledger.rows("times")}
    assert [rows["blast"]["minutes"], rows["coat"]["minutes"]] == pytest.approx([12.0, 8.0])
    assert rows["coat"]["amounts"] == {"m2": 1.5, "part": 2.0}
    assert {row["id"] for row in rows.values()} == set(written)
    assert {row["how"] for row in rows.values()} == {"stopwatch"}
    assert stopwatch.watches(ledger) == {}


def test_minutes_that_are_told_are_written_as_told_whatever_the_clock_counted(ledger: Ledger, clock: Clock) -> None:
    for at in range(1, 61):
        stopwatch.start(ledger, f"gate {at}", "blast")
        clock.wait(at / 70_000)
        stopwatch.finish(ledger, f"gate {at}", {}, minutes={"blast": 21.0})
    assert {row["minutes"] for row in ledger.rows("times")} == {21.0}


def test_finishing_twice_writes_the_facts_once(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(12)
    stopwatch.finish(ledger, "gate", {})
    assert stopwatch.finish(ledger, "gate", {}) == []
    assert [row["minutes"] for row in ledger.rows("times")] == [12.0]


def _finish(folder: Path, url: str | None) -> None:
    with open_ledger(folder, url) as ledger:
        os._exit(10 + len(stopwatch.finish(ledger, "gate", {}, minutes={"blast": 12.0})))


def test_of_four_screens_that_finish_at_once_one_writes(tmp_path: Path, url: str | None) -> None:
    with open_ledger(tmp_path, url) as ledger:
        stopwatch.start(ledger, "gate", "blast")
    fork = multiprocessing.get_context("fork")
    children = [fork.Process(target=_finish, args=(tmp_path, url)) for _ in range(4)]
    for child in children:
        child.start()
    for child in children:
        child.join()
    assert sorted(child.exitcode or 0 for child in children) == [10, 10, 10, 11]
    with open_ledger(tmp_path, url) as ledger:
        assert [row["minutes"] for row in ledger.rows("times")] == pytest.approx([12.0])


def test_a_start_after_a_finish_is_a_new_run(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(10)
    stopwatch.finish(ledger, "gate", {})
    clock.set_back(30)
    stopwatch.start(ledger, "gate", "coat")
    clock.wait(6)
    assert stopwatch.read_watch(ledger, "gate").minutes == pytest.approx({"coat": 6.0})


def test_a_button_pressed_twice_counts_once(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(4)
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(4)
    assert stopwatch.read_watch(ledger, "gate").minutes == pytest.approx({"blast": 8.0})


def test_the_minutes_of_two_people_on_one_step_are_a_fact_each(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "wipe", worker="owner")
    clock.wait(6)
    stopwatch.start(ledger, "gate", "wipe", worker="helper")
    clock.wait(3.2)
    stopwatch.finish(ledger, "gate", {"wipe": {"line_m": 4.0}})
    rows = {row["worker"]: row for row in ledger.rows("times")}
    assert rows["owner"]["minutes"] == pytest.approx(9.2)
    assert rows["helper"]["minutes"] == pytest.approx(3.2)
    assert (rows["owner"]["amounts"], rows["helper"]["amounts"]) == ({"line_m": 4.0}, {})


def test_each_person_has_a_watch_and_one_step_at_a_time(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast", worker="owner")
    stopwatch.start(ledger, "gate", "hang", worker="helper")
    clock.wait(10)
    stopwatch.start(ledger, "chair", "coat", worker="owner")
    clock.wait(5)
    assert stopwatch.read_watch(ledger, "gate").minutes == pytest.approx({"blast": 10.0, "hang": 15.0})
    assert stopwatch.read_watch(ledger, "chair").minutes == pytest.approx({"coat": 5.0})
    assert list(stopwatch.watches(ledger)) == ["chair", "gate"]


def test_a_forgotten_watch_asks_for_its_minutes_and_loses_the_others_not(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(20)
    stopwatch.start(ledger, "gate", "wipe")
    clock.wait(14 * 60)
    assert stopwatch.read_watch(ledger, "gate").forgotten == ("wipe",)
    with pytest.raises(
        BadInput, match=r"minutes of wipe is '840'; it must be under 600 without a break\. The watch was"
    ):
        stopwatch.finish(ledger, "gate", {})
    stopwatch.finish(ledger, "gate", {}, minutes={"wipe": 55.0})
    assert {row["step"]: row["minutes"] for row in ledger.rows("times")} == {"blast": 20.0, "wipe": 55.0}


@pytest.mark.parametrize("between", ["switch", "pause", "finish"])
def test_a_clock_that_is_set_back_takes_no_minutes_away(ledger: Ledger, clock: Clock, between: str) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(25)
    clock.set_back(60)
    if between == "switch":
        stopwatch.start(ledger, "gate", "coat")
        clock.wait(7)
    elif between == "pause":
        stopwatch.pause(ledger, "gate")
    stopwatch.finish(ledger, "gate", {})
    assert {row["step"]: row["minutes"] for row in ledger.rows("times")} == pytest.approx(
        {"blast": 25.0} | ({"coat": 7.0} if between == "switch" else {})
    )
    assert stopwatch.watches(ledger) == {}


def test_a_clock_that_is_set_forward_adds_none(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(25)
    clock.set_back(-3000)
    stopwatch.finish(ledger, "gate", {})
    assert [row["minutes"] for row in ledger.rows("times")] == pytest.approx([25.0])


def test_minutes_below_none_are_asked_about_and_the_job_can_be_finished(ledger: Ledger, clock: Clock) -> None:
    stopwatch.start(ledger, "gate", "hang")
    clock.wait(5)
    stopwatch.start(ledger, "gate", "blast")
    clock.wait(25)
    clock.machine, clock.steady_s = "started anew", 3.0
    clock.set_back(60)
    assert stopwatch.read_watch(ledger, "gate").backwards == ("blast",)
    for _ in range(2):
        with pytest.raises(
            BadInput, match=r"minutes of blast is 'below 0'; .* The clock was set back while it ran: say"
        ):
            stopwatch.finish(ledger, "gate", {})
    assert ledger.rows("times") == []
    stopwatch.finish(ledger, "gate", {}, minutes={"blast": 25.0})
    assert {row["step"]: row["minutes"] for row in ledger.rows("times")} == {"hang": 5.0, "blast": 25.0}
    assert stopwatch.watches(ledger) == {}


def test_the_steady_clock_runs_forward_and_says_which_it_is() -> None:
    first = Moment.now()
    time.sleep(0.02)
    assert 0.02 / 60 <= Moment.now().minutes_from(first) < 1
    assert Moment.now().clock == first.clock != ""


def test_what_cannot_be_pressed_is_told(ledger: Ledger, clock: Clock) -> None:
    with pytest.raises(BadInput, match=r"step is 'blsting'; it must be a step of steps\.csv"):
        stopwatch.start(ledger, "gate", "blsting")
    with pytest.raises(BadInput, match=r"job is 'gate'; it must be a job whose watch runs\. Start a step first"):
        stopwatch.pause(ledger, "gate")
    stopwatch.start(ledger, "gate", "blast")
    with pytest.raises(BadInput, match=r"amounts is 'coat'; it must be blast"):
        stopwatch.finish(ledger, "gate", {"coat": {"m2": 1.0}})
    with pytest.raises(BadInput, match=r"minutes is 'blsat'; it must be blast\. Did you mean 'blast'\?"):
        stopwatch.finish(ledger, "gate", {}, minutes={"blsat": 5.0})
    with pytest.raises(BadInput, match=r"amount of kg is 2\.0; it must be driven by job, part or m2"):
        stopwatch.finish(ledger, "gate", {"blast": {"kg": 2.0}})
    assert ledger.rows("times") == []


def test_buttons_of_finished_jobs_can_be_left_unread(ledger: Ledger) -> None:
    draw = np.random.default_rng(7)
    at = START
    for _ in range(150):
        job, step = draw.choice(["gate", "chair", "bench"]), draw.choice(["blast", "coat"])
        action = str(draw.choice(["start", "start", "pause", "finish"]))
        worker = str(draw.choice(["", "helper"]))
        # a clock that is a little off now and then, as those of two screens are
        moment = at - timedelta(seconds=float(draw.choice([0, 0, 40])))
        ledger.add("watch", Pressed(job=job, step=step, action=action, worker=worker, pressed=moment))
        at += timedelta(seconds=30)
        whole: dict[str, set[str]] = {}
        for run in stopwatch.runs_of(ledger.rows("watch")):
            whole.setdefault(run.job, set()).add(run.id)
        found = {
            job: {run.id for run in watch.runs} for job, watch in stopwatch.watches(ledger, now=Moment(at)).items()
        }
        assert found == whole


@given(st.lists(st.tuples(st.sampled_from(["blast", "coat", "pause"]), st.integers(1, 90)), max_size=30))
def test_minutes_of_one_person_never_exceed_the_clock(presses: list[tuple[str, int]]) -> None:
    buttons, at, worked, running = [], START, 0.0, False
    for number, (what, minutes) in enumerate(presses):
        action = "pause" if what == "pause" else "start"
        step = "blast" if what == "pause" else what
        buttons.append(
            {
                "job": "gate",
                "step": step,
                "action": action,
                "worker": "",
                "pressed": at.isoformat(),
                "id": str(number),
                "steady_s": None,
                "clock": "",
            }
        )
        running = action == "start"
        worked += minutes if running else 0.0
        at += timedelta(minutes=minutes)
    runs = stopwatch.runs_of(buttons)
    assert sum(run.minutes(Moment(at)) for run in runs) == pytest.approx(worked)

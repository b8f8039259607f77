"""``start``: the first visit in a terminal."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.commands.start_command import start_command
from pricing.shop.folder import open_shop
from pricing.shop.visit import NOT_KNOWN


@pytest.mark.slow
def test_it_asks_keeps_what_was_said_and_goes_on(tmp_path: Path) -> None:
    at, run = tmp_path / "mine", CliRunner()
    typed = ["30 %", "19 %", "2, 9", "0", "48", "43", "undo", "44 h", "I don’t know", "45000", "stop"]
    first = run.invoke(start_command, [str(at)], input="\n".join([*typed, ""]))
    assert first.exit_code == 0, first.output
    assert "sure to within" in first.output
    assert "Must be above 0" in first.output
    assert "Taken back: How many hours a week are you in the shop?" in first.output
    assert max(len(line) for line in first.output.splitlines() if str(at) not in line) <= 80
    shop = open_shop(at)
    assert (shop.policy.target_margin, shop.policy.sales_tax) == (0.30, 0.19)
    assert shop.visited["sold"] == "sign_letter_300 gate_single"
    assert shop.owner.draw_per_y == 45_000
    assert (shop.owner.weeks, shop.owner.hours_per_week_h) == (48, 44)
    assert list(shop.visited.values()).count(NOT_KNOWN) == 1
    again = run.invoke(start_command, [str(at)], input="")  # the terminal is gone at once
    assert again.exit_code == 0
    assert "take home" not in again.output
    assert "Nothing was changed" in again.output
    refused = run.invoke(start_command, [str(at), "--currency", "USD"])
    assert refused.exit_code == 2
    assert "a new folder" in refused.output


@pytest.mark.slow
def test_remembered_jobs_speak(tmp_path: Path) -> None:
    at, run = tmp_path / "mine", CliRunner()
    jobs = [word for _ in range(3) for word in ("--job", "gate_single, single, 1, 180 EUR, 6 h")]
    done = run.invoke(start_command, [str(at), *jobs], input="stop\n")
    assert done.exit_code == 0, done.output
    assert "3 jobs took" in done.output
    shop = open_shop(at)
    assert shop.rates["blast.m2.hands"].source.key == "remembered_jobs"
    few = run.invoke(start_command, [str(at), "--job", "gate_single, single, 1"], input="stop\n")
    assert few.exit_code == 2
    assert "how many" in few.output

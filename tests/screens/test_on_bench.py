"""The job on the bench: made once, shown by every page, with all its kinds of parts and the same oven."""

from pathlib import Path

import pytest

from pricing.costing.sheet import cost
from pricing.screens.on_bench import AS_IT_IS, BENCH_FILE, OnBench
from pricing.screens.panel_break_even import BreakEvenPanel
from pricing.screens.panel_job import JobPanel
from pricing.screens.panel_log import LogPanel
from pricing.screens.panel_partner import PartnerPanel
from pricing.screens.panel_two_tone import TwoTonePanel
from pricing.show.desk import Desk


def test_a_job_made_on_page_2_stands_on_pages_4_5_6_and_7_at_the_same_cost(own: Path) -> None:
    two_tone, even, partner, log = (
        page(Desk(own, read_only=False)) for page in (TwoTonePanel, BreakEvenPanel, PartnerPanel, LogPanel)
    )
    job = JobPanel(Desk(own, read_only=False))
    job.form.put("begun", "item:bench_end")
    job.form.put("quantity", "4")
    job.form.put("alone", given=True)
    job.form.put("another", "wheel_set")
    job.form.put("title", "Benches and wheels")
    for panel in (two_tone, even, partner, log):
        panel.on_bench.look()
    total = float(cost(job.desk.shop, job.job).total)
    assert job.trial.total == pytest.approx(total, rel=1e-12)
    assert even.cost == two_tone.sides.fancy.total == partner.sides.fancy.total == job.trial.total
    assert two_tone.sides.listed == even.even.quote.net == job.trial.quote.net
    assert log.form["job"].value == "Benches and wheels"
    assert TwoTonePanel(Desk(own, read_only=False)).sides.fancy.total == job.trial.total, "after a restart too"
    two_tone.form.put("kind", "1")
    two_tone.form.put("quantity", "2")
    job.on_bench.look()
    assert [lot.quantity for lot in job.job.lots] == [4, 2]
    assert job.job.alone
    job.form.put("off", given=True)
    assert [lot.item.key for lot in job.job.lots] == ["wheel_set"]
    job.form.put("off", given=True)
    assert len(job.job.lots) == 1, "the last kind stays"


def test_page_4_shows_two_colours_and_leaves_a_job_in_one_colour_as_it_is(own: Path) -> None:
    job = JobPanel(Desk(own, read_only=False))
    plain = job.desk.items["bench_end"].single
    job.form.put("finish", plain)
    page = TwoTonePanel(Desk(own, read_only=False))
    page.form.put("line_m", "5 m")
    job.on_bench.look()
    assert job.job.finish == plain
    assert job.job.lots[0].part.line_m == 5
    page.form.put("way", "two_tone_masked")
    job.on_bench.look()
    assert job.job.finish == "two_tone_masked"


def test_what_lies_on_the_bench_survives_what_it_began_from_and_a_spoiled_file(own: Path) -> None:
    desk = Desk(own, read_only=False)
    job = JobPanel(desk)
    job.form.put("begun", "job:bench_ends")
    job.form.put("quantity", "7")
    (own / "jobs" / "bench_ends.toml").unlink()
    again = JobPanel(Desk(own, read_only=False))
    assert (again.begun, again.job.lots[0].quantity) == (AS_IT_IS, 7)
    (own / BENCH_FILE).write_text("{", "utf-8")
    assert JobPanel(Desk(own, read_only=False)).begun == "job:sign_letters"


def test_a_visitor_has_a_bench_that_travels_in_links_and_is_kept_nowhere(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = BreakEvenPanel(Desk(own, read_only=True))
    assert page.bar.told["carried"] == ""
    page.form.put("begun", "item:bench_end")
    page.form.put("quantity", "3")
    assert not (own / BENCH_FILE).exists()
    monkeypatch.setenv("QUERY_STRING", f"token=x&{page.bar.told['carried']}")
    assert OnBench(Desk(own, read_only=True)).job == page.job
    assert OnBench(Desk(own, read_only=False)).job != page.job, "the shop's own bench is not set by an address"
    for spoiled in ("on=", "on=xx", f"{page.bar.told['carried'][:-9]}", f"on={'A' * 30_000}"):
        monkeypatch.setenv("QUERY_STRING", spoiled)
        assert OnBench(Desk(own, read_only=True)).begun == "job:sign_letters"

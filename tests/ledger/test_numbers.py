"""Loads, meters, powder, packs, enquiries and names teach their numbers: right in the end, honest on the way."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import beta

from pricing.basis.facts import fact
from pricing.costing.sheet import cost
from pricing.ledger.entries import Load, Meter, Outcome, Packed, Took, Weighed
from pricing.ledger.numbers import NumberSeen, learn_enquiries, learn_ratio, seen_in_loads
from pricing.ledger.proposals import HISTORY, accept, book_row, first_beliefs, take_back
from pricing.ledger.quotes import freeze
from pricing.ledger.review import Review, review
from pricing.ledger.store import Ledger, open_ledger
from pricing.ledger.workers import HELPER, Pace, learn_helper, paces
from pricing.parts.job import Job
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from tests.benchmarks.what_teaches import PACE, TRUE, filled
from tests.ledger.conftest import DAY


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop that has logged a hundred jobs; its truth is that of the benchmark."""
    from pricing.shop.folder import new_folder

    at = new_folder(tmp_path_factory.mktemp("numbers") / "mine")
    powders = (at / "powders.csv").read_text("utf-8")
    (at / "powders.csv").write_text(powders.replace("20 kg,stocked,368,", "20 kg,shared,2,"), "utf-8")
    with open_ledger(at) as ledger:
        filled(ledger, open_shop(at), 100, seed=4)
    return at


@pytest.fixture(scope="module")
def read(folder: Path) -> Review:
    with open_ledger(folder) as ledger:
        return review(ledger, open_shop(folder), today=DAY)


@pytest.mark.parametrize("key", sorted(TRUE))
def test_a_hundred_jobs_teach_the_number(read: Review, key: str) -> None:
    found = {one.key: one for one in read.numbers}[key]
    guess = read.beliefs[key]
    few = {"helper.share": 0.5, "uses.jet black": 0.6}  # a hundred jobs are few packs, and few large jobs
    assert found.mean == pytest.approx(TRUE[key], rel=few.get(key, 0.1))
    assert abs(found.mean / TRUE[key] - 1) < max(abs(guess.mean / TRUE[key] - 1), 0.05), "better than the guess"
    assert found.low < found.mean < found.high
    assert found.sure[0] < TRUE[key] < found.sure[1] or abs(found.mean / TRUE[key] - 1) < 0.1


def test_what_a_load_should_have_taken_is_kept_with_the_quote(shop: Shop, letters: Job) -> None:
    sheet = cost(shop, letters)
    kept = freeze(cost(shop, letters), letters, 400.0, on=DAY).sheet["expected"]
    steps = [visit["step"] for visit in kept["oven"]]
    assert steps == [line.step for line in sheet.lines if line.step in {"outgas", "partial_cure", "full_cure"}]
    twice = {"oven.bring_up_factor": 2.0, "oven.energy_factor": 3.0}
    factors = {key: replace(shop.assumptions[key], low=v, likely=v, high=v) for key, v in twice.items()}
    changed = replace(shop, assumptions={**shop.assumptions, **factors})
    other = freeze(cost(changed, letters), letters, 400.0, on=DAY).sheet["expected"]
    for one, two in zip(kept["oven"], other["oven"], strict=True):
        assert two["bring_up_min"] == pytest.approx(one["bring_up_min"]), "at a factor of 1"
    sprayed = [line.uses[0].detail["area_m2"] for line in sheet.lines if line.step == "coat"]
    assert sum(one["area_m2"] for one in kept["powder"].values()) == pytest.approx(sum(map(float, sprayed)))


def test_nothing_logged_teaches_nothing(shop: Shop) -> None:
    bare = Review(shop, [], [], [], [], [], DAY)
    assert bare.numbers == []
    assert bare.people == []
    assert bare.to_time == []


def test_loads_without_a_quote_or_shorter_than_their_dwell_are_left_out(
    ledger: Ledger, shop: Shop, letters: Job
) -> None:
    ledger.add("quotes", freeze(cost(shop, letters), letters, 400.0, on=DAY, name="letters"))
    ledger.add(
        "loads",
        Load(job="nobody", on=DAY, oven="small oven", cure="full", minutes=50.0),
        Load(job="letters", on=DAY, oven="small oven", cure="full", minutes=2.0),
    )
    assert [one.key for one in review(ledger, shop, today=DAY).numbers] == []


def test_a_slip_of_the_pen_does_not_move_a_number() -> None:
    from pricing.ledger.fit import Guess

    draw = np.random.default_rng(3)
    seen = [NumberSeen("2026-11-02", 20.0, 20 * 1.2 * float(np.exp(0.15 * draw.standard_normal()))) for _ in range(30)]
    guess = Guess("load", 0.85, 1.0, 1.4)
    clean = learn_ratio("oven.bring_up_factor", guess, seen)
    slipped = learn_ratio("oven.bring_up_factor", guess, [*seen, NumberSeen("2026-11-03", 20.0, 2400.0)])
    assert clean is not None
    assert slipped is not None
    assert slipped.mean == pytest.approx(clean.mean, rel=0.02)
    assert slipped.words == ("1 odd entry is set aside.",)


def test_a_meter_parts_the_ovens_energy_from_the_rest(read: Review) -> None:
    (found,) = [one for one in read.numbers if one.key == "oven.energy_factor"]
    assert "kWh a day; that belongs into the bills" in found.words[0]
    daily = float(found.words[0].split("takes ")[1].split(" kWh")[0])
    assert 4 < daily < 20, "12 in truth"


def test_enquiries_are_one_over_the_share_that_is_won(shop: Shop) -> None:
    """The mean of one over a beta share is (a + b - 1) / (a - 1): a standard result, from memory, held by draws."""
    guess = shop.assumptions["enquiries.per_job"]
    told = [{"result": "won" if n % 4 else "lost", "on": "2026-11-02"} for n in range(40)]
    found = learn_enquiries(guess, told)
    assert found is not None
    from pricing.ledger.rework import beta_of

    a, b = beta_of(replace(guess, low=1 / guess.high, likely=1 / guess.likely, high=1 / guess.low))
    draws = 1 / np.random.default_rng(1).beta(a + 30, b + 10, 400_000)
    assert found.mean == pytest.approx(draws.mean(), rel=0.002)
    assert (found.low, found.high) == pytest.approx(np.quantile(draws, [0.05, 0.95]), rel=0.005)


def test_the_pace_of_two_people_is_told_apart(read: Review) -> None:
    by_step: dict[str, dict[str, Pace]] = {}
    for one in read.people:
        by_step.setdefault(one.step, {})[one.worker] = one
    both = [mine for mine in by_step.values() if len(mine) == 2 and min(one.jobs for one in mine.values()) > 20]
    assert len(both) >= 3
    assert all(sum(one.part for one in mine.values()) == pytest.approx(1.0) for mine in both)
    ratios = [mine["helper"].pace / mine["owner"].pace for mine in both]
    assert float(np.exp(np.mean(np.log(ratios)))) == pytest.approx(PACE["helper"] / PACE["owner"], rel=0.1)
    assert all(mine["helper"].high > 1.0 > mine["owner"].low for mine in both)


def test_minutes_of_two_people_on_one_job_count_for_nobodys_pace(read: Review, ledger: Ledger, shop: Shop) -> None:
    both = [
        Took(job="gate", on=DAY, step="wipe", minutes=m, amounts={"line_m": 4.0}, worker=w)
        for w, m in (("owner", 9.0), ("helper", 3.0))
    ]
    ledger.add("times", *both)
    found = review(ledger, shop, today=DAY)
    told = {one.worker: one for one in paces(found.times, found.calibration)}
    assert (told["owner"].part, told["helper"].part) == (0.75, 0.25)
    assert np.isnan(told["owner"].pace)


def test_every_number_can_be_taken_and_taken_back(folder: Path, tmp_path: Path) -> None:
    import shutil

    own = Path(shutil.copytree(folder, tmp_path / "mine"))
    with open_ledger(own) as ledger:
        before = open_shop(own)
        found = {one.key: one for one in review(ledger, before, today=DAY).proposals if one.key in TRUE}
        for key, proposal in found.items():
            accept(own, [proposal])
            now = book_row(open_shop(own), key)
            assert now is not None
            assert now.likely == pytest.approx(proposal.new.likely, rel=1e-3)
        taken = open_shop(own)
        again = {one.key: one for one in review(ledger, taken, today=DAY).proposals}
        for key in found:
            if key in again:
                assert abs(again[key].change) < 0.02, f"{key} counted twice"
        assert {key: first_beliefs(taken)[key].likely for key in found} == {
            key: first_beliefs(before)[key].likely for key in found
        }
        undone = [take_back(own) for _ in found]
    assert sorted(undone) == sorted(found)
    after = open_shop(own)
    for key in found:
        assert book_row(after, key).likely == pytest.approx(book_row(before, key).likely, rel=1e-9)  # type: ignore[union-attr]
    assert (own / HISTORY).exists()


def test_packs_and_gauged_films_stand_in_the_tables_of_powders(folder: Path, tmp_path: Path) -> None:
    import shutil

    own = Path(shutil.copytree(folder, tmp_path / "mine"))
    with open_ledger(own) as ledger:
        found = {one.key: one for one in review(ledger, open_shop(own), today=DAY).proposals}
    accept(own, [found["film.jet black"], found["helper.share"]])
    shop = open_shop(own)
    assert shop.powders["jet black"].film_likely_um == found["film.jet black"].new.likely
    assert shop.helper is not None
    assert shop.helper.share == found["helper.share"].new.likely


def test_the_new_kinds_are_kept(ledger: Ledger) -> None:
    ledger.add("packs", Packed(powder="jet black", on=DAY, opened=2, thrown_kg=1.5))
    ledger.add("powder", Weighed(job="gate", on=DAY, powder="jet black", used_kg=0.8, film_um=70.0, left_kg=0.5))
    ledger.add(
        "loads", Load(job="gate", on=DAY, oven="small oven", cure="full", minutes=50, jobs=2, fill=0.5, set_degC=210)
    )
    ledger.add("meters", Meter(meter="main", on=DAY, reading=1.0, unit="m3", carrier="gas"))
    ledger.add("outcomes", Outcome(job="gate", on=DAY, result="won"))
    assert ledger.rows("packs")[0]["thrown_kg"] == 1.5
    assert (ledger.rows("loads")[0]["jobs"], ledger.rows("powder")[0]["film_um"]) == (2, 70.0)
    assert fact("gas.gross_per_m3", "kWh/m**3") == pytest.approx(10.6)


def test_the_helpers_share_is_a_beta_of_what_was_believed_and_what_was_timed(shop: Shop) -> None:
    """By hand: 30 of 120 minutes; two jobs of 30 and 90 say as much as 120²/(30² + 90²) = 1.6 even ones."""
    assert shop.helper
    (step, *_), own = shop.helper.steps, "no step of the helper's"
    rows = [
        {"job": job, "step": what, "worker": who, "minutes": minutes, "on": f"2026-03-0{n}"}
        for n, (job, what, who, minutes) in enumerate(
            [("a", step, HELPER, 30.0), ("b", step, "owner", 90.0), ("b", own, HELPER, 50.0), ("c", step, "", 70.0)], 1
        )
    ]
    found = learn_helper(rows, shop, 0.4)
    believed = fact("ledger.scatter_jobs")
    a, b = 0.4 * believed + 0.25 * 1.6, 0.6 * believed + 0.75 * 1.6
    assert found is not None
    assert (found.rows, found.first, found.last) == (2, "2026-03-01", "2026-03-02")
    assert found.mean == pytest.approx(a / (a + b))
    assert (found.low, found.high) == pytest.approx(beta(a, b).ppf([0.05, 0.95]))
    assert found.sure == pytest.approx(beta(a, b).ppf([0.025, 0.975]))
    assert found.learned == pytest.approx(1.6 / (1.6 + believed))


def test_a_load_tells_how_full_it_was_and_how_many_shared_it() -> None:
    """A share of the oven is learned from its inverse: loads that one load's worth of parts would take."""
    row = {"on": "2026-03-01", "job": "none", "oven": "small oven", "fill": 0.8, "jobs": 3, "cure": "full"}
    found = seen_in_loads([{**row, "bring_up_min": 0.0, "minutes": 0.0}], {})
    assert found == {
        "oven.fill": [NumberSeen("2026-03-01", 1.0, 1.25)],
        "oven.jobs_per_load": [NumberSeen("2026-03-01", 1.0, 3.0)],
    }

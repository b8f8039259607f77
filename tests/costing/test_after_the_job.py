"""Hours as they come, claims under warranty, the customer's own powder, a customer who comes again."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from pricing.basis.facts import fact
from pricing.costing.job_cost import JobCost, known_of
from pricing.costing.loops import claims_share
from pricing.costing.risk import plan_risk
from pricing.costing.sheet import cost
from pricing.costing.walk import REDO, WARRANTY, at_booked_hours
from pricing.parts.items import Item
from pricing.parts.job import Job, job_of
from pricing.shop.shop import Shop
from tests.conftest import with_policy


def test_fewer_booked_hours_make_each_dearer(shop: Shop, letters: Job) -> None:
    """Booked 55 instead of 65 % of the hours: draw and bills over fewer hours, to the last cent."""
    book = {**shop.book, "plan.booked_share": 0.55 / 0.65}
    fewer = replace(shop, owner=shop.owner.model_copy(update={"billable": 0.55}))
    sheet, planned = cost(shop, letters, book=book), cost(shop, letters)
    assert sheet.labour == pytest.approx(float(cost(fewer, letters).labour))
    assert sheet.overhead == pytest.approx(float(planned.overhead) * 0.65 / 0.55)
    assert sheet.cash == planned.cash
    assert at_booked_hours(shop.book) is shop.book, "a point quote is as planned"


def test_doubt_about_the_hours_widens_the_risk(shop: Shop, letters: Job) -> None:
    known = known_of(shop)
    sure = {key: row for key, row in known.drawn.items() if not key.startswith("plan.")}
    certain = type(known)(sure, dict(shop.book))
    doubtful, narrow = (plan_risk(JobCost.of(shop, letters), k, seed=1, draws=16_384) for k in (known, certain))
    assert doubtful.point == pytest.approx(narrow.point)
    price = float(narrow.quantile(0.97))
    assert doubtful.chance_of_loss(price) > 1.05 * narrow.chance_of_loss(price)


def test_claims_grow_with_age_as_a_weibull_life_does(shop: Shop) -> None:
    """Held against another library's Weibull distribution fixed by its first year."""
    first = float(shop.book["warranty.wiped"])
    shape = fact("warranty.ageing")
    scale = 1.0 / (-np.log1p(-first)) ** (1.0 / shape)
    finish = shop.finishes["two_tone_wiped"]
    for years in (0.5, 1.0, 2.0, 5.0):
        ours = float(claims_share(with_policy(shop, warranty_years=years), finish, shop.book))
        assert ours == pytest.approx(float(stats.weibull_min(shape, scale=scale).cdf(years)), rel=1e-9)
    assert claims_share(shop, finish, shop.book) == 0.0


@pytest.mark.parametrize(
    # published exercise on estimated warranty liability (answer page): 4 % of the units come back at 20 each
    ("units", "money"),
    [(37_300, 29_840.0), (37_300 + 39_300, 61_280.0)],
)
def test_a_reserve_is_claims_times_what_one_costs(shop: Shop, units: int, money: float) -> None:
    share = claims_share(
        with_policy(shop, warranty_years=1.0), shop.finishes["single"], {**shop.book, "warranty.plain": 0.04}
    )
    assert units * float(share) * 20.0 == pytest.approx(money)


def test_a_warranty_is_set_aside_as_a_line_of_its_own(shop: Shop, plates: Job) -> None:
    backed = with_policy(shop, warranty_years=2.0)
    bare, sheet = cost(shop, plates), cost(backed, plates)
    line = sheet.line(WARRANTY)
    assert sheet.total == pytest.approx(float(bare.total + line.total))
    assert {"strip_chemical", "coat", "full_cure", "intake", "hand_over"} <= {use.step for use in line.uses}
    assert cost(with_policy(shop, warranty_years=5.0), plates).line(WARRANTY).total > line.total


def test_a_customers_own_powder_costs_no_powder_but_risk_and_cleaning(shop: Shop, plates: Job) -> None:
    own = plates.model_copy(update={"own_powders": (plates.powders[0],)})
    ours, theirs = cost(shop, plates, finish="single"), cost(shop, own, finish="single")
    name = plates.powders[0]
    assert sum(float(m.kg * m.price_per_kg) for line in theirs.lines for m in line.materials if m.name == name) == 0.0
    assert theirs.line(REDO).minutes > ours.line(REDO).minutes
    assert theirs.line("colour_change").minutes == pytest.approx(2 * float(ours.line("colour_change").minutes))


def test_a_repeat_customer_pays_no_enquiry(shop: Shop, letters: Job) -> None:
    again = cost(shop, letters.model_copy(update={"repeat": True}))
    assert "enquiry" not in {line.step for line in again.lines}
    assert cost(shop, letters).total - again.total == pytest.approx(float(cost(shop, letters).line("enquiry").total))


def test_own_powder_must_be_one_of_the_jobs(shop: Shop, items: dict[str, Item]) -> None:
    from pricing.basis.errors import BadInput

    table = {
        "title": "t",
        "finish": "single",
        "powders": ["jet black"],
        "own_powders": ["moss green"],
        "part": [{"item": "bracket_small", "quantity": 2}],
    }
    with pytest.raises(BadInput, match="own_powders is 'moss green'; it must be one of the job's powders: jet black"):
        job_of(table, shop, items, where="t")

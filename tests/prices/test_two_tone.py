"""What the second colour must cost extra."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.parts.job import Job
from pricing.prices.margins import margin_of
from pricing.prices.two_tone import compare, extra_keeping_margin, extra_rule
from pricing.shop.shop import Shop
from tests.conftest import with_part


def test_the_plain_finish_comes_first_and_both_ways_of_the_line_follow(shop: Shop, plates: Job) -> None:
    assert [side.key for side in compare(shop, plates).sides] == ["single", "two_tone_wiped", "two_tone_masked"]


def test_the_extra_leaves_the_same_share_of_the_price(shop: Shop, plates: Job) -> None:
    found = compare(shop, plates)
    extra = extra_keeping_margin(found, "two_tone_wiped")
    single, fancy = found.sides[0], found.side("two_tone_wiped")
    price = float(single.marks.target) + extra
    assert margin_of(price, float(fancy.sheet.total)) == pytest.approx(shop.policy.target_margin)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(parts=st.integers(1, 40), line=st.floats(0, 10), key=st.sampled_from(["two_tone_wiped", "two_tone_masked"]))
def test_the_rule_gives_the_extra_of_its_own_job(shop: Shop, plates: Job, parts: int, line: float, key: str) -> None:
    job = with_part(plates, parts, line_m=line)
    rule = extra_rule(shop, job, key)
    extra = extra_keeping_margin(compare(shop, job), key)
    assert rule.extra(parts, parts * line) == pytest.approx(extra, rel=1e-6, abs=1e-6)
    assert rule.per_m >= 0
    assert rule.per_part >= 0


def test_more_line_costs_more_extra_by_the_metre(shop: Shop, plates: Job) -> None:
    rule = extra_rule(shop, plates, "two_tone_wiped")
    long = with_part(plates, line_m=2 * plates.lots[0].part.line_m)
    more = extra_keeping_margin(compare(shop, long), "two_tone_wiped") - extra_keeping_margin(
        compare(shop, plates), "two_tone_wiped"
    )
    added_m = plates.pieces * plates.lots[0].part.line_m
    assert more == pytest.approx(rule.per_m * added_m, rel=1e-6)


def test_masking_costs_a_full_cure_between_and_tape(shop: Shop, plates: Job) -> None:
    masked = cost(shop, plates, finish="two_tone_masked")
    assert [line.step for line in masked.lines if line.step.endswith("_cure")] == ["full_cure", "full_cure"]
    tape = next(term for term in masked.line("tape").uses[0].terms if term.driver == "tape_m")
    assert tape.amount == pytest.approx(plates.pieces * plates.lots[0].part.line_m)


def test_a_finish_that_was_not_compared_is_answered(shop: Shop, plates: Job) -> None:
    with pytest.raises(BadInput, match="finish is 'gold'; it must be single, two_tone_wiped or two_tone_masked"):
        compare(shop, plates).side("gold")

"""No number enters the model without unit, bounds, source and date."""

import re
from datetime import UTC, date, datetime

import pytest

from pricing.basis.errors import BadInput
from pricing.basis.facts import fact, facts, sources
from pricing.basis.units import registry
from pricing.shop.folder import known_steps
from pricing.steps.route import STEPS
from tests.conftest import ROOT

CITED = [
    (str(path.relative_to(ROOT)), key)
    for path in sorted((ROOT / "pricing").rglob("*.py"))
    for key in re.findall(r"Source: ``(\w+)``", path.read_text("utf-8"))
]


@pytest.mark.parametrize("name", list(facts()))
def test_each_fact_can_be_traced(name: str) -> None:
    row = facts()[name]
    registry().Unit(row.unit)
    assert date.fromisoformat(row.read_on) <= datetime.now(UTC).date()
    if row.source.kind == "published":
        assert row.where or row.source.where, "a published value names its page, table or row"


@pytest.mark.parametrize(("path", "key"), CITED)
def test_each_cited_source_exists(path: str, key: str) -> None:
    assert key in sources(), f"{path} cites {key!r}; add it to data/sources.csv or mend the key"


def test_an_unknown_fact_is_refused() -> None:
    with pytest.raises(BadInput, match=r"name is 'steel.densty'; .* Did you mean 'steel.density'\?"):
        fact("steel.densty")


def test_every_step_has_words_and_every_word_a_step() -> None:
    assert [step.key for step in STEPS if step.key not in known_steps()] == []
    assert [key for key in known_steps() if key not in {step.key for step in STEPS}] == []


def test_every_step_that_can_hurt_has_its_caution() -> None:
    without = {key for key, words in known_steps().items() if not words.caution}
    assert without == {"tape", "pack"}

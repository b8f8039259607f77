"""What the owner says of a job: each is a fact or a correction of one, so that a button pressed twice counts once."""

import pytest

from pricing.basis.errors import BadInput
from pricing.costing.sheet import cost
from pricing.ledger.outcomes import confirm_minutes, correct_minutes, decide, done, last_entries
from pricing.ledger.quotes import freeze
from pricing.ledger.store import Ledger
from pricing.parts.job import Job
from pricing.shop.shop import Shop
from tests.conftest import with_part
from tests.ledger.conftest import DAY, took


def quoted(ledger: Ledger, shop: Shop, job: Job, name: str) -> None:
    ledger.add("quotes", freeze(cost(shop, job), job, 400.0, on=DAY, name=name))


def test_a_job_that_has_left_is_written_once_with_its_pieces(ledger: Ledger, shop: Shop, plates: Job) -> None:
    """Cast where more than half of its pieces are: 3 of 5 are, 4 of 8 are not. Wiped where its line is."""
    cast = with_part(plates, 3, casting=True, material="aluminium").lots[0]
    for name, job in (
        ("cast", plates.model_copy(update={"lots": (cast, with_part(plates, 2).lots[0])})),
        (
            "even",
            plates.model_copy(
                update={
                    "lots": (
                        with_part(plates, 4, casting=True, material="aluminium").lots[0],
                        with_part(plates, 4).lots[0],
                    )
                }
            ),
        ),
        ("masked", plates.model_copy(update={"finish": "two_tone_masked"})),
    ):
        quoted(ledger, shop, job, name)
        assert done(ledger, name, shop.finishes, on=DAY)
        assert not done(ledger, name, shop.finishes, on=DAY), "not twice"
    assert not done(ledger, "never quoted", shop.finishes, on=DAY)
    told = {row["job"]: (row["substrate"], row["parts"], row["wiped_parts"]) for row in ledger.rows("jobs")}
    assert told == {"cast": ("casting", 5, 5), "even": ("wrought", 8, 8), "masked": ("wrought", 8, 0)}


def test_a_quote_is_won_or_lost_and_what_was_said_last_stands(ledger: Ledger, shop: Shop, plates: Job) -> None:
    quoted(ledger, shop, plates, "gate")
    for result, paid in (("won", None), ("won", None), ("won", 390.0), ("lost", None), ("lost", None)):
        decide(ledger, "gate", result, on=DAY, paid=paid)  # type: ignore[arg-type]
    (stands,) = ledger.rows("outcomes")
    assert (stands["result"], stands["price_paid"]) == ("lost", None)
    assert [row["price_paid"] for row in ledger.history("outcomes")] == [None, 390.0, None]
    with pytest.raises(BadInput, match=r"^the log needs mending:\n  job is 'sign'; it must be a job whose quote is in"):
        decide(ledger, "sign", "won", on=DAY)
    with pytest.raises(BadInput, match=r"price paid is 5\.0; it must be left out where a quote is lost"):
        decide(ledger, "gate", "lost", on=DAY, paid=5.0)


def test_minutes_are_confirmed_or_corrected_where_one_row_has_them(ledger: Ledger) -> None:
    ledger.add("times", took(30.0), took(10.0, step="hang", amounts={"part": 1.0}), took(5.0, job="sign"))
    confirm_minutes(ledger, "gate", "blast")
    confirm_minutes(ledger, "gate", "blast")
    assert len(ledger.history("times")) == 4, "said once"
    correct_minutes(ledger, "gate", "blast", 25.0)
    told = {(row["job"], row["step"]): (row["minutes"], row["confirmed"]) for row in ledger.rows("times")}
    assert told == {("gate", "blast"): (25.0, True), ("gate", "hang"): (10.0, False), ("sign", "blast"): (5.0, False)}
    ledger.add("times", took(7.0))
    with pytest.raises(BadInput, match=r"minutes is 'in 2 rows'; it must be in one row"):
        correct_minutes(ledger, "gate", "blast", 25.0)
    with pytest.raises(BadInput, match=r"job is 'gate'; it must be a job with minutes of the step wipe"):
        confirm_minutes(ledger, "gate", "wipe")


def test_the_newest_entries_come_first(ledger: Ledger, shop: Shop, plates: Job) -> None:
    ledger.add("times", took(1.0))
    quoted(ledger, shop, plates, "gate")
    ledger.add("times", took(2.0))
    found = last_entries(ledger, 2, ["times", "quotes"])
    assert [(kind, row.get("minutes") if kind == "times" else row["job"]) for kind, row in found] == [
        ("times", 2.0),
        ("quotes", "gate"),
    ]

"""The form of page 7: stopwatch, minutes from memory, and what else happens to a job.

Takes    the shop, the names of jobs that are quoted or running, and what can be shown.
Gives    fields and buttons; `facts_of` turns what stands in them into the fields of a fact.
Room     screens. Imports shop, ledger, show, screens.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

from pricing.screens.form import Form, Plain
from pricing.shop.folder import known_steps
from pricing.show.desk import Desk
from pricing.show.fields import Choice, Field, Quantity, Whole, Words

FOUND: Final = {"before cure": "before cure", "after cure": "after cure"}
CURES: Final = {"full": "full cure", "partial": "part-cure", "outgas": "outgas bake", "burn off": "burn-off"}
METERS: Final = {"electricity": "electricity [kWh]", "gas": "gas [m³]"}
WRITES: Final = {"write": "times", "again": "rework", "weighed": "powder", "loaded": "loads", "read": "meters"}
"""Kind of fact by the button that writes it."""


def timed_steps(quoted: Mapping[str, float] | None = None) -> dict[str, str]:
    """Give the steps that hands work on, those of the job's quote first.

    Parameters
    ----------
    quoted : mapping, optional
        Minutes of the quote by step, in the order of the route.
    """
    steps = {key: words.title for key, words in known_steps().items() if not key.endswith(("cure", "cool"))}
    first = {key: steps[key] for key in quoted or () if key in steps}
    return first | steps


def entries(
    desk: Desk, known: Sequence[str], steps: Mapping[str, str], shown: Mapping[str, str], step: str = ""
) -> list[Field | Plain]:
    """Give the form.

    Parameters
    ----------
    desk : Desk
        The shop.
    known : sequence of str
        Jobs that run or were quoted, the likeliest first.
    steps : mapping
        Steps to choose from.
    shown : mapping
        What the first chart can show.
    step : str
        To begin with.
    """
    pick = [Choice("known", "Running or quoted", known[0], {name: name for name in known})] if known else []
    if step not in steps:
        step = "wipe" if "wipe" in steps else next(iter(steps))
    return [
        Plain("heading", "Stopwatch"),
        *pick,
        Words("job", "Job", known[0] if known else "my first job"),
        Choice("step", "Step", step, steps),
        Plain("button", "Start", "start"),
        Plain("button", "Pause", "pause"),
        Plain("button", "Job done", "finish"),
        Plain("clock", "", "watch"),
        Plain("heading", "Forgot it? Write minutes down"),
        Quantity("minutes", "It took", 10.0, "min", desk.tongue, least=0.02, most=6000),
        Plain("button", "Write it down", "write"),
        Plain("note", "", "said"),
        Plain("heading", "Chart of"),
        Choice("shown", "Step", "wipe" if "wipe" in shown else next(iter(shown)), shown),
        *_happened(desk),
    ]


def _happened(desk: Desk) -> list[Field | Plain]:
    from pricing.ledger.entries import Redone  # the database's room, only where the page is opened

    causes = {name: name for name in get_args(Redone.model_fields["cause"].annotation)}
    shop, tongue = desk.shop, desk.tongue
    ovens = {name: name for name in (oven.name for oven in shop.machines.oven)}
    powders = {name: name for name in shop.powders}
    found: list[Field | Plain] = [
        Plain("more", "Pieces done again"),
        Whole("again.parts", "Pieces", 1, least=1, most=100_000),
        Choice("again.found", "Found", "after cure", FOUND),
        Choice("again.cause", "Why", "dirt" if "dirt" in causes else next(iter(causes)), causes),
        Plain("button", "Write it down", "again"),
        Plain("note", "", "again.said"),
        Plain("end"),
    ]  # fmt: skip
    if powders:
        found += [
            Plain("more", "Powder weighed"),
            Choice("weighed.powder", "Powder", next(iter(powders)), powders),
            Quantity("weighed.used_kg", "It took", 0.5, "kg", tongue, least=0.001, most=10_000),
            Plain("button", "Write it down", "weighed"),
            Plain("note", "", "weighed.said"),
            Plain("end"),
        ]  # fmt: skip
    if ovens:
        found += [
            Plain("more", "Oven load"),
            Choice("loaded.oven", "Oven", next(iter(ovens)), ovens),
            Choice("loaded.cure", "For", "full", CURES),
            Quantity("loaded.minutes", "Door to door", 45.0, "min", tongue, least=0.1, most=6000),
            Plain("button", "Write it down", "loaded"),
            Plain("note", "", "loaded.said"),
            Plain("end"),
        ]  # fmt: skip
    return [
        *found,
        Plain("more", "Meter reading"),
        Words("read.meter", "Meter", "main"),
        Choice("read.carrier", "Of", "electricity", METERS),
        Quantity("read.reading", "It reads", 0.0, "", tongue, most=1e12),
        Plain("button", "Write it down", "read"),
        Plain("note", "", "read.said"),
        Plain("end"),
    ]  # fmt: skip


def facts_of(form: Form, button: str) -> dict[str, Any]:
    """Give the fields of the fact that a button writes.

    Parameters
    ----------
    form : Form
        As it stands.
    button : str
        One of `WRITES`.
    """
    if button == "write":
        return {"job": form["job"].value, "step": form["step"].value, "minutes": float(form["minutes"].value)}
    found = {f.key.partition(".")[2]: f.value for f in form if f.key.startswith(f"{button}.")}
    if button == "read":
        return found | {"unit": "kWh" if found["carrier"] == "electricity" else "m3"}
    return {"job": form["job"].value, **found}

"""The form of page 7: stopwatch, minutes from memory, and what else happens to a job.

Takes    the shop, the names of jobs that are quoted or running, and what can be shown.
Gives    fields and buttons; `facts_of` turns what stands in them into the fields of a fact.
"""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any, Final, get_args

from pricing.screens.drawing_form import saved_drawings
from pricing.screens.form import Form, Plain
from pricing.shop.folder import known_steps
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field, QuantityField, Whole, WordsField

FOUND: Final = {"before cure": "before cure", "after cure": "after cure"}
CURES: Final = {"full": "full cure", "partial": "part-cure", "outgas": "outgas bake", "burn off": "burn-off"}
FILLS: Final = {"": "not looked", "0.25": "a quarter", "0.5": "half", "0.75": "three quarters", "1.0": "full"}
METERS: Final = {"electricity": "electricity [kWh]", "gas": "gas [m³]"}
WORK_MEASURES: Final = {
    "m2": ("Area", "m**2"),
    "line_m": ("Line", "m"),
    "edge_m": ("Edges", "m"),
    "tape_m": ("Tape", "m"),
    "kg": ("Weight", "kg"),
    "spot": ("Spots", ""),
    "plug": ("Plugs", ""),
}
"""What is asked for once when a job without a quote is done: label and unit, by the driver it counts."""
_MOST_STEPS, _MOST_JOBS = 30, 6  # with a large button each
WRITES: Final = {
    "write": "times",
    "again": "rework",
    "weighed": "powder",
    "opened": "packs",
    "loaded": "loads",
    "read": "meters",
}
"""Kind of fact by the button that writes it."""


def timed_steps(quoted: Mapping[str, float] | None = None) -> dict[str, str]:
    """Collect the steps that hands work on, those of the job's quote first, in the order of its route."""
    steps = {key: words.title for key, words in known_steps().items() if not key.endswith(("cure", "cool"))}
    first = {key: steps[key] for key in quoted or () if key in steps}
    return first | steps


class Tap(ChoiceField):
    """One of several, with a large button for each in the tablet's view; ``kept`` says that the device remembers it."""

    def __init__(
        self, key: str, label: str, value: str, options: Mapping[str, str], taps: int, *, kept: bool = False
    ) -> None:
        super().__init__(key, label, value, options)
        self.taps, self.kept = taps, kept

    def spec(self) -> dict[str, Any]:
        """Describe it as it is drawn."""
        return super().spec() | {"taps": self.taps, "kept": self.kept}

    def state(self) -> dict[str, Any]:
        """Its choices as well, which change with the job."""
        return super().state() | {"options": list(self.options.items())}


def entries(
    desk: Desk, known: Sequence[str], steps: Mapping[str, str], shown: Mapping[str, str], people: Sequence[str]
) -> list[Field | Plain]:
    """Collect the form.

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
    people : sequence of str
        Who may work here.
    """
    pick = [Tap("known", "Running or quoted", known[0], {name: name for name in known}, _MOST_JOBS)] if known else []
    step = "wipe" if "wipe" in steps else next(iter(steps))
    alone = desk.shop.helper is None  # a clock belongs to a person: it is asked where there are two
    names = {name: name for name in people} if alone else {"": "who works here?", **{name: name for name in people}}
    return [
        Plain("heading", "Stopwatch"),
        Tap("who", "Who", next(iter(names)), names, _MOST_JOBS, kept=True),
        *pick,
        WordsField("job", "Job", known[0] if known else "my first job"),
        Tap("step", "Step", step, steps, _MOST_STEPS),
        Plain("button", "Start", "start"),
        Plain("button", "Pause", "pause"),
        Plain("button", "Job done", "finish"),
        Plain("clock", "", "watch"),
        *_questions(desk),
        Plain("alone", "Stopwatch alone, for a tablet", "alone"),
        Plain("heading", "Forgot it? Write minutes down"),
        QuantityField("minutes", "It took", 10.0, "min", desk.tongue, least=0.02, most=6000, known=False),
        Plain("button", "Write it down", "write"),
        Plain("button", "It was so", "sure"),
        Plain("note", "", "said"),
        Plain("heading", "Chart of"),
        ChoiceField("shown", "Step", "wipe" if "wipe" in shown else next(iter(shown)), shown),
        *_happened(desk),
    ]


def _questions(desk: Desk) -> list[Field | Plain]:
    """What is asked before a job is done; hidden until then."""
    like = {"": "measured by hand"} | {f"item:{key}": item.title for key, item in desk.items.items()}
    like |= {f"drawing:{name}": name for name in saved_drawings(desk)}
    measures = [
        QuantityField(f"much.{driver}", label, 0.0, unit, desk.tongue, most=1e6, known=False)
        for driver, (label, unit) in WORK_MEASURES.items()
    ]
    return [
        Plain("note", "", "ask.what"),
        QuantityField("ask.minutes", "It took", 10.0, "min", desk.tongue, least=0.02, most=100_000, known=False),
        Plain("button", "That is right", "ask.right"),
        Plain("note", "", "much.what"),
        ChoiceField("much.like", "Like", "", like),
        Whole("much.pieces", "Pieces", 1, desk.tongue, least=1),
        *measures,
        Plain("button", "Job done", "much.right"),
        Plain("button", "Leave it out", "much.skip"),
    ]


def measures_of(steps: Sequence[str]) -> set[str]:
    """Return what must be known of a job so that the minutes of some steps teach."""
    return {driver for step in steps for driver in known_steps()[step].drivers if driver in WORK_MEASURES}


def much_of(form: Form) -> dict[str, Any]:
    """Describe how much there was to do, as it stands in the form."""
    return {name: form[f"much.{name}"].value for name in ("like", "pieces", *WORK_MEASURES)}


def _happened(desk: Desk) -> list[Field | Plain]:
    from pricing.ledger.entries import Redone  # the database's room, only where the page is opened

    causes = {name: name for name in get_args(Redone.model_fields["cause"].annotation)}
    shop, tongue = desk.shop, desk.tongue
    ovens = {oven.name: oven.name for oven in shop.machines.oven}
    powders = {name: name for name in shop.powders}
    amount = partial(QuantityField, tongue=tongue, known=False)
    found = _fold(
        "Pieces done again",
        "again",
        Whole("again.parts", "Pieces", 1, tongue, least=1),
        ChoiceField("again.found", "Found", "after cure", FOUND),
        ChoiceField("again.cause", "Why", "dirt" if "dirt" in causes else next(iter(causes)), causes),
    )
    if powders:
        found += _fold(
            "Powder weighed",
            "weighed",
            ChoiceField("weighed.powder", "Powder", next(iter(powders)), powders),
            amount("weighed.used_kg", "It took", 0.5, "kg", least=0.001, most=10_000),
            amount("weighed.film_um", "Film, if gauged", 0.0, "um", most=2000),
            amount("weighed.left_kg", "Left in the hopper", 0.0, "kg", most=1000),
        )
        found += _fold(
            "Packs opened, powder thrown away",
            "opened",
            ChoiceField("opened.powder", "Powder", next(iter(powders)), powders),
            Whole("opened.opened", "Packs opened", 1, tongue),
            amount("opened.thrown_kg", "Thrown away", 0.0, "kg", most=100_000),
        )
    if ovens:
        found += _fold(
            "Oven load",
            "loaded",
            ChoiceField("loaded.oven", "Oven", next(iter(ovens)), ovens),
            ChoiceField("loaded.cure", "For", "full", CURES),
            amount("loaded.minutes", "Door to door", 45.0, "min", least=0.1, most=6000),
            Whole("loaded.jobs", "Jobs in it", 1, tongue, least=1, most=1000),
            ChoiceField("loaded.fill", "How full", "", FILLS),
            amount("loaded.set_degC", "Set to, if known", 0.0, "degC", most=600),
        )
    return found + _fold(
        "Meter reading",
        "read",
        WordsField("read.meter", "Meter", "main"),
        ChoiceField("read.carrier", "Of", "electricity", METERS),
        amount("read.reading", "It reads", 0.0, "", most=1e12),
    )


def _fold(title: str, button: str, *fields: Field) -> list[Field | Plain]:
    """Fold away the fields of a fact, with the button that writes it."""
    note = Plain("note", "", f"{button}.said")
    return [Plain("more", title), *fields, Plain("button", "Write it down", button), note, Plain("end")]


def facts_of(form: Form, button: str) -> dict[str, Any]:
    """Describe the fields of the fact that a button, one of `WRITES`, writes."""
    if button == "write":
        return {"job": form["job"].value, "step": form["step"].value, "minutes": float(form["minutes"].value)}
    found = {f.key.partition(".")[2]: f.value for f in form if f.key.startswith(f"{button}.")}
    if button == "read":
        return found | {"unit": "kWh" if found["carrier"] == "electricity" else "m3"}
    if button == "opened":
        return found
    found = {name: value for name, value in found.items() if name not in _MAY_LACK or value}
    return {"job": form["job"].value, **found}


_MAY_LACK = ("film_um", "left_kg", "fill", "set_degC")  # nothing in the field: it was not measured

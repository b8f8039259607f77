"""The fields that facts are made of: minutes, money, words, and steps with their amounts."""

from collections.abc import Mapping
from math import isfinite
from typing import Annotated, TypeVar

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from pricing.basis.errors import Problem, choices, nearest, shorten
from pricing.basis.records import Quantity
from pricing.shop.folder import known_steps

Minutes = Annotated[float, Quantity("min", above=0.0, at_most=100_000.0)]
LoggedMoney = Annotated[float, Quantity("money")]
Pieces = Annotated[int, Quantity("whole", at_least=1, at_most=1_000_000)]

_T = TypeVar("_T")


LoggedWords = Annotated[str, Field(max_length=2000)]
"""What somebody wrote, as a job's note: any words; tables for a spreadsheet make them harmless on their way out."""


def accepted_entry(value: _T, bad: list[Problem]) -> _T:
    """Pass a value on, or refuse it inside a record for what is wrong with it.

    Raises
    ------
    PydanticCustomError
        Told as a problem of the field by whoever reads the record.
    """
    if bad:
        first = bad[0]
        mend = f"{first.field} is {shorten(first.value)}. {first.mend}".rstrip() if len(bad) > 1 else first.mend
        raise PydanticCustomError("refused", "{accepts}", {"accepts": first.accepts, "mend": mend})
    return value


def problems_of_step(step: str, amounts: Mapping[str, float]) -> list[Problem]:
    """Tell what is wrong with a step and its amounts by driver."""
    steps = known_steps()
    if step not in steps:
        return [Problem("step", step, "a step of steps.csv", nearest(step, steps))]
    drivers = steps[step].drivers
    bad = [
        Problem(
            f"amount of {driver}",
            amount,
            f"driven by {choices(drivers)} for the step {step}",
            nearest(driver, drivers) or f"{driver!r} does not drive it.",
        )
        for driver, amount in amounts.items()
        if driver not in drivers
    ]
    bad += [
        Problem(f"amount of {driver}", amount, "0 or more")
        for driver, amount in amounts.items()
        if not (isfinite(amount) and amount >= 0)
    ]
    return bad


KnownStep = Annotated[str, AfterValidator(lambda step: accepted_entry(step, problems_of_step(step, {})))]

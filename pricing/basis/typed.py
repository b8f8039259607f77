"""The one reader of what people type: every field, table, file and command reads its numbers here.

Takes    a text: ``12``, ``12ft``, ``5' 4"``, ``€35``, ``35 a month``, ``2 h 30``, ``30,5 %``, ``10.800``.
Gives    the value in the unit of the field. A bare number takes the unit that is shown beside it.
Asks     what can be meant in two ways is never guessed: `Wrong` comes with a `Choice` for each reading, which a page
         shows as a button and a file or command names. A text that ends in ``!`` is meant as it stands.
"""

import re

from pricing.basis.errors import BadInput, Problem, shorten
from pricing.basis.facts import fact
from pricing.basis.meanings import FIGURE, SURE, FoundMeaning, kindred, meanings, times
from pricing.basis.numerals import grouped, readings, spelled, tidy
from pricing.basis.tongue import ANY, COUNTED, LARGEST, PLAIN, Choice, Range, Tongue, Wrong
from pricing.basis.units import readable, sig

_LONGEST = 200
_PART = Range(0.0, 1.0)


def read(
    given: object,
    unit: str,
    tongue: Tongue = PLAIN,
    *,
    now: float | None = None,
    within: Range = ANY,
    file: bool = False,
    small: bool = False,
) -> float:
    r"""Read one value, or say why it cannot be read, or ask which is meant.

    Parameters
    ----------
    given : str or float
        What was typed; a file may hold a number.
    unit : str
        Unit of the field, as pint writes it; ``money`` is the shop's currency, ``share`` a part of a whole,
        ``number`` or nothing a plain number, ``whole`` a count.
    tongue : Tongue
        The shop's currency, units and locale.
    now : float, optional
        What stands there: a value far off it is asked about, and one near it settles what is meant.
    within : Range
        What the field takes. [unit]
    file : bool
        Whether it stands in a file, beside which no unit is shown, and which is written with decimal points.
    small : bool
        Whether a share under one per cent is nothing odd, as of interest.

    Raises
    ------
    Wrong
        Empty, no number, of another kind, out of range; or to be asked, with its choices.

    Examples
    --------
    >>> read("12ft", "m"), read("5' 4\"", "mm"), read("2 h 30", "min"), read("30,5 %", "share")
    (3.6576, 1625.6, 150.0, 0.305)
    >>> read("€35 a week", "money/year", Tongue("EUR"))
    1826.25
    >>> try: read("10.800", "money/year", Tongue("EUR", "metric", "en_IE"))
    ... except Wrong as why: print(why.told)
    '10.800' can be read in two ways. Write '10.8 EUR/year' or '10800 EUR/year' for 10,800 EUR/year.
    """
    text = tidy(_text(given))
    sure, text = text.endswith(SURE), text.removesuffix(SURE).strip()
    if now is not None and text in {tidy(tongue.show(now, unit)), tongue.number(now, unit)}:
        return now
    if unit == "share" and within is ANY:
        within = _PART
    if not text:
        raise Wrong(f"It is empty. {_like(unit, tongue, now)}")
    if len(text) > _LONGEST:
        raise Wrong("The text is too long for a number.")
    try:
        found = meanings(text, unit, tongue, file=file)
    except Wrong as why:
        raise Wrong(f"{why} {_like(unit, tongue, now)}") from None
    inside = [one for one in found if within.holds(one.value)]
    if unit == "whole":
        inside = [one for one in inside if one.value == int(one.value)] or inside
    if not inside:
        _refuse(found, unit, tongue, within, now)
    one = _one(text, inside, unit, tongue, now=now, file=file, small=small)
    if unit == "whole" and one.value != int(one.value):
        raise Wrong(f"Must be a whole number. {_like(unit, tongue, now)}", accepts="a whole number")
    if now is not None and not sure:
        _ask_far(one, unit, tongue, now, within)
    return one.value


def read_field(
    given: object, unit: str, field: str, tongue: Tongue = PLAIN, within: Range = ANY, *, where: str = "a quantity"
) -> float:
    """Read one value of a command as `read` does, or refuse it: the message names both readings where there are two.

    >>> read_field("45 min", "h", "--hold"), read_field("38 EUR/h", "money/min", "--rate", Tongue("EUR"))
    (0.75, 0.633333333333)
    """
    try:
        return read(given, unit, tongue, within=within)
    except Wrong as why:
        raise BadInput(where, [problem(field, given, unit, tongue, why)]) from None


def read_cell(bad: list[Problem], field: str, given: object, unit: str, tongue: Tongue, within: Range = ANY) -> float:
    """Read one value of a file; what is wrong with it joins the other problems, and NaN stands for it."""
    try:
        return read(given, unit, tongue, within=within, file=True)
    except Wrong as why:
        bad.append(problem(field, "empty" if given == "" else given, unit, tongue, why))
        return float("nan")


def problem(field: str, given: object, unit: str, tongue: Tongue, why: Wrong) -> Problem:
    """Tell what is wrong with a value of a file or a command."""
    if why.accepts and not why.choices:
        return Problem(field, given, why.accepts)
    return Problem(field, given, accepted(unit, tongue), why.told)


def accepted(unit: str, tongue: Tongue) -> str:
    """Say what is taken where a value of a unit is wanted, as 'it must be ...'."""
    plain = {"": "a number", "number": "a number", "whole": "a whole number", "share": "a share such as 0.25 or '25 %'"}
    return plain.get(unit, f"a quantity in {readable(unit, tongue.currency)}")


def _like(unit: str, tongue: Tongue, now: float | None) -> str:
    return f"Write it like {tongue.show(now or (0.25 if unit == 'share' else 12.0), unit)}."


def _text(given: object) -> str:
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        return spelled(float(given))  # the number of a file, whose decimal mark is a point beyond doubt
    return given if isinstance(given, str) else shorten(given)


def _refuse(found: tuple[FoundMeaning, ...], unit: str, tongue: Tongue, within: Range, now: float | None) -> None:
    """Say which bound is passed; where another unit would bring it inside, offer that."""
    if not any(abs(one.value) <= LARGEST for one in found):
        raise Wrong(f"Must be {COUNTED}.", accepts=COUNTED)
    value = found[0].value
    if value > within.most:
        why = f"Must be at most {tongue.show(within.most, unit)}."
    elif value <= within.above:
        why = f"Must be above {tongue.show(within.above, unit)}."
    elif value <= 0 < within.least and unit != "whole":
        why = "Must be above 0."
    else:
        why = f"Must be {tongue.show(within.least, unit)} or more."
    choices = _others(found[0], unit, tongue, within, now)
    raise Wrong(f"{why} Is {choices[0].words} meant?" if choices else why, choices, within.words(unit, tongue))


def _one(
    text: str, inside: list[FoundMeaning], unit: str, tongue: Tongue, *, now: float | None, file: bool, small: bool
) -> FoundMeaning:
    """Return the reading that is meant, or ask."""
    if len({one.value for one in inside}) == 1:
        return inside[0]
    if now and unit != "degC":
        near = [one for one in inside if times(one.value, now) <= fact("typed.near")]
        far = [one for one in inside if times(one.value, now) >= fact("typed.far")]
        if len(near) == 1 and len(far) == len(inside) - 1 and near[0].usual:
            return near[0]
    if (
        unit == "share"
        and now is None
        and inside[0].usual
        and len(inside) == 2
        and not (small and inside[0].value >= fact("typed.per_cent_from"))
    ):
        return inside[0]  # where nothing stood, a share is written from 0 to 1
    mark = "" if now is None or file else SURE
    choices = tuple(Choice(f"{one.given}{mark}", _words(one, tongue)) for one in inside)
    count = {2: "two", 3: "three"}.get(len(inside), "several")
    raise Wrong(f"'{text}' can be read in {count} ways.", choices)


def _words(one: FoundMeaning, tongue: Tongue) -> str:
    """Show a reading with its thousands marked."""
    match = FIGURE.fullmatch(one.given)
    number = readings(match[1], tongue.locale) if match and not re.search(r"\d", match[2]) else ()
    return f"{grouped(number[0].value, tongue.locale)} {match[2]}".rstrip() if match and number else one.given


def _others(one: FoundMeaning, unit: str, tongue: Tongue, within: Range, now: float | None) -> tuple[Choice, ...]:
    """Offer a bare number in the other units that would bring it near what stood there."""
    kin = [other for other in kindred(one, unit, tongue, now) if within.holds(other.value)]
    return tuple(Choice(f"{other.given}{SURE}", _words(other, tongue)) for other in kin)


def _ask_far(one: FoundMeaning, unit: str, tongue: Tongue, now: float, within: Range) -> None:
    if now * one.value <= 0 or unit in {"degC", "whole"} or times(one.value, now) < fact("typed.far"):
        return
    up = one.value / now
    how = f"{sig(up, 2)} times" if up > 1 else f"1/{sig(1 / up, 2)} of"
    was = tongue.show(now, unit)
    there = _words(FoundMeaning(now, was, usual=True), tongue)
    meant = Choice(f"{one.given}{SURE}", _words(one, tongue))
    others = _others(one, unit, tongue, within, now)
    leave = () if any(read(other.given, unit, tongue) == now for other in others) else (Choice(was, f"leave {there}"),)
    raise Wrong(f"That is {how} what stood there, {there}.", (meant, *others, *leave))

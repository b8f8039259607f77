"""Records that refuse to exist in a bad state, read from files with their units.

pydantic is used, since it tells every bad field at once (the first error alone would send the
owner round in circles) and can carry the shop's currency along as context.

Room     basis. Imports errors, units.
"""

from dataclasses import dataclass
from math import isfinite
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, GetCoreSchemaHandler, ValidationError
from pydantic_core import PydanticCustomError, core_schema

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.units import convert, readable

_UNIT_ENDS = (
    "_mm", "_m", "_m2", "_m3", "_um", "_kg", "_degC", "_K", "_min", "_h", "_y", "_kw", "_kwh", "_m3_per_h",
    "_bar", "_W_per_mK", "_g_per_cm3", "_per_h", "_per_kwh", "_per_kg", "_per_m", "_per_m2", "_per_y", "_kw_per_m3_min",
    "_kJ_per_mol", "_m3_per_min", "_kwh_per_K",
)  # fmt: skip


def key_of(name: str) -> str:
    """Give the word a file uses for a field: its name without the unit, which the text holds.

    >>> key_of("inside_width_m"), key_of("draw_per_y"), key_of("spots")
    ('inside_width', 'draw', 'spots')
    """
    ends = [end for end in _UNIT_ENDS if name.endswith(end)]
    return name[: -len(max(ends, key=len))] if ends else name


LARGEST = 1e12
"""Any number of a file above it is a slip; sums of such numbers stay finite."""


class Record(BaseModel):
    """A frozen record; unknown fields are refused, and files name fields without their unit."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=key_of, validate_by_name=True, validate_by_alias=True,
        allow_inf_nan=False, serialize_by_alias=True,
    )  # fmt: skip


@dataclass(frozen=True)
class Quantity:
    """A float field that files write with its unit.

    Parameters
    ----------
    unit : str
        Unit of the field, as pint writes it; ``money`` is the shop's currency.
    above, at_least, at_most : float, optional
        Bounds, in ``unit``.
    """

    unit: str
    above: float | None = None
    at_least: float | None = 0.0
    at_most: float | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read text with a unit from files, floats from code."""
        write = core_schema.plain_serializer_function_ser_schema(self.write)
        return core_schema.with_info_plain_validator_function(self._read, serialization=write)

    def write(self, value: float) -> str:
        """Write the field so that reading it gives the same float."""
        return f"{value!r} {self.unit}"

    def _read(self, value: object, info: core_schema.ValidationInfo) -> float:
        context = info.context or {}
        if isinstance(value, (int, float)) and not isinstance(value, bool) and not context.get("file"):
            number: float | str = float(value)
        else:
            number = convert(value, self.unit, currency=context.get("currency", ""))
        if isinstance(number, str):
            raise refuse(f"a quantity in {readable(self.unit, context.get('currency', ''))}", number)
        low = self.above if self.above is not None else self.at_least
        ok = self.above is None or number > self.above
        ok = ok and (self.at_least is None or number >= self.at_least or self.above is not None)
        if not abs(number) <= LARGEST:
            raise refuse("a number that can be counted with", "")
        if not ok or (self.at_most is not None and number > self.at_most):
            unit = readable(self.unit, context.get("currency", ""))
            text = f"above {low:g} {unit}" if self.above is not None else f"{low or 0:g} {unit} or more"
            if self.at_most is not None:
                text += f" and at most {self.at_most:g} {unit}"
            raise refuse(text, "")
        return number


def refuse(accepts: str, mend: str = "") -> PydanticCustomError:
    """Make the error a field validator raises: what is accepted, and how to mend it."""
    return PydanticCustomError("refused", "{accepts}", {"accepts": accepts, "mend": mend})


def _read_share(value: object) -> float:
    number = value
    if isinstance(value, str):
        text = value.strip()
        try:
            number = float(text[:-1]) / 100 if text.endswith("%") else float(text)
        except ValueError:
            number = None
    if isinstance(number, bool) or not isinstance(number, (int, float)) or not isfinite(number):
        raise refuse("a share from 0 to 1", "Write 30 % as 0.30 or '30 %'.")
    if not 0 <= number <= 1:
        mend = f"Write {number:g} % as {number / 100:g} or '{number:g} %'." if 2 <= number <= 100 else ""
        if 1 < number < 2:  # 1.35 is no 1.35 %: a whole and 35 % of it
            mend = f"{number:g} is {number:.0%}, more than the whole; for {number - 1:.0%} write {number - 1:g}."
        raise refuse("from 0 to 1", mend)
    return float(number)


def _some(share: float) -> float:
    if share == 0:
        raise refuse("above 0 and at most 1", "Nothing could be worked out with none of it.")
    return share


@dataclass(frozen=True)
class _ShareOf:
    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(_read_share)


def _name(text: str) -> str:
    if text[:1] in "=+-@\t\r" and text:
        raise refuse("a name that does not begin with = + - @", "A spreadsheet would run it; begin with a letter.")
    if not text.strip() or len(text) > 120 or not text.isprintable():
        raise refuse("a name of 1 to 120 printable characters", "")
    return text


Share = Annotated[float, _ShareOf()]
"""A part of a whole, 0 to 1; files may also write ``'30 %'``."""
SomeShare = Annotated[Share, AfterValidator(_some)]
"""A share that something is divided by: above 0."""
Name = Annotated[str, AfterValidator(_name)]
"""A name that is safe to print, store and put into a spreadsheet."""

M = TypeVar("M", bound=Record)


def read_record(kind: type[M], data: object, where: str, *, currency: str = "") -> M:
    """Make a record from what a file holds.

    Parameters
    ----------
    kind : type
        Class of the record.
    data : object
        As read from TOML or a CSV row.
    where : str
        File and place, for the message.
    currency : str
        Code of the shop's currency.

    Raises
    ------
    BadInput
        With every bad field of the record.
    """
    try:
        return kind.model_validate(data, context={"file": True, "currency": currency})
    except ValidationError as why:
        raise BadInput(where, problems(kind, why)) from None


def problems(kind: type[BaseModel], why: ValidationError) -> list[Problem]:
    """Turn pydantic's errors into the words of this workbook."""
    known = [field.alias or name for name, field in kind.model_fields.items()]
    errors = why.errors(include_url=False)
    inside = [error["loc"] for error in errors]
    told = []
    for error in errors:
        deeper = any(loc[: len(error["loc"])] == error["loc"] and len(loc) > len(error["loc"]) for loc in inside)
        if error["type"] == "too_short" and deeper:
            continue  # the list is short only because its entries are wrong
        path = ".".join(str(key + 1) if isinstance(key, int) else str(key) for key in error["loc"]) or "record"
        told.append(_told(path, error, known))
    return told


def _told(path: str, error: Any, known: list[str]) -> Problem:
    value, context = error.get("input"), error.get("ctx", {})
    if isinstance(value, dict):
        value = "as written"  # a rule of the whole record: printing all of it helps nobody
    match error["type"]:
        case "refused":
            return Problem(path, value, context["accepts"], context["mend"])
        case "missing":
            return Problem(path, "missing", "given", "")
        case "extra_forbidden":
            word = path.rsplit(".", 1)[-1]
            return Problem(
                path,
                "not a field",
                f"one of {choices(known)}" if "." not in path else "left out",
                nearest(word, known),
            )
        case "literal_error" | "enum":
            words = str(context.get("expected", "")).replace("'", "").replace(" or ", ", ").split(", ")
            return Problem(path, value, choices(words), nearest(value, words))
        case kind:
            return Problem(
                path,
                value,
                _PLAIN.get(kind, error["msg"].removeprefix("Input should be ").removeprefix("Value error, ")),
            )


_PLAIN = {
    "bool_type": "true or false", "bool_parsing": "true or false", "int_parsing": "a whole number",
    "int_type": "a whole number", "int_from_float": "a whole number", "float_type": "a number",
    "float_parsing": "a number", "finite_number": "a finite number", "string_type": "text in quotes",
    "model_type": "a table of its own", "list_type": "a list", "dict_type": "a table of its own",
    "model_attributes_type": "a table of its own",
}  # fmt: skip

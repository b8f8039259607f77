"""Records that refuse to exist in a bad state, read from files with their units.

pydantic is used, since it tells every bad field at once (the first error alone would send the
owner round in circles) and can carry the shop's currency along as context.
"""

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, GetCoreSchemaHandler, ValidationError
from pydantic_core import PydanticCustomError, core_schema

from pricing.basis.errors import BadInput, Problem, choices, nearest, not_known
from pricing.basis.numerals import spelled
from pricing.basis.ranges import Between, WholeBetween, ends_of, read_between, says_range
from pricing.basis.tongue import ANY, LARGEST, PLAIN, Range, Tongue, Wrong
from pricing.basis.typed import problem, read

if TYPE_CHECKING:
    from pydantic._internal._model_construction import ModelMetaclass
else:
    ModelMetaclass = type(BaseModel)  # it has no public name

_UNIT_END = re.compile(
    r"_(?:mm|m|m2|m3|um|kg|degC|K|min|h|y|kw|kwh|bar|m3_per_h|m3_per_min|W_per_mK|g_per_cm3|kw_per_m3_min|kJ_per_mol"
    r"|kwh_per_K|per_h|per_kwh|per_kg|per_m|per_m2|per_y)$"
)


def key_of(name: str) -> str:
    """Write the word a file uses for a field: its name without the unit, which the text holds.

    >>> key_of("inside_width_m"), key_of("draw_per_y"), key_of("spots")
    ('inside_width', 'draw', 'spots')
    """
    return _UNIT_END.sub("", name)


class _Told(ModelMetaclass):
    """Lets who makes a record by hand hear of bad fields in the words of this workbook."""

    def __call__(self, *args: Any, **fields: Any) -> Any:
        try:
            return super().__call__(*args, **fields)
        except ValidationError as why:
            raise BadInput(self.__name__, problems(self, why)) from None  # type: ignore[arg-type]  # a class of records


class Record(BaseModel, metaclass=_Told):
    """A frozen record; unknown fields are refused, and files name fields without their unit."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=key_of,
        validate_by_name=True,
        validate_by_alias=True,
        allow_inf_nan=False,
        serialize_by_alias=True,
    )


@dataclass(frozen=True)
class Quantity:
    """A field for a number, which files write with its unit.

    Parameters
    ----------
    unit : str
        As `pricing.basis.typed.read` takes it: ``m**2``, ``money``, ``share``, ``number``, ``whole``.
    above, at_least, at_most : float, optional
        Bounds, in ``unit``.
    bare : bool
        Whether files are written without the unit.
    small : bool
        Whether a share under one per cent is nothing odd.
    ranged : bool
        Whether it may be a range: ``5 to 9 m``.
    """

    unit: str
    above: float | None = None
    at_least: float | None = 0.0
    at_most: float | None = None
    bare: bool = False
    small: bool = False
    ranged: bool = False

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """Read what was typed from files, floats from code."""
        write = core_schema.plain_serializer_function_ser_schema(self.write)
        return core_schema.with_info_plain_validator_function(self._read, serialization=write)

    @property
    def within(self) -> Range:
        """What it takes."""
        most = LARGEST if self.at_most is None else self.at_most
        if self.above is not None:
            return Range(most=most, above=self.above)
        return Range(-LARGEST if self.at_least is None else self.at_least, most)

    def write(self, value: float) -> str | float:
        """Write the field so that reading it gives the same float, and in one way only."""
        if isinstance(value, (Between, WholeBetween)):
            return value.text(self.unit)
        if self.bare or self.unit in {"share", "number", "whole"}:
            return value
        return f"{spelled(value)} {self.unit}"

    def _read(self, value: object, info: core_schema.ValidationInfo) -> float:
        context = info.context or {}
        tongue = context.get("tongue", PLAIN)
        try:
            if self.ranged and (says_range(value) or ends_of(value)):
                return read_between(value, self.unit, tongue, within=self.within, file=context.get("file", False))
            if context.get("file"):
                found = read(value, self.unit, tongue, within=self.within, file=True, small=self.small)
            else:
                found = self._known(value, tongue)
        except Wrong as why:
            told = problem("", value, self.unit, tongue, why)
            raise refuse(told.accepts, told.mend) from None
        return int(found) if self.unit == "whole" else found

    def _known(self, value: object, tongue: Tongue) -> float:
        """Take a number, or what `write` has made of it."""
        if isinstance(value, str) and value.endswith(f" {self.unit}"):
            value = float(value.removesuffix(self.unit))
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return read(value, self.unit, tongue, within=self.within)
        if not self.within.holds(value):
            words = self.within.words(self.unit, tongue)
            raise Wrong(f"Must be {words}.", accepts=words)
        if self.unit == "whole" and value != int(value):
            raise Wrong("Must be a whole number.", accepts="a whole number")
        return value


def range_of(kind: type[BaseModel], name: str) -> Range:
    """Return what a record's field takes; it is named with its unit."""
    return next((mark.within for mark in kind.model_fields[name].metadata if isinstance(mark, Quantity)), ANY)


def refuse(accepts: str, mend: str = "") -> PydanticCustomError:
    """Make the error a field validator raises: what is accepted, and how to mend it."""
    return PydanticCustomError("refused", "{accepts}", {"accepts": accepts, "mend": mend})


def _name(text: str) -> str:
    if text[:1] in "=+-@\t\r" and text:
        raise refuse("a name that does not begin with = + - @", "A spreadsheet would run it; begin with a letter.")
    if not text.strip() or len(text) > 120 or not text.isprintable():
        raise refuse("a name of 1 to 120 printable characters")
    return text


Share = Annotated[float, Quantity("share", at_most=1.0)]
"""A part of a whole, 0 to 1; files may also write ``'30 %'``."""
SomeShare = Annotated[float, Quantity("share", above=0.0, at_most=1.0)]
"""A share that something is divided by: above 0."""
Rate = Annotated[float, Quantity("share", at_most=1.0, small=True)]
"""A share a year, as of interest, where half a per cent is nothing odd."""
Name = Annotated[str, AfterValidator(_name)]
"""A name that is safe to print, store and put into a spreadsheet."""

M = TypeVar("M", bound=Record)


def read_record(kind: type[M], data: object, where: str, tongue: Tongue = PLAIN) -> M:
    """Make a record from what a file holds, as read from TOML or a CSV row.

    Raises
    ------
    BadInput
        With every bad field of the record, and where it stands: file and place.
    """
    try:
        return kind.model_validate(data, context={"file": True, "tongue": tongue})
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
            return Problem(path, "missing", "given")
        case "extra_forbidden":
            accepts = "left out" if "." in path else f"one of {choices(known)}"
            return Problem(path, "not a field", accepts, nearest(path.rsplit(".", 1)[-1], known))
        case "literal_error" | "enum":
            words = str(context.get("expected", "")).replace("'", "").replace(" or ", ", ").split(", ")
            return not_known(path, value, words)
        case kind:
            said = error["msg"].removeprefix("Input should be ").removeprefix("Value error, ")
            return Problem(path, value, _PLAIN.get(kind, said))


_PLAIN = {
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "string_type": "text in quotes",
    "model_type": "a table of its own",
    "list_type": "a list",
    "dict_type": "a table of its own",
    "model_attributes_type": "a table of its own",
}

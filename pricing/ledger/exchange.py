"""Facts from tables and into tables: CSV in, with a report of each refused row; CSV and Parquet out.

Form     a column has the name of the field, with its unit where it has one (``used_kg``); a cell is a
         plain number in that unit, or a text with a unit (``1.2 lb``). Amounts have a column each
         (``amount_m2``), minutes of a quote too (``minutes_blast``). Cost sheets of quotes go into
         Parquet and backups, not into CSV.
Harmless a text that a spreadsheet would run gets an apostrophe on its way out and loses it on its way in.
Twice    a file that is imported again adds nothing: each row's id comes from what it says.
"""

import csv
import io
import json
import re
import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.files import own_words, plain_cell, read_text, table_text, write_safely
from pricing.basis.numerals import spelled
from pricing.basis.records import Quantity, Record
from pricing.basis.tongue import PLAIN, Tongue, Wrong
from pricing.basis.typed import problem, read
from pricing.ledger.kinds import ENTRY_KINDS, kind_of, read_entry
from pricing.ledger.store import Ledger, LedgerRow

_SPREAD = {"amount_": "amounts", "minutes_": "minutes"}  # columns of fields that hold one number per driver or step
_NOT_IN_CSV = ("sheet",)
_POINTED = re.compile(r"(?:^|,)\d+\.(?:\d{1,2}|\d{4,})(?:,|$)", re.MULTILINE)
_COMMAS = re.compile(r'"\d+(?:\.\d{3})*,\d+"')
_DOUBTFUL = re.compile(r"-?[1-9]\d{0,2}\.\d{3}")


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of a file's rows.

    Parameters
    ----------
    kind : str
        Kind of fact.
    written, known : int
        Rows that were new, and those that were there already.
    refused : tuple of (line, words)
        Rows that were not taken, and why.
    """

    kind: str
    written: int
    known: int
    refused: tuple[tuple[int, str], ...]

    def __str__(self) -> str:
        lines = [f"{self.kind}: {self.written} written, {self.known} there already, {len(self.refused)} refused."]
        return "\n".join([*lines, *(f"  line {line}: {words}" for line, words in self.refused)])


def import_csv(ledger: Ledger, kind: str, path: Path | str, *, tongue: Tongue = PLAIN) -> Imported:
    """Read a table of facts into the ledger; good rows are written together, bad ones told.

    Parameters
    ----------
    ledger : Ledger
        Where to.
    kind : str
        Kind of fact.
    path : path
        CSV with a header, UTF-8.
    tongue : Tongue
        The shop's currency and locale; a bare number is in the unit of its column.

    Raises
    ------
    BadInput
        The file cannot be read, a column is unknown or missing, or the ledger cannot write.
    """
    path = Path(path)
    text = read_text(path)
    lines = csv.reader(io.StringIO(text), strict=True)
    record = kind_of(kind)
    entries: list[Record] = []
    ids: list[str] = []
    refused: list[tuple[int, str]] = []
    seen: Counter[str] = Counter()
    try:
        header = _header(next(lines), record, str(path))
        pointed = bool(_POINTED.search(text)) and not _COMMAS.search(text)
        for cells in lines:
            if not any(cell.strip() for cell in cells):
                continue
            if pointed:  # other numbers of the file say that 12.345 has a decimal point
                cells = [f"{cell}0" if _DOUBTFUL.fullmatch(cell) else cell for cell in cells]  # noqa: PLW2901
            try:
                fields, name = _fields(header, cells, record, tongue)
                entry = read_entry(kind, fields, f"{path.name} line {lines.line_num}")
            except BadInput as why:
                refused.append((lines.line_num, " ".join(map(str, why.problems))))
                continue
            said = json.dumps([kind, entry.model_dump(mode="json")], sort_keys=True)
            seen[said] += 1  # two rows that say the same are two facts
            entries.append(entry)
            ids.append(name or uuid.uuid5(uuid.NAMESPACE_URL, f"{said}#{seen[said]}").hex)
    except csv.Error as why:
        refused.append((lines.line_num, f"{why}; the rows after it were not read. Look at its double quotes."))
    known = ledger.known(kind, ids)
    fresh = {name: entry for entry, name in zip(entries, ids, strict=True) if name not in known}
    if fresh:
        ledger.add(kind, *fresh.values(), ids=list(fresh))
    return Imported(kind, len(fresh), len(ids) - len(fresh), tuple(refused))


def entry_of_texts(kind: str, texts: Mapping[str, str], where: str, *, tongue: Tongue = PLAIN) -> Record:
    """Make a fact from texts by column, as a command line holds them, read as `import_csv` does.

    Raises
    ------
    BadInput
        With every problem of the fact.
    """
    return read_entry(kind, values_of_texts(kind, texts, where, needed=True, tongue=tongue), where)


def values_of_texts(
    kind: str, texts: Mapping[str, str], where: str, *, needed: bool = False, tongue: Tongue = PLAIN
) -> dict[str, Any]:
    """Turn the texts of some fields into values, for a correction; of a whole fact where all are needed.

    Raises
    ------
    BadInput
        A field is unknown or missing, or a text has no number in it.
    """
    record = kind_of(kind)
    header = _header(list(texts), record, where, needed=needed)
    return _fields(header, list(texts.values()), record, tongue)[0]


def import_folder(ledger: Ledger, folder: Path | str, *, tongue: Tongue = PLAIN) -> list[Imported]:
    """Read every ``KIND.csv`` of a folder, each as `import_csv` does.

    Raises
    ------
    BadInput
        There is no such file, or as `import_csv`.
    """
    at = Path(folder)
    there = [kind for kind in ENTRY_KINDS if (at / f"{kind}.csv").is_file()]
    if not there:
        names = choices(f"{kind}.csv" for kind in ENTRY_KINDS)
        raise BadInput(str(at), [Problem("the folder", "without a table", f"a folder with {names}")])
    return [import_csv(ledger, kind, at / f"{kind}.csv", tongue=tongue) for kind in there]


def _header(cells: Sequence[str], record: type[Record], where: str, *, needed: bool = True) -> list[str]:
    header = [cell.strip() for cell in cells]
    spread = tuple(_spread(record))
    known = [*(name for name in record.model_fields if name not in _NOT_IN_CSV), "id"]
    bad = [
        Problem("column", name, f"one of {choices(known)}", nearest(name, known))
        for name in header
        if name not in known and not name.startswith(spread)
    ]
    bad += [Problem("column", n, "there once", "It is there twice.") for n, k in Counter(header).items() if k > 1]
    if needed:
        must = [name for name, field in record.model_fields.items() if field.is_required()]
        bad += [Problem("column", n, "there", "It is missing.") for n in must if n not in header]
    if bad:
        raise BadInput(where, bad)
    return header


def _spread(record: type[Record]) -> dict[str, str]:
    """Tell how columns begin that hold one number each of a field: per driver or step."""
    fields = record.model_fields
    return {begins: n for begins, n in _SPREAD.items() if n in fields and fields[n].annotation is not float}


def _fields(
    header: Sequence[str], cells: Sequence[str], record: type[Record], tongue: Tongue
) -> tuple[dict[str, Any], str]:
    if len(cells) != len(header):
        mend = "A text with a comma in it stands in double quotes."
        raise BadInput("a row", [Problem("the row", f"{len(cells)} cells", f"{len(header)} cells", mend)])
    fields: dict[str, Any] = {}
    name = ""
    for column, raw in zip(header, cells, strict=True):
        cell = raw.strip()
        if not cell:
            continue
        if column == "id":
            name = cell[:64]
            continue
        begins = next(filter(column.startswith, _spread(record)), "")
        if begins:
            group = fields.setdefault(_spread(record)[begins], {})
            group[column.removeprefix(begins)] = _number(cell, column, "number", tongue)
        else:
            fields[column] = _value(cell, column, record, tongue)
    return fields, name


def _value(cell: str, column: str, record: type[Record], tongue: Tongue) -> Any:
    field = record.model_fields[column]
    inner = [mark for part in getattr(field.annotation, "__args__", ()) for mark in getattr(part, "__metadata__", ())]
    units = [mark.unit for mark in (*field.metadata, *inner) if isinstance(mark, Quantity)]  # of ``X | None`` too
    return _number(cell, column, units[0], tongue) if units else own_words(cell)


def _number(cell: str, column: str, unit: str, tongue: Tongue) -> float:
    try:
        number = read(cell, unit, replace(tongue, units="metric"), file=True)  # as the column's name says
    except Wrong as why:
        raise BadInput("a row", [problem(column, cell, unit, tongue, why)]) from None
    return int(number) if unit == "whole" else number


def export_csv(ledger: Ledger, folder: Path | str) -> list[Path]:
    """Write the facts that stand, a table for each kind that has any, in place of an earlier export; gives the files.

    Raises
    ------
    BadInput
        The folder cannot be written.
    """
    at, written = _made(folder), []
    for kind, record in ENTRY_KINDS.items():
        rows = ledger.rows(kind)
        if not rows:
            continue
        flat = [_flat(row, record) for row in rows]
        names = ["id", *(n for n in record.model_fields if n not in (*_NOT_IN_CSV, *_spread(record).values()))]
        columns = [*names, *sorted({column for row in flat for column in row} - {*names})]
        write_safely(at / f"{kind}.csv", table_text(columns, flat))
        written.append(at / f"{kind}.csv")
    return written


def _flat(row: LedgerRow, record: type[Record]) -> dict[str, str]:
    spread = _spread(record)
    flat = {"id": row["id"]}
    for name in record.model_fields:
        told = row[name]
        if name not in (*_NOT_IN_CSV, *spread.values()):
            flat[name] = "" if told is None else plain_cell(told) if isinstance(told, str) else str(told)
    for begins, name in spread.items():
        flat |= {f"{begins}{key}": spelled(value) for key, value in row[name].items()}
    return flat


def export_parquet(ledger: Ledger, folder: Path | str) -> list[Path]:
    """Write every row that was ever written, a Parquet file for each kind that has any; gives the files.

    Amounts and cost sheets are JSON text in them.

    Raises
    ------
    BadInput
        The folder cannot be written, or the library for Parquet is not installed.
    """
    try:
        import pyarrow as pa  # heavy: only where Parquet is written
        import pyarrow.parquet as pq
    except ImportError as why:
        mend = "Install it: python -m pip install -e '.[parquet]'; or take CSV, which holds the same rows."
        raise BadInput("Parquet", [Problem("writing it", "without pyarrow", "with its library", mend)]) from why

    at, written = _made(folder), []
    for kind in ENTRY_KINDS:
        rows = ledger.history(kind)
        if not rows:
            continue
        plain = [{k: json.dumps(v) if isinstance(v, Mapping) else v for k, v in row.items()} for row in rows]
        path = at / f"{kind}.parquet"
        table = io.BytesIO()
        pq.write_table(pa.Table.from_pylist(plain), table)
        write_safely(path, table.getvalue())
        written.append(path)
    return written


def _made(folder: Path | str) -> Path:
    at = Path(folder)
    try:
        at.mkdir(parents=True, exist_ok=True)
    except OSError as why:
        raise BadInput(str(at), [Problem("the folder", why.strerror or str(why), "writable")]) from why
    return at

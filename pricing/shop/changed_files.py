"""What of a shop differs from its files, as the whole new text of each file: comments, order and units stay."""

from pathlib import Path
from typing import Any

from pricing.basis.files import read_table, read_text, table_text
from pricing.basis.numerals import spelled
from pricing.basis.records import Record
from pricing.shop.own_sources import own_sources_text
from pricing.shop.powders import POWDER_COLUMNS, POWDER_OPTIONAL, POWDER_WANTED
from pricing.shop.rates import ASSUMPTION_COLUMNS, OPTIONAL, RATE_COLUMNS, Assumption
from pricing.shop.shop import Shop, ShopFile
from pricing.shop.usual_week import orders_text
from pricing.shop.visit import answers_text

_USUAL = {"", "pert", "1", "1.0"}  # in columns that a table need not have


def changed_files(old: Shop, shop: Shop, at: Path) -> dict[str, str]:
    """Collect the whole new text of each file that changes, by name.

    Parameters
    ----------
    old, shop : Shop
        As its files have it, and as they shall; both count in one currency.
    at : Path
        Where the files lie.
    """
    texts: dict[str, str] = {}
    changed = {
        field.alias or name: (_plain(getattr(old, name)), _plain(getattr(shop, name)))
        for name, field in ShopFile.model_fields.items()
        if getattr(old, name) != getattr(shop, name)
    }
    if changed:
        texts["shop.toml"] = _edited_toml(at / "shop.toml", changed, shop.currency)
    if old.finishes != shop.finishes:
        pairs = {key: (_plain(old.finishes.get(key)), _plain(f)) for key, f in shop.finishes.items()}
        pairs |= {key: (_plain(f), None) for key, f in old.finishes.items() if key not in shop.finishes}
        texts["finishes.toml"] = _edited_toml(at / "finishes.toml", pairs, shop.currency)
    for name, columns in (("rates", RATE_COLUMNS), ("assumptions", ASSUMPTION_COLUMNS)):
        was, now = getattr(old, name), getattr(shop, name)
        if was != now:
            texts[f"{name}.csv"] = _edited_rows(at / f"{name}.csv", columns, was, now, shop.currency)
    if old.powders != shop.powders:
        texts["powders.csv"] = _edited_powders(at / "powders.csv", old, shop)
    if old.visited != shop.visited:
        texts["first_visit.csv"] = answers_text(shop.visited)
    if old.week != shop.week:
        texts["week.csv"] = orders_text(shop.week)
    if old.sources != shop.sources:
        texts["sources.csv"] = own_sources_text(shop.sources)
    return texts


def _plain(record: Any) -> Any:
    if isinstance(record, tuple):
        return [_plain(item) for item in record]
    return record.model_dump(exclude_none=True) if isinstance(record, Record) else record


def _money(value: Any, currency: str) -> Any:
    return value.replace(" money", f" {currency}") if isinstance(value, str) else value


def _edited_toml(path: Path, changed: dict[str, tuple[Any, Any]], currency: str) -> str:
    import tomlkit  # heavy: only where a file is written, with its comments kept

    document = tomlkit.parse(read_text(path))
    for key, (old, new) in changed.items():
        _edit(document, key, old, new, currency)
    return tomlkit.dumps(document)


def _edit(table: Any, key: Any, old: Any, new: Any, currency: str) -> None:
    if old == new:
        return
    if new is None:
        table.pop(key, None)
    elif isinstance(new, dict) and isinstance(old, dict) and _has(table, key):
        for name in {**old, **new}:
            _edit(table[key], name, old.get(name), new.get(name), currency)
    elif isinstance(new, list) and isinstance(old, list) and len(new) == len(old) and _has(table, key):
        for at, (before, after) in enumerate(zip(old, new, strict=True)):
            _edit(table[key], at, before, after, currency)
    else:
        table[key] = _toml(new, currency)


def _has(table: Any, key: Any) -> bool:
    return key < len(table) if isinstance(key, int) else key in table


def _toml(value: Any, currency: str) -> Any:
    import tomlkit

    if isinstance(value, dict):
        table = tomlkit.table()
        table.update({k: _toml(v, currency) for k, v in value.items() if v is not None})
        return table
    if isinstance(value, (list, tuple)):
        if value and all(isinstance(item, dict) for item in value):
            tables = tomlkit.aot()
            for item in value:
                tables.append(_toml(item, currency))
            return tables
        return [_toml(item, currency) for item in value]
    return _money(value, currency)


def _edited_rows(path: Path, columns: tuple[str, ...], old: Any, new: Any, currency: str) -> str:
    is_rate, out = "step" in columns, []
    for row in read_table(path, columns, optional=OPTIONAL):
        key = f"{row['step']}.{row['driver']}.{row['gives']}" if is_rate else row["name"]
        if key in new:
            out.append(row if new[key] == old.get(key) else _row_of(new[key], is_rate, currency))
    out += [_row_of(a, is_rate, currency) for key, a in new.items() if key not in old]
    return table_text([*columns, *(n for n in OPTIONAL if {row.get(n) or "" for row in out} - _USUAL)], out)


def _row_of(a: Assumption, is_rate: bool, currency: str) -> dict[str, str]:
    named = dict(zip(("step", "driver", "gives"), a.key.rsplit(".", 2), strict=True)) if is_rate else {"name": a.key}
    numbers = {name: spelled(getattr(a, name)) for name in ("low", "likely", "high", "doubt")}
    words = {name: getattr(a, name) for name in ("where", "read_on", "note", "shape")}
    return named | numbers | words | {"unit": a.unit.replace("money", currency), "source": a.source.key}


def _edited_powders(path: Path, old: Shop, shop: Shop) -> str:
    rows = {row["name"]: row for row in read_table(path, POWDER_WANTED, optional=POWDER_OPTIONAL)}
    out = []
    for name, powder in shop.powders.items():
        if old.powders.get(name) == powder and not rows[name]["leftover"]:
            out.append(rows[name])
        else:
            cells = powder.model_dump().items()
            out.append({k: spelled(v) if isinstance(v, float) else str(_money(v, shop.currency)) for k, v in cells})
    return table_text(POWDER_COLUMNS, out)

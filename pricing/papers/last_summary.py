"""What changed since the last summary: figures are kept beside it, and held against the next one's."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_text
from pricing.papers.told import PaperWords
from pricing.shop.shop import Shop
from pricing.show.naming import Names
from pricing.show.words import counted

_NEAR = 1e-9
_MOST = 4


class Snapshot(BaseModel):
    """Figures of one summary: means of the book, prices of the list, and the job that was shown."""

    model_config = ConfigDict(frozen=True)

    form: int = 1
    day: date
    currency: str
    numbers: Mapping[str, float]
    prices: Mapping[str, float]
    job: str
    cost: float
    price: float


def snapshot_text(snapshot: Snapshot) -> str:
    """Write figures to be kept."""
    return f"{snapshot.model_dump_json(indent=1)}\n"


def read_snapshot(path: Path) -> Snapshot:
    """Read figures that `snapshot_text` wrote.

    Raises
    ------
    BadInput
        It is no such file.
    """
    text = read_text(path)
    try:
        return Snapshot.model_validate_json(text)
    except ValidationError as why:
        accepts = "the figures of a summary"
        raise BadInput(str(path), [Problem("the file", "not readable", accepts, "Take another, or none.")]) from why


def last_in(folder: Path, stem: str) -> Path | None:
    """Find the newest kept figures in a folder."""
    found = sorted(folder.glob(f"{stem}*.json"), key=lambda path: (path.stat().st_mtime_ns, path.name))
    return found[-1] if found else None


def changes(shop: Shop, before: Snapshot, now: Snapshot) -> Sequence[str]:
    """Say what changed, the largest first; empty where nothing did."""
    words, told = PaperWords(shop), []
    if before.currency != now.currency:
        return [f"The shop counts in {now.currency} now; before it was {before.currency}."]
    if before.job == now.job:
        told += _money("The full cost of this job", before.cost, now.cost, words)
        told += _money("Its price", before.price, now.price, words)
    told += _numbers(shop, before.numbers, now.numbers)
    told += _prices(before.prices, now.prices, words)
    return told


def _differs(one: float, other: float) -> bool:
    return abs(one - other) > _NEAR * max(1.0, abs(one), abs(other))


def _money(what: str, old: float, new: float, words: PaperWords) -> list[str]:
    return [f"{what}: {words.money(old)} before, {words.money(new)} now."] if abs(old - new) > 5e-3 else []


def _numbers(shop: Shop, before: Mapping[str, float], now: Mapping[str, float]) -> list[str]:
    moved = [key for key in now if key in before and _differs(before[key], now[key])]
    moved.sort(key=lambda key: -abs(now[key] - before[key]) / max(abs(before[key]), 1e-12))
    told = [
        f"{Names(shop).of(key)}: {_written(shop, key, before[key])} → {_written(shop, key, now[key])}"
        for key in moved[:_MOST]
    ]
    rest = len(moved) - len(told)
    return [*told, f"and {counted(rest, 'more number', 'more numbers')}."] if rest > 0 else told


def _written(shop: Shop, key: str, value: float) -> str:
    words, row = PaperWords(shop), shop.uncertain.get(key)
    if row is None:
        return words.money(value)
    if row.unit in {"share", "number"}:
        return words.local(f"{value:.1%}" if row.unit == "share" else f"{value:.3g}")
    return words.measure(value, row.unit)


def _prices(before: Mapping[str, float], now: Mapping[str, float], words: PaperWords) -> list[str]:
    up = [key for key in now if key in before and now[key] > before[key] + 5e-3]
    down = [key for key in now if key in before and now[key] < before[key] - 5e-3]
    new, gone = len(now.keys() - before.keys()), len(before.keys() - now.keys())
    counts = [f"{len(up)} up", f"{len(down)} down", f"{new} new", f"{gone} gone"]
    counted = [text for text in counts if not text.startswith("0 ")]
    if not counted:
        return []
    told = f"Prices of the list: {', '.join(counted)}"
    if up or down:
        most = max(up + down, key=lambda key: abs(now[key] - before[key]) / max(before[key], 1e-12))
        told += f"; most: {most}, {words.money(before[most])} → {words.money(now[most])}"
    return [f"{told}."]

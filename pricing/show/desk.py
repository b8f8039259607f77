"""The shop on the desk: what is changed is in the draft at once, for every page, and is saved when the owner says so.

Why      a page holds nothing that another page, or the same one tomorrow, does not see: each change is written into the
         draft of the folder, and each page looks now and then what the others have done. Pages that only show keep what
         is tried on them to themselves.
"""

import os
import shutil
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput, Problem
from pricing.basis.switch import locked, read_settled, stamp_of
from pricing.basis.tongue import Tongue
from pricing.parts.items import Item, items_text, read_items
from pricing.shop.copies import copies, files_of, keep_copy
from pricing.shop.draft import Draft, DraftStep, Text
from pricing.shop.folder import FILES, demo_folder, open_shop, save_shop
from pricing.shop.shop import Shop
from pricing.show.merge import merged_rows
from pricing.show.words import Words

SHOP_VARIABLE = "POWDER_SHOP_FOLDER"
"""Name of the environment variable that says which folder the pages open."""
READ_ONLY_VARIABLE = "POWDER_SHOP_READ_ONLY"
LOG_VARIABLE = "POWDER_SHOP_LOG"
"""Name of the environment variable that lets pages which are only shown write the log, and nothing else."""


@dataclass(frozen=True, slots=True)
class State:
    """What stands on the desk at one moment."""

    shop: Shop
    items: Mapping[str, Item]


class Desk:
    """A shop's folder that is worked on.

    Parameters
    ----------
    folder : path, optional
        Without it: the folder named in the environment, else the working folder if a shop lies in it, else the
        demo shop, which cannot be saved.
    read_only : bool, optional
        Whether saving is refused; by default as the environment says.

    Raises
    ------
    BadInput
        With every problem of the folder.
    """

    def __init__(self, folder: Path | str | None = None, *, read_only: bool | None = None) -> None:
        self.folder = _folder(folder)
        self.demo = self.folder.resolve() == demo_folder().resolve()
        asked = os.environ.get(READ_ONLY_VARIABLE, "") not in {"", "0"} if read_only is None else read_only
        self.read_only = asked or self.demo
        self.told = ""
        self._who = uuid.uuid4().hex
        self._draft = None if self.read_only else Draft(self.folder)
        self._tried: list[State] = []  # of a page that only shows: what is tried, and what was taken back
        self._taken_back: list[State] = []
        self._heard: list[Callable[[], None]] = []
        self._read()

    def _read(self) -> None:
        self._stamp = self._stamp_now()  # before it is read: what is written meanwhile is found at the next look
        self.read_at = time.strftime("%H:%M")
        self.saved = self.now = read_state(self.folder)
        if self._draft:
            self.now = drafted(self.folder, self.saved, self._draft.top())

    def _stamp_now(self) -> object:
        return stamp_of(self.folder, FILES), self._draft.stamp if self._draft else None

    @property
    def shop(self) -> Shop:
        """The shop with all changes."""
        return self.now.shop

    @property
    def items(self) -> Mapping[str, Item]:
        """The families of the price list with all changes."""
        return self.now.items

    @property
    def tongue(self) -> Tongue:
        """What the shop counts in and thinks in."""
        return self.shop.tongue

    @property
    def words(self) -> Words:
        """How the shop writes money and measures."""
        return Words(self.shop)

    def on_change(self, heard: Callable[[], None]) -> None:
        """Say who hears of every change."""
        self._heard.append(heard)

    def look(self) -> bool:
        """Take in what other pages, and other programs, have done meanwhile; True if it changes something.

        Raises
        ------
        BadInput
            The folder cannot be read now; what was read before stays on the desk.
        """
        if self._stamp_now() == self._stamp:
            return False
        before, was = self.now, self.changed
        self._read()
        self._tried.clear()
        self._taken_back.clear()
        if self.now == before and self.changed == was:
            return False
        if self.now != before:
            self.told = f"Changed on another page: {', '.join(named(before, self.now))}"
        self._tell()
        return True

    def change(self, tables: Mapping[str, Any] | None = None, *, items: Mapping[str, Item] | None = None) -> None:
        """Put something else on the desk; where another page has changed the same field meanwhile, this is the later.

        ``tables`` are fields of the shop by name: ``owner``, ``rates``, ``policy`` ...

        Raises
        ------
        BadInput
            The folder cannot be read, or the draft cannot be written.
        """
        base = self.now
        mine = State(replace(base.shop, **tables) if tables else base.shop, base.items if items is None else items)
        others = self.look()
        new = merged_rows(base, mine, self.now)
        if new != self.now:
            self.told = self.told if others else ""  # where two meet, both are told
            self._put(new)

    def _put(self, new: State) -> None:
        if self._draft is None:
            self._tried.append(self.now)
            self._taken_back.clear()
        else:
            self._draft.add(self._who, texts_of(self.folder, self.saved, new))
            self._stamp = self._stamp_now()
        self.now = new
        self._tell()

    def undo(self) -> bool:
        """Take the last change back, whichever page made it; False when there is none."""
        return self._turn(self._tried, self._taken_back, self._draft.undo if self._draft else None)

    def redo(self) -> bool:
        """Make the change again that was taken back last; False when there is none."""
        return self._turn(self._taken_back, self._tried, self._draft.redo if self._draft else None)

    def _turn(self, source: list[State], to: list[State], turn: Callable[[], bool] | None) -> bool:
        self.look()
        if turn:
            if not turn():
                return False
            self._read()
        else:
            if not source:
                return False
            to.append(self.now)
            self.now = source.pop()
        self.told = ""
        self._tell()
        return True

    @property
    def can(self) -> tuple[bool, bool]:
        """Whether there is a change to undo, and one to redo."""
        return self._draft.can if self._draft else (bool(self._tried), bool(self._taken_back))

    def discard(self) -> None:
        """Go back to what is saved; even that can be undone."""
        self.look()
        if self.changed:
            self._put(self.saved)

    @property
    def days(self) -> list[date]:
        """Days of which a copy of the folder is kept, the newest first."""
        return [] if self.read_only else copies(self.folder)

    def bring_back(self, day: date) -> None:
        """Put the shop as it was on a day into the draft: it can be looked at, undone, and saved.

        Raises
        ------
        BadInput
            There is no such copy, or it does not fit this program.
        """
        self._writable()
        self.look()
        texts = files_of(self.folder, day)
        new = _read_texts(self.folder, texts)
        if new != self.now:
            self.told = ""
            self._put(new)

    def _tell(self) -> None:
        for heard in self._heard:
            heard()

    @property
    def changed(self) -> bool:
        """Whether something differs from what is saved."""
        return self.now != self.saved

    def changes(self) -> list[str]:
        """Name what differs from what is saved."""
        return named(self.saved, self.now)

    def _writable(self) -> None:
        if self.read_only:
            mend = "`python -m pricing` opens your own copy of it." if self.demo else "Save it on the owner's machine."
            raise BadInput(str(self.folder), [Problem("the shop", "only shown", "your own folder", mend)])

    def save(self) -> list[str]:
        """Make the draft the shop, and name the files that were changed; a copy of how it was is kept once a day.

        Raises
        ------
        BadInput
            It is the demo, or only shown, or it cannot be read or written.
        """
        self._writable()
        with locked(self.folder, FILES):  # nobody else saves between the look and the writing
            self.look()
            keep_copy(self.folder, date.today())  # noqa: DTZ011  the owner's own day
            names = write_state(self.folder, self.saved, self.now)
            if self._draft:
                self._draft.clear()
            self._read()
        self.told = ""
        self._tell()
        return names

    def read_again(self) -> None:
        """Read the folder again, as after another part of the program has written it; `BadInput` tells its problems."""
        self._read()
        self._tell()


def named(before: State, after: State) -> list[str]:
    """Name what differs between two states, in an owner's words."""
    tables = {
        "people": ("owner", "helper"),
        "bills": ("fixed", "tariffs"),
        "machines": ("machines", "to_buy"),
        "policy": ("policy",),
        "shop": ("front",),
        "finishes": ("finishes",),
        "first visit": ("visited",),
        "week": ("week",),
        "sources": ("sources",),
    }
    found = [
        word for word, names in tables.items() if any(getattr(before.shop, n) != getattr(after.shop, n) for n in names)
    ]
    for word in ("rates", "assumptions", "powders"):
        old, new = getattr(before.shop, word), getattr(after.shop, word)
        count = sum(old.get(key) != new.get(key) for key in {**old, **new})
        found += [f"{count} {word if count > 1 else word[:-1]}"] if count else []
    count = sum(before.items.get(key) != after.items.get(key) for key in {**before.items, **after.items})
    return found + ([f"{count} {'items' if count > 1 else 'item'}"] if count else [])


def texts_of(folder: Path, saved: State, new: State) -> dict[str, Text]:
    """Collect the files in which a state differs from what is saved, as they would be written."""
    with beside(folder) as at:
        before = {name: _text(at / name) for name in FILES}
        return {name: Text(before[name], _text(at / name)) for name in write_state(at, saved, new)}


def drafted(folder: Path, saved: State, step: DraftStep) -> State:
    """Return the state of a draft upon what is saved now; `BadInput` where that is no shop.

    Where it stood on other files than those that are saved now, its changes are put upon them.
    """
    if not step.files:
        return saved
    mine = _read_texts(folder, {name: text.now for name, text in step.files.items()})
    older = {name: text.before for name, text in step.files.items() if _text(folder / name) != text.before}
    if not older:
        return mine
    base = _read_texts(folder, {name: text.before for name, text in step.files.items()})
    return merged_rows(base, mine, saved)


@contextmanager
def beside(folder: Path) -> Iterator[Path]:
    """Yield a folder with copies of the shop's files, to write into and read from."""
    with tempfile.TemporaryDirectory() as name:
        for file in FILES:
            if (folder / file).exists():
                shutil.copyfile(folder / file, Path(name) / file)
        yield Path(name)


def _text(path: Path) -> str:
    return path.read_text("utf-8") if path.exists() else ""


def _read_texts(folder: Path, texts: Mapping[str, str]) -> State:
    with beside(folder) as at:
        for name, text in texts.items():
            if text:
                (at / name).write_text(text, "utf-8")
            else:  # it was not there yet
                (at / name).unlink(missing_ok=True)
        found = read_state(at)
    return State(replace(found.shop, folder=folder), found.items)


def write_state(folder: Path, saved: State, new: State) -> list[str]:
    """Write what differs into a folder's files; gives their names."""
    path = folder / "items.csv"
    text = {path.name: items_text(path, new.items, saved.items)} if new.items != saved.items else {}
    return save_shop(new.shop, folder, text)


def _folder(folder: Path | str | None) -> Path:
    if folder is not None:
        return Path(folder)
    named = os.environ.get(SHOP_VARIABLE)
    if named:
        return Path(named)
    here = Path.cwd()
    return here if (here / "shop.toml").is_file() else demo_folder()


def read_state(folder: Path) -> State:
    """Read what stands in a folder; `BadInput` tells every problem of it."""

    def both() -> State:
        shop = open_shop(folder)
        return State(shop, read_items(shop))

    return read_settled(folder, FILES, both)

"""The shop on the desk: what is changed is tried at once, can be undone, and is saved when the owner says so.

Room     show. Imports basis, parts, shop.
"""

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pricing.basis.errors import BadInput, Problem
from pricing.basis.switch import locked, read_settled, stamp_of
from pricing.parts.items import Item, items_text, read_items
from pricing.shop.folder import FILES, demo_folder, open_shop, save_shop
from pricing.shop.own_prices import OwnPrice, Place
from pricing.shop.shop import Shop
from pricing.show.fields import Tongue
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
        self._stamp = stamp_of(self.folder, FILES)
        self.read_at = time.strftime("%H:%M")
        self.saved = self.now = _read(self.folder)
        self._before: list[State] = []
        self._heard: list[Callable[[], None]] = []

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
        return Tongue(self.shop.currency, self.shop.front.units)

    @property
    def words(self) -> Words:
        """How the shop writes money and measures."""
        return Words(self.shop)

    def on_change(self, heard: Callable[[], None]) -> None:
        """Say who hears of every change."""
        self._heard.append(heard)

    def change(self, tables: Mapping[str, Any] | None = None, *, items: Mapping[str, Item] | None = None) -> None:
        """Put something else on the desk.

        Parameters
        ----------
        tables : mapping, optional
            Fields of the shop by name: ``owner``, ``rates``, ``policy`` ...
        items : mapping, optional
            Other items.
        """
        new = State(replace(self.shop, **tables) if tables else self.shop, self.items if items is None else items)
        if new != self.now:
            self._before.append(self.now)
            self._set(new)

    def undo(self) -> bool:
        """Take the last change back; False when there is none."""
        if not self._before:
            return False
        self._set(self._before.pop())
        return True

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back."""
        return bool(self._before)

    def _set(self, state: State) -> None:
        self.now = state
        for heard in self._heard:
            heard()

    @property
    def changed(self) -> bool:
        """Whether something differs from what is saved."""
        return self.now != self.saved

    def changes(self) -> list[str]:
        """Name what differs from what is saved."""
        before, after = self.saved, self.now
        tables = {
            "people": ("owner", "helper"), "bills": ("fixed", "tariffs"), "machines": ("machines",),
            "policy": ("policy",), "shop": ("front",),
        }  # fmt: skip
        found = [
            word
            for word, names in tables.items()
            if any(getattr(before.shop, n) != getattr(after.shop, n) for n in names)
        ]
        for word in ("rates", "assumptions", "powders"):
            old, new = getattr(before.shop, word), getattr(after.shop, word)
            count = sum(old.get(key) != new.get(key) for key in {**old, **new})
            found += [f"{count} {word if count > 1 else word[:-1]}"] if count else []
        count = sum(before.items.get(key) != after.items.get(key) for key in {**before.items, **after.items})
        return found + ([f"{count} {'items' if count > 1 else 'item'}"] if count else [])

    def save(self) -> list[str]:
        """Write the shop's files; a reader sees the old file or the new one, never a half.

        Returns
        -------
        list of str
            Names of the files that were changed.

        Raises
        ------
        BadInput
            It is the demo, or only shown, or the folder was changed meanwhile, or it cannot be written.
        """
        if self.read_only:
            mend = "`python -m pricing` opens your own copy of it." if self.demo else "Save it on the owner's machine."
            raise BadInput(str(self.folder), [Problem("the shop", "only shown", "your own folder", mend)])
        with locked(self.folder, FILES):  # nobody else saves between the look and the writing
            if self.stale():
                mend = "Read it again first; what you changed here stands in the way."
                raise BadInput(str(self.folder), [Problem("the folder", "changed by another page", "as it was", mend)])
            path = self.folder / "items.csv"
            changed = self.items != self.saved.items
            text = {path.name: items_text(path, self.items, self.saved.items)} if changed else {}
            names = save_shop(self.shop, self.folder, text)
            self._stamp = stamp_of(self.folder, FILES)
            self.saved = self.now = _read(self.folder)
        self._before.clear()
        self._set(self.now)
        return names

    def set_own_prices(self, prices: Mapping[Place, OwnPrice]) -> None:
        """Put prices on the desk that were just written into the folder."""
        self.saved = replace(self.saved, shop=replace(self.saved.shop, own_prices=prices))
        self._stamp = stamp_of(self.folder, FILES)
        self._set(replace(self.now, shop=replace(self.now.shop, own_prices=prices)))

    def stale(self) -> bool:
        """Whether another page, or another program, has written into the folder."""
        return stamp_of(self.folder, FILES) != self._stamp

    def read_again(self) -> None:
        """Take what stands in the folder, and drop what was not saved.

        Raises
        ------
        BadInput
            With every problem of the folder.
        """
        self._stamp = stamp_of(self.folder, FILES)  # before it is read: what is saved meanwhile is told as new
        self.read_at = time.strftime("%H:%M")
        self.saved = _read(self.folder)
        self._before.clear()
        self._set(self.saved)


def _folder(folder: Path | str | None) -> Path:
    if folder is not None:
        return Path(folder)
    named = os.environ.get(SHOP_VARIABLE)
    if named:
        return Path(named)
    here = Path.cwd()
    return here if (here / "shop.toml").is_file() else demo_folder()


def _read(folder: Path) -> State:
    def both() -> State:
        shop = open_shop(folder)
        return State(shop, read_items(shop))

    return read_settled(folder, FILES, both)

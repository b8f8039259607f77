"""The board of a page and what stands on it, by one name.

Why      what works out rows needs the names of rows and no widget: `Board` loads when it is asked for, so that a
         command or a paper that shows the same rows does not load the notebook's widgets, a quarter of a second.
"""

from typing import TYPE_CHECKING, Any

from pricing.show.blocks import Answer, Block, Rows, Spec

if TYPE_CHECKING:
    from pricing.show.board import Board

__all__ = ["Answer", "Block", "Board", "Rows", "Spec"]


def __getattr__(name: str) -> Any:
    if name != "Board":
        raise AttributeError(name)
    from pricing.show.board import Board

    return Board

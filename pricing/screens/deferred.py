"""Work that waits until a slider rests, and work that is done again and again."""

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pricing.show.board import Board


class Later:
    """Does something once things have been quiet for a while; at once where no event loop runs, as in a test.

    Parameters
    ----------
    do : callable
        What to do.
    board : Board, optional
        It must stand in the browser first: a kernel that is busy while a page asks for its widgets keeps it blank.
    after_s : float
        How long it must have been quiet. [s]
    """

    def __init__(self, do: Callable[[], None], board: "Board | None" = None, *, after_s: float = 0.15) -> None:
        self._do, self._board, self._after_s = do, board, after_s
        self._timer: asyncio.TimerHandle | None = None
        if board is not None:
            board.on_seen(self.soon)

    def soon(self) -> None:
        """Do it after the wait, counted anew from now."""
        if self._timer:
            self._timer.cancel()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._do()
            return
        if self._board is not None and not self._board.seen:
            return
        self._timer = loop.call_later(self._after_s, self._do)


class Every:
    """Does something each so many seconds while an event loop runs; nothing where none does, as in a test."""

    def __init__(self, do: Callable[[], None], each_s: float) -> None:
        self._do, self._each_s = do, each_s
        try:
            self._loop = asyncio.get_running_loop()
        except RuntimeError:
            return
        self._loop.call_later(each_s, self._again)

    def _again(self) -> None:
        try:
            self._do()
        finally:
            self._loop.call_later(self._each_s, self._again)

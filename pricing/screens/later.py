"""Work that waits until a slider rests, and work that is done again and again."""

import asyncio
from collections.abc import Callable


class Later:
    """Does something once things have been quiet for a while; at once where no event loop runs, as in a test.

    Parameters
    ----------
    do : callable
        What to do.
    after_s : float
        How long it must have been quiet. [s]
    """

    def __init__(self, do: Callable[[], None], after_s: float = 0.15) -> None:
        self._do, self._after_s = do, after_s
        self._timer: asyncio.TimerHandle | None = None

    def soon(self) -> None:
        """Do it after the wait, counted anew from now."""
        if self._timer:
            self._timer.cancel()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._do()
            return
        self._timer = loop.call_later(self._after_s, self._do)


class Every:
    """Does something again and again while an event loop runs; nothing where none does, as in a test.

    Parameters
    ----------
    do : callable
        What to do.
    each_s : float
        How long it rests between. [s]
    """

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

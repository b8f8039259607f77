"""Remember by identity: for frozen things that hold mappings and so cannot be hashed."""

from typing import Generic, TypeVar

_T = TypeVar("_T")


class Same(Generic[_T]):
    """A key for caches: equal only to itself around the very same object, which it keeps alive.

    >>> a, b = {}, {}
    >>> Same(a) == Same(a), Same(a) == Same(b)
    (True, False)
    """

    __slots__ = ("thing",)

    def __init__(self, thing: _T) -> None:
        self.thing = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.thing is self.thing

    def __hash__(self) -> int:
        return id(self.thing)

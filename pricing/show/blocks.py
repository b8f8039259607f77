"""What stands on the board of a page, in names and records: blocks, the rows they are fed, answers to "why"."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

Rows = Sequence[Mapping[str, Any]]
Spec = Mapping[str, Any]


class Block(NamedTuple):
    """One place of a board.

    Parameters
    ----------
    key : str
        Its name, also in the areas of the board.
    title : str
        Heading of a chart; empty for figures.
    spec : mapping, optional
        Vega-Lite, as `pricing.show.charts` describes it; without it the block holds words.
    drag : tuple of str
        Axes along which a mark of the chart can be dragged: ``x``, ``y``.
    style : str
        ``bare``, ``card`` or ``card rolls`` for words; ``tall`` for a chart with many rows.
    """

    key: str
    title: str = ""
    spec: Spec | None = None
    drag: tuple[str, ...] = ()
    style: str = "bare"

    def traits(self) -> dict[str, Any]:
        """Describe it as the script reads it."""
        if self.spec is None:
            return {"key": self.key, "kind": "words", "style": self.style, "about": self.title or self.key}
        about = f"{self.title}. {self.spec.get('description', '')}"
        return {
            "key": self.key,
            "kind": "chart",
            "title": self.title,
            "spec": dict(self.spec),
            "drag": list(self.drag),
            "about": about,
            "tall": self.style == "tall",
        }


class Answer(NamedTuple):
    """The sum behind a number: a title, one sentence a line, and the caution that belongs to it."""

    title: str
    lines: Sequence[str]
    cautions: Sequence[str] = ()


def names_in(spec: Spec) -> Sequence[str]:
    """Collect the names of the data a chart is fed with.

    >>> names_in({"layer": [{"data": {"name": "curve"}}, {"data": {"name": "now"}}, {"data": {"name": "curve"}}]})
    ['curve', 'now']
    """
    found = [spec["data"]["name"]] if "name" in spec.get("data", {}) else []
    for layer in spec.get("layer", ()):
        found += names_in(layer)
    return list(dict.fromkeys(found))

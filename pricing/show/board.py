"""The board of a page: charts that are embedded once and fed new rows, and figures beside them.

Why      redrawing a chart for each move of a slider takes a tenth of a second and more; feeding rows to a
         chart that stands there takes a third of that. All charts of a page share one script, which is made
         once from the bundle that vl-convert carries, so nothing comes from a network.
Gives    `Board`: `show` sends rows and words, `on_asked` answers "why", `on_picked` hears of dragged marks.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import anywidget
import traitlets

from pricing.basis.money import separators
from pricing.show.blocks import Answer, Block, Rows, Spec
from pricing.show.bundle import bundled
from pricing.show.look import script, style_sheet


class Board(anywidget.AnyWidget):
    """Charts and figures of a page.

    Parameters
    ----------
    blocks : sequence of Block
        What stands on it.
    areas : sequence of str
        Rows of a CSS grid, each naming the block of every column.
    columns, lines : str
        Widths of the columns and heights of the rows, as CSS takes them.
    locale : str
        Whose numbers stand on axes and in tooltips.
    """

    blocks: Any = traitlets.List().tag(sync=True)
    areas = traitlets.Unicode().tag(sync=True)
    columns = traitlets.Unicode().tag(sync=True)
    lines = traitlets.Unicode().tag(sync=True)
    signs = traitlets.List([".", ","]).tag(sync=True)
    rows = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    asked = traitlets.Dict().tag(sync=True)
    answer = traitlets.Dict().tag(sync=True)
    picked = traitlets.Dict().tag(sync=True)
    did = traitlets.Dict().tag(sync=True)
    seen = traitlets.Bool(default_value=False).tag(sync=True)

    def __init__(
        self,
        blocks: Sequence[Block],
        areas: Sequence[str],
        *,
        columns: str,
        lines: str,
        locale: str = "en",
    ) -> None:
        self._shown: dict[str, dict[str, Rows]] = {}
        self._said: dict[str, str] = {}
        self._told = 0
        self._why: Callable[[str], Answer | None] = lambda _: None
        super().__init__(
            blocks=[block.traits() for block in blocks],
            areas=" ".join(f'"{row}"' for row in areas),
            columns=columns,
            lines=lines,
            signs=list(separators(locale)),
        )
        self.observe(self._asked, "asked")

    @property
    def _esm(self) -> str:
        return bundled("board", script("board.js"))

    @property
    def _css(self) -> str:
        return style_sheet()

    def show(
        self, rows: Mapping[str, Mapping[str, Rows]] | None = None, words: Mapping[str, str] | None = None
    ) -> None:
        """Send what has changed, in one message: new rows by chart and name of its data, and HTML by block.

        Under a chart words stand below its heading. Names in them must be escaped already.
        """
        changed = {k: dict(v) for k, v in (rows or {}).items() if self._shown.get(k) != v}
        new = {k: text for k, text in (words or {}).items() if self._said.get(k) != text}
        for chart, data in changed.items():
            self._shown[chart] = {**self._shown.get(chart, {}), **data}
        self._said.update(new)
        with self.hold_sync():
            if new:
                self.words = new
            if changed:
                self.rows = changed

    def draw_anew(self, chart: str, spec: Spec) -> None:
        """Describe a chart anew, with the rows it has: for another title of an axis."""
        self.blocks = [block | {"spec": dict(spec)} if block["key"] == chart else block for block in self.blocks]

    def get_state(self, key: Any = None, drop_defaults: bool = False) -> Any:
        """Return the whole state to a page that opens late, though messages carry only what changed."""
        state = super().get_state(key=key, drop_defaults=drop_defaults)
        if key is None:
            state |= {"rows": self._shown, "words": self._said}
        return state

    def rows_of(self, chart: str, name: str) -> Rows:
        """Return the rows that a chart shows now, by the name of its data."""
        return self._shown.get(chart, {}).get(name, ())

    def words_of(self, block: str) -> str:
        """Write the HTML a block shows now."""
        return self._said.get(block, "")

    def on_asked(self, why: Callable[[str], Answer | None]) -> None:
        """Say who answers "why": from the key of a number to the sum behind it."""
        self._why = why

    def _asked(self, change: Any) -> None:
        found = self._why(change["new"].get("key", ""))
        if found:
            self._answer(found, change["new"].get("n", 0))

    def tell(self, found: Answer) -> None:
        """Show words that nobody asked the board itself for."""
        self._told -= 1
        self._answer(found, self._told)

    def _answer(self, found: Answer, n: int) -> None:
        self.answer = {"n": n, "title": found.title, "lines": list(found.lines), "cautions": list(found.cautions)}

    def on_seen(self, heard: Callable[[], None]) -> None:
        """Say who hears that it stands in a browser, drawn for the first time."""
        self.observe(lambda _: heard(), "seen")

    def on_picked(self, heard: Callable[[str, Mapping[str, float]], None]) -> None:
        """Say who hears of a dragged or clicked mark: the chart, and where on its axes."""
        self.observe(lambda change: heard(change["new"].get("chart", ""), _axes(change["new"])), "picked")


def _axes(picked: Mapping[str, Any]) -> dict[str, float]:
    return {axis: float(picked[axis]) for axis in ("x", "y") if axis in picked}

"""Charts on paper and in a page that stands alone: the same charts as on the screen, with their rows inside.

Takes    charts of `charts_job` and `charts_shop`, and their rows.
Gives    descriptions in Vega-Lite: a page draws them with Vega itself, paper by ``chart.typ``.
"""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple

from pricing.basis.files import read_text
from pricing.show import look
from pricing.show.blocks import names_in
from pricing.show.bundle import kept_as_bundle

_PAPER_HIGH = 176


class PrintedFigure(NamedTuple):
    """One chart with its heading, the sentence below it, and its size. [px]"""

    key: str
    title: str
    told: str
    spec: Mapping[str, Any]
    width: int = 385
    height: int = 235


def figure(
    key: str, title: str, told: str, spec: Mapping[str, Any], rows: Mapping[str, Sequence[Mapping[str, Any]]]
) -> PrintedFigure:
    """Put the rows of a chart into it."""
    empty: dict[str, Any] = {name: [] for name in names_in(spec)}
    return PrintedFigure(key, title, told, {**spec, "datasets": empty | {name: list(r) for name, r in rows.items()}})


def spec_of(one: PrintedFigure) -> dict[str, Any]:
    """Describe a chart as a page draws it; the marks of a board, which ask why, are left out."""
    made: dict[str, Any] = json.loads(json.dumps(one.spec))
    if "hconcat" not in made and "vconcat" not in made:
        made |= {"width": one.width, "height": one.height, "autosize": {"type": "fit", "contains": "padding"}}
    for rows in made["datasets"].values():
        for row in rows:
            row.pop("why_key", None)
    return made


def on_paper(one: PrintedFigure) -> dict[str, Any]:
    """Make a chart as paper draws it, as flat as paper needs it: four rows of charts stand on a page, of Letter too."""
    high = _PAPER_HIGH if one.height == PrintedFigure._field_defaults["height"] else one.height
    spec = {key: value for key, value in spec_of(one).items() if key not in {"config", "$schema", "autosize"}}
    about = str(one.spec.get("description", one.told))
    return {"key": one.key, "title": one.title, "told": one.told, "about": about, "high": high, "spec": spec}


def described(module: str, chart: str, *given: Any, **more: Any) -> Mapping[str, Any]:
    """Collect the description of a chart, kept between runs: to make one anew takes Altair, a second in all.

    Parameters
    ----------
    module, chart : str
        Where in the project, such as ``show.charts_shop``, and the name of the function that describes it.
    *given, **more
        What the function takes; texts, numbers and truth values.
    """

    def make() -> str:
        return json.dumps(getattr(import_module(f"pricing.{module}"), chart)(*given, **more))

    about = json.dumps([version("altair"), _written(module), module, chart, given, more], sort_keys=True)
    try:
        found: dict[str, Any] = json.loads(kept_as_bundle(chart, ".json", about, make))
    except ValueError:  # what was kept is damaged
        found = json.loads(make())
    return found


@cache
def _written(module: str) -> str:
    """All that charts are described in: the module itself, and those that they share."""
    spec = find_spec(f"pricing.{module}")
    here = Path(spec.origin if spec and spec.origin else __file__)
    shared = sorted(Path(look.__file__).parent.glob("charts*.py"))
    return "".join(read_text(path) for path in (here, *shared, Path(look.__file__)))


def embedded(value: Any) -> str:
    r"""Write data into a page so that nothing in it can end the script it stands in.

    >>> embedded({"title": "</script><b>"})
    '{"title": "\\u003c/script\\u003e\\u003cb\\u003e"}'
    """
    text = json.dumps(value)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")

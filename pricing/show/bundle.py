"""Scripts with all they need inside, so that a page draws without a network; and what else is kept between runs."""

from collections.abc import Callable
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from importlib.metadata import version

from pricing.basis.errors import BadInput
from pricing.basis.files import write_safely


@cache
def bundled(name: str, text: str) -> str:
    """Write a script, which may use ``vegaEmbed``, with the chart library in it: made once, as it takes a second."""

    def make() -> str:
        import vl_convert  # heavy: only where a bundle is made anew

        return str(vl_convert.javascript_bundle(text))

    return kept_as_bundle(f"{name}-{version('vl-convert-python')}", ".js", text, make)


def kept_as_bundle(name: str, ending: str, about: str, make: Callable[[], str]) -> str:
    """Write a text that takes long to make; it is kept between runs, by a file of this name and ending.

    It is made again when ``about`` changes: all that the text depends on.
    """
    from platformdirs import user_cache_path

    digest = blake2b(about.encode(), digest_size=8).hexdigest()
    file = user_cache_path("powder-shop-pricing") / f"{name}-{digest}{ending}"
    with suppress(OSError):
        return file.read_text("utf-8")
    made = make()
    with suppress(OSError, BadInput):
        file.parent.mkdir(parents=True, exist_ok=True)
        write_safely(file, made)
    return made

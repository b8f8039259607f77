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
    """Write a script with the chart library in it; kept between runs, as it takes a second to make.

    Parameters
    ----------
    name : str
        Of the file it is kept in.
    text : str
        The script; it may use ``vegaEmbed``.
    """

    def make() -> str:
        import vl_convert  # heavy: only where a bundle is made anew

        return str(vl_convert.javascript_bundle(text))

    return kept_as_bundle(f"{name}-{version('vl-convert-python')}", ".js", text, make)


def kept_as_bundle(name: str, ending: str, about: str, make: Callable[[], str]) -> str:
    """Write a text that takes long to make; it is kept between runs.

    Parameters
    ----------
    name, ending : str
        Of the file it is kept in.
    about : str
        All that the text depends on.
    make : callable
        Makes it, where it is not kept yet.
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

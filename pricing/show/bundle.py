"""Scripts with all they need inside, so that a page draws without a network.

Room     show. Imports basis.
"""

from contextlib import suppress
from functools import cache
from hashlib import blake2b
from importlib.metadata import version

from pricing.basis.errors import BadInput
from pricing.basis.files import write_safely


@cache
def bundled(name: str, text: str) -> str:
    """Give a script with the chart library in it; kept between runs, as it takes a second to make.

    Parameters
    ----------
    name : str
        Of the file it is kept in.
    text : str
        The script; it may use ``vegaEmbed``.
    """
    from platformdirs import user_cache_path

    digest = blake2b(text.encode(), digest_size=8).hexdigest()
    kept = user_cache_path("powder-shop-pricing") / f"{name}-{version('vl-convert-python')}-{digest}.js"
    with suppress(OSError):
        return kept.read_text("utf-8")
    import vl_convert  # heavy: only where a bundle is made anew

    made = str(vl_convert.javascript_bundle(text))
    with suppress(OSError, BadInput):
        kept.parent.mkdir(parents=True, exist_ok=True)
        write_safely(kept, made)
    return made

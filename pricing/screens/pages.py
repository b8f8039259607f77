"""Where the pages' notebooks lie, and the owner's folder with pages that are whole."""

from pathlib import Path
from typing import Final

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import write_safely
from pricing.shop.folder import new_folder

FIRST: Final = "0_first_visit.ipynb"


def notebooks_folder() -> Path:
    """Return the folder of the pages, in a clone or in an installed package.

    Raises
    ------
    BadInput
        It is not there.
    """
    here = Path(__file__).resolve().parents[1]
    for place in (here / "notebooks", here.parent / "notebooks"):
        if (place / FIRST).is_file():
            return place
    raise BadInput("notebooks", [Problem("the pages", "not there", "beside the package", "Install it again.")])


def own_folder(folder: Path | str | None = None) -> Path:
    """Return the owner's folder, made from the demo shop if it is not there yet, with the pages in it.

    Parameters
    ----------
    folder : path, optional
        Without it ``powder-shop`` in the home folder.

    Returns
    -------
    Path
        The folder; pages hold nothing of the owner's, so one that is missing, damaged or old is put right.

    Raises
    ------
    BadInput
        It is something else than a shop's folder, or cannot be written.
    """
    at = Path(folder) if folder else Path.home() / "powder-shop"
    if not (at / "shop.toml").is_file():
        new_folder(at)
    try:
        for page in sorted(notebooks_folder().glob("[0-9]_*.ipynb")):
            whole, here = page.read_bytes(), at / page.name
            if not here.is_file() or here.read_bytes() != whole:
                write_safely(here, whole)
    except OSError as why:
        mend = "Check the folder's rights and the space on the disk."
        raise BadInput(str(at), [Problem("the folder", why.strerror or str(why), "writable", mend)]) from why
    return at.resolve()

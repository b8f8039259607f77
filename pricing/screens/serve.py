"""Opens the workbook: JupyterLab on this machine alone, or the same pages without code to look at.

Gives    `open_lab` and `open_app`, which run until they are stopped, and the words they are started with.
Why      pages run by themselves when they are opened, hide their code, and call nothing outside. That takes a few
         settings, a small script and a template, which are laid out anew at each start in a folder that is gone
         afterwards; the owner's own settings stay as they are.
"""

import json
import os
import secrets
import socket
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from pricing.basis.errors import BadInput, Problem
from pricing.screens.forked import spec, warm_parent
from pricing.screens.pages import FIRST, notebooks_folder, own_folder
from pricing.shop.copies import keep_copy
from pricing.show.desk import LOG_VARIABLE, READ_ONLY_VARIABLE, SHOP_VARIABLE
from pricing.show.look import asset

_NAME = "powder-shop-pricing"
_USUAL_PORT = 8888
_HERE = "127.0.0.1"

SETTINGS: Final[dict[str, Any]] = {
    # callbacks must run one after the other: the pages keep what they show in plain objects
    "@jupyterlab/apputils-extension:kernels-settings": {"commsOverSubshells": "disabled"},
    "@jupyterlab/apputils-extension:notification": {
        "checkForUpdates": False,
        "doNotDisturbMode": True,
        "fetchNews": "false",
    },
    # a page is never written, so nothing is saved behind the owner's back and no question about it comes up
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False, "confirmClosingDocument": False},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none", "scrollPastEnd": False, "kernelShutdown": True},
    "@jupyterlab/statusbar-extension:plugin": {"visible": False},
    "@jupyterlab/extensionmanager-extension:plugin": {"enabled": False},
}
"""What differs from JupyterLab's own defaults while the workbook is open."""


@dataclass(frozen=True)
class Door:
    """Where the workbook is reached.

    Parameters
    ----------
    port : int
        Of this machine.
    token : str
        Who knows it may come in.
    address : str
        ``127.0.0.1`` for this machine alone; ``0.0.0.0`` lets a tablet in the same network in.
    """

    port: int
    token: str
    address: str = _HERE

    @classmethod
    def free(cls, *, address: str = _HERE, port: int = 0) -> "Door":
        """Return a door at the usual port, or the next that is free, with a new token."""
        return cls(port or free_port(address=address), secrets.token_urlsafe(24), address)

    def url(self, path: str, host: str = "") -> str:
        """Write the address of a page."""
        return f"http://{host or _HERE}:{self.port}/{path}?token={self.token}"


def free_port(first: int = _USUAL_PORT, *, address: str = _HERE) -> int:
    """Work out the first port from ``first`` on that nobody listens at, at the address that will be listened at.

    Raises
    ------
    BadInput
        Fifty ports in a row are taken.
    """
    for port in range(first, first + 50):
        with socket.socket() as probe:
            try:
                probe.bind((address, port))
            except OSError:
                continue
            return port
    raise BadInput("the workbook", [Problem("port", f"{first} and 49 more", "free", "Close other programs first.")])


@contextmanager
def laid_out(folder: Path, *, app: bool, log: bool = False) -> Iterator[Path]:
    """Lay settings, script and template out beside JupyterLab, and tell kernels which shop they open.

    Pages of the ``app`` are only shown, though page 7 may write the ``log``.
    """
    before = dict(os.environ)
    with tempfile.TemporaryDirectory(prefix=f"{_NAME}-") as name:
        at = Path(name)
        extension, template = at / "labextensions" / _NAME, at / "voila" / "templates" / "powder"
        kernel = at / "kernels" / "python3"
        for made in (extension / "static", at / "settings", at / "workspaces", template, kernel):
            made.mkdir(parents=True)
        build = {"load": "static/pages.js", "extension": "./extension"}
        package = {"name": _NAME, "version": "0.1.0", "jupyterlab": {"extension": True, "_build": build}}
        (extension / "package.json").write_text(json.dumps(package), "utf-8")
        pages = ("watch.js", "app.js") if app else ("patience.js", "watch.js", "lab.js")
        (extension / "static" / "pages.js").write_text("\n".join(asset(page, __file__) for page in pages), "utf-8")
        (kernel / "kernel.json").write_text(json.dumps(spec()), "utf-8")
        (at / "settings" / "overrides.json").write_text(json.dumps(SETTINGS), "utf-8")
        (template / "conf.json").write_text('{"base_template": "lab"}', "utf-8")
        early = asset("voila.html", __file__).replace("PATIENCE", asset("patience.js", __file__))
        (template / "index.html.j2").write_text(early, "utf-8")
        os.environ[SHOP_VARIABLE] = str(folder)
        os.environ[READ_ONLY_VARIABLE] = "1" if app else ""
        os.environ[LOG_VARIABLE] = "1" if log else ""
        _put_first("JUPYTER_PATH", str(at))
        # kernels start in the shop's folder, where a clone's package would not be found
        _put_first("PYTHONPATH", str(Path(__file__).resolve().parents[2]))
        try:
            with warm_parent(at):
                yield at
        finally:
            os.environ.clear()
            os.environ.update(before)


def _put_first(name: str, path: str) -> None:
    paths = [part for part in os.environ.get(name, "").split(os.pathsep) if part and part != path]
    os.environ[name] = os.pathsep.join([path, *paths])


def lab_words(folder: Path, beside: Path, door: Door, *, browser: bool) -> list[str]:
    """Write the words JupyterLab is started with: where the pages are, what `laid_out` gave, where it is reached."""
    return [
        f"--ServerApp.ip={door.address}",
        f"--ServerApp.port={door.port}",
        "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={door.token}",
        f"--ServerApp.root_dir={folder}",
        f"--LabApp.default_url=/doc/tree/{FIRST}",
        f"--LabApp.extra_labextensions_path={beside / 'labextensions'}",
        f"--LabApp.app_settings_dir={beside / 'settings'}",
        f"--LabApp.workspaces_dir={beside / 'workspaces'}",
        "--LabApp.news_url=",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--ServerApp.contents_manager_class=pricing.screens.lab_files.ShopFiles",
        # a page that is closed frees its kernel; nothing is lost, since what is typed is kept in the folder
        "--MappingKernelManager.cull_idle_timeout=1800",
        "--MappingKernelManager.cull_interval=60",
        "--LabApp.extension_manager=readonly",
        f"--ServerApp.open_browser={browser}",
        f"--ExtensionApp.open_browser={browser}",
        "--Application.log_level=WARN",
        "--ServerApp.allow_root=True",  # in a container there is nobody else; it listens to this machine only
    ]


def app_words(door: Door, *, browser: bool, most: int = 40) -> list[str]:
    """Write the words the app is started with: where it is reached, and how many pages may be open at once."""
    words = [
        str(notebooks_folder()),
        f"--Voila.ip={door.address}",
        f"--port={door.port}",
        "--Voila.port_retries=0",
        f"--Voila.token={door.token}",
        "--template=powder",
        "--strip_sources=True",
        "--theme=light",
        "--show_tracebacks=False",
        "--preheat_kernel=False",  # a kernel that waits shows the folder as it was
        "--VoilaConfiguration.multi_kernel_manager_class=pricing.screens.app_server.Visitors",
        f"--Visitors.most={most}",
        "--VoilaExecutor.timeout=120",
        "--Voila.log_level=ERROR",
    ]
    return words if browser else [*words, "--no-browser"]


def open_lab(folder: Path | str | None = None, *, port: int = 0, browser: bool = True) -> None:
    """Open the workbook in JupyterLab; returns when it is stopped.

    Parameters
    ----------
    folder : path, optional
        The owner's folder, as in `own_folder`.
    port : int
        0 takes the usual one, or the next that is free.
    browser : bool
        Whether a browser is opened.

    Raises
    ------
    BadInput
        As in `own_folder`; no port is free.
    """
    at = own_folder(folder)
    with suppress(BadInput):  # a disk that is full is told where something is saved
        keep_copy(at, date.today())  # noqa: DTZ011  the owner's own day
    door = Door.free(port=port)
    from jupyterlab.labapp import LabApp  # heavy: only where it is started

    _say(f"Your shop lies in {at}. The workbook is at", door.url(f"doc/tree/{FIRST}"))
    with laid_out(at, app=False) as beside:
        LabApp.launch_instance(lab_words(at, beside, door, browser=browser))


def open_app(
    folder: Path | str | None = None,
    *,
    port: int = 0,
    browser: bool = True,
    tablet: bool = False,
    log: bool = False,
    most: int = 40,
) -> None:
    """Show the pages without code, and without saving, until stopped.

    Parameters
    ----------
    folder, port, browser
        As in `open_lab`.
    tablet : bool
        Whether other machines of the same network may look, with the token of the address.
    log : bool
        Whether page 7 may write what jobs took; nothing else can be written.
    most : int
        Pages that may be open at once.

    Raises
    ------
    BadInput
        As in `open_lab`.
    """
    at = own_folder(folder)
    door = Door.free(address="0.0.0.0" if tablet else _HERE, port=port)  # noqa: S104  asked for, and with a token
    from pricing.screens.app_server import PageApp  # heavy: only where it is started

    host = _own_address() if tablet else _HERE
    may = "to look at and to log what jobs took" if log else "to look at and not to save"
    _say(f"The pages of {at}, {may}, are at", door.url(f"voila/render/{FIRST}", host))
    with laid_out(at, app=True, log=log):
        PageApp.launch_instance(app_words(door, browser=browser, most=most))


def _own_address() -> str:
    """Write the address of this machine in its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for examples
        except OSError:
            return _HERE
        return str(probe.getsockname()[0])


def _say(what: str, url: str) -> None:
    sys.stdout.write(f"{what}\n\n    {url}\n\nCtrl-C stops it.\n")
    sys.stdout.flush()

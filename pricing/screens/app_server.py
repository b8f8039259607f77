"""The server of the app: the pages and what they need, nothing else, all of it behind the token.

Why      the server this builds on shows any notebook of a folder, its pictures and the list of its files, frees no
         kernel that a browser forgot, and takes any number of visitors. Here only the pages' addresses answer; a kernel
         goes when its page is left, when nobody has been seen at it for minutes, or when it was idle for an hour.
Gives    `PageApp`, which `serve.open_app` runs, and `Visitors`, which counts and frees kernels.
"""

import re
from html import escape
from http import HTTPStatus
from pathlib import Path
from time import monotonic
from typing import Any, Final

from jupyter_core.utils import ensure_async
from jupyter_server.base.handlers import FileFindHandler, JupyterHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from jupyterlab_server.themes_handler import ThemesHandler
from tornado import web
from tornado.httputil import HTTPServerRequest
from traitlets import Integer
from voila.app import Voila
from voila.shutdown_kernel_handler import VoilaShutdownKernelHandler
from voila.static_file_handler import MultiStaticFileHandler, TemplateStaticFileHandler
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler
from voila.utils import get_voila_labextensions_path

from pricing.screens.app_page import BuiltPage
from pricing.screens.bar import PAGES
from pricing.show.desk import LOG_VARIABLE

LOG_PAGE: Final = "7_what_it_took"
_KERNEL: Final = r"(?P<kernel_id>\w+-\w+-\w+-\w+-\w+)"
_LOOK_EVERY_S: Final = 10


class Full(web.HTTPError):
    """Told when as many people are looking as the machine has room for."""

    def __init__(self, most: int) -> None:
        super().__init__(HTTPStatus.SERVICE_UNAVAILABLE)
        self.told = (
            f"{most} pages are open, as many as this machine has room for. Close one that nobody looks at, "
            "or load this page again in a few minutes."
        )


class Visitors(AsyncMappingKernelManager):
    """One kernel a page that is looked at, and none for those that nobody looks at."""

    most = Integer(40, config=True, help="Pages that may be open at once.")
    come_s = Integer(60, config=True, help="How long a browser may take to show a page it has asked for. [s]")
    gone_s = Integer(300, config=True, help="How long a page may be out of reach, asleep or without network. [s]")
    idle_s = Integer(3600, config=True, help="How long an open page may rest. [s]")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._seen: dict[str, float] = {}
        self._starting = 0
        self.cull_interval, self.cull_idle_timeout = _LOOK_EVERY_S, self.idle_s

    async def start_kernel(self, **kwargs: Any) -> str:  # type: ignore[override]  # as its parent's, which is one too
        """Start the kernel of a visit; only page 7 may be told that it writes the log.

        Raises
        ------
        Full
            `most` pages are open.
        """
        if len(self) + self._starting >= self.most:
            raise Full(self.most)
        env = dict(kwargs.get("env") or {})
        if Path(env.get("SCRIPT_NAME", "")).stem != LOG_PAGE:
            env[LOG_VARIABLE] = ""
        self._starting += 1
        try:
            kernel = str(await super().start_kernel(**{**kwargs, "env": env}))
        finally:
            self._starting -= 1
        return kernel

    async def cull_kernel_if_idle(self, kernel_id: str) -> None:
        """Free a kernel that nobody has been seen at, or that has rested too long."""
        if kernel_id not in self:  # it was left while others were looked at
            self._seen.pop(kernel_id, None)
            return
        now = monotonic()
        # one that is not known yet may still be starting: its browser has its time from now
        seen = self._seen.setdefault(kernel_id, now - self.gone_s + self.come_s)
        if self._kernel_connections.get(kernel_id, 0):
            self._seen[kernel_id] = now
        elif now - seen > self.gone_s:
            self._seen.pop(kernel_id)
            await ensure_async(self.shutdown_kernel(kernel_id, now=True))
            return
        self.cull_connected = True
        await super().cull_kernel_if_idle(kernel_id)


def policy(request: HTTPServerRequest) -> str:
    """Write the content policy of an answer: nothing from elsewhere, no host called but its own, in nobody's frame.

    Charts and widgets compile what they draw, so scripts of the server's own may.
    """
    host = request.host if re.fullmatch(r"[\w.\-:\[\]]+", request.host) else ""
    return "; ".join(
        [
            "default-src 'self'",
            "script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:",
            "style-src 'self' 'unsafe-inline' blob:",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            f"connect-src 'self' ws://{host} data: blob:",
            "frame-ancestors 'none'",
            "base-uri 'none'",
            "form-action 'self'",
            "object-src 'none'",
        ]
    )


class Gate(JupyterHandler):
    """Lets in who knows the token, and answers others in plain words."""

    @property
    def content_security_policy(self) -> str:
        """Which scripts and addresses a page may use, by `policy`."""
        return policy(self.request)

    def set_default_headers(self) -> None:
        """Add what browsers are told with every answer."""
        super().set_default_headers()
        self.set_header("Referrer-Policy", "no-referrer")  # the address may hold the token

    async def prepare(self, *, _redirect_to_login: bool = False) -> None:
        """Stop whoever does not know the token, whatever is asked for."""
        if await ensure_async(self.identity_provider.get_user(self)) is None:
            raise web.HTTPError(HTTPStatus.FORBIDDEN)
        await super().prepare()

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        """Say in words what is wrong."""
        why = (kwargs.get("exc_info") or (None, None))[1]
        told = (
            why.told
            if isinstance(why, Full)
            else _TOLD.get(HTTPStatus(status_code), "Something went wrong. Load it again.")
        )
        if isinstance(why, Full):
            self.set_header("Retry-After", "60")
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(_PLAIN.format(told=escape(told)))


_TOLD: Final = {
    HTTPStatus.FORBIDDEN: "This address lacks its token. Open the whole address that the shop's machine shows.",
    HTTPStatus.NOT_FOUND: "There is no such page. Open the address that the shop's machine shows.",
}
_PLAIN: Final = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    "<title>The shop's pages</title><style>body {{ font: 18px/1.5 system-ui, sans-serif; max-width: 34em; "
    "margin: 12vh auto; padding: 0 1em; color: #22303c; background: #faf8f3; }}</style><p>{told}</p></html>"
)


class PageHandler(Gate, BuiltPage):
    """One of the pages."""

    @web.authenticated
    async def get(self, path: str) -> None:
        """Build the page for this visit, from the folder as it is now."""
        await self.build(path)


class Home(Gate):
    """The address without a page."""

    @web.authenticated
    def get(self) -> None:
        """Go to the first page."""
        self.redirect(f"{self.base_url}voila/render/{next(iter(PAGES))}.ipynb")


class Kernel(Gate, KernelHandler):
    """Tells whether a page's kernel is there."""

    SUPPORTED_METHODS = ("GET",)


class Left(Gate, VoilaShutdownKernelHandler):
    """Frees the kernel of a page that is left."""

    def check_xsrf_cookie(self) -> None:
        """Ask for no form token: a kernel's name is known to its page alone, and the cookie stays at home."""

    @web.authenticated
    async def post(self, kernel_id: str) -> None:
        """Free it at once; it has nothing to save."""
        if kernel_id in self.kernel_manager:
            await ensure_async(self.kernel_manager.shutdown_kernel(kernel_id, now=True))
        self.set_status(204)


class _Found(Gate, FileFindHandler):
    pass


class _Themes(Gate, ThemesHandler):
    pass


class _Static(Gate, MultiStaticFileHandler):
    pass


class _Template(Gate, TemplateStaticFileHandler):
    pass


class PageApp(Voila):
    """The app. `root_dir` holds the pages alone; the shop's folder is not served."""

    def init_settings(self) -> Any:
        """Say how cookies travel, and that every answer is of the kind it says."""
        settings = super().init_settings()
        self.identity_provider.cookie_options = {"samesite": "Strict"}
        return settings | {"allow_unauthenticated_access": False}

    def init_handlers(self) -> Any:
        """Return the only addresses that answer."""
        extensions = get_voila_labextensions_path(self.voila_configuration.extra_labextensions_path)
        pages = "|".join(map(re.escape, PAGES))
        page = {
            "template_paths": self.template_paths,
            "config": self.config,
            "voila_configuration": self.voila_configuration,
        }
        themes = {
            "themes_url": "/voila/api/themes",
            "path": self.themes_dir,
            "labextensions_path": extensions,
            "no_cache_paths": ["/"],
        }
        return [
            (r"/", Home),
            (rf"/voila/render/((?:{pages})\.ipynb)", PageHandler, page),
            (rf"/api/kernels/{_KERNEL}", Kernel),
            (rf"/api/kernels/{_KERNEL}/channels", VoilaKernelWebsocketHandler),
            (r"/voila/api/shutdown/([\w-]+)", Left),
            (r"/voila/templates/(.*)", _Template),
            (r"/voila/static/(.*)", _Static, {"paths": self.static_paths}),
            (r"/voila/labextensions/(.*)", _Found, {"path": extensions, "no_cache_paths": ["/"]}),
            (r"/voila/api/themes/(.*)", _Themes, themes),
            (r".*", Nowhere),
        ]


class Nowhere(Gate):
    """Every other address."""

    async def prepare(self, *, _redirect_to_login: bool = False) -> None:
        """Say that nothing is there, to those who may know."""
        await super().prepare()
        raise web.HTTPError(HTTPStatus.NOT_FOUND)

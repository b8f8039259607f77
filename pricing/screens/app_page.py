"""A page of the app, built for one visit from the folder as it is now.

Why      what this builds on waits for ever when a kernel ends or does not answer, and so does the browser. Here a
         second kernel is tried, then the page says that it did not start; who leaves meanwhile leaves none behind.
Gives    `BuiltPage`, the handler without its gate.
"""

import asyncio
import os
from functools import partial
from typing import Any, Final

from jupyter_core.utils import ensure_async
from jupyter_server.base.handlers import JupyterHandler
from voila.notebook_renderer import NotebookRenderer
from voila.utils import ENV_VARIABLE, get_page_config

_STALLED: Final = (
    '<script>document.getElementById("loading")?.remove()</script><p role="alert" style="font: 18px/1.5 system-ui, '
    'sans-serif; max-width: 34em; margin: 12vh auto; padding: 0 1em">This page did not start. '
    '<a href="">Load it again</a></p>'
)


class _Renderer(NotebookRenderer):
    """Renders a notebook on the kernel of a handler, which brings another where the first does not answer."""

    async def _jinja_kernel_start(self, nb: Any, kernel_id: str, kernel_future: Any) -> str:
        try:
            return str(await super()._jinja_kernel_start(nb, kernel_id, kernel_future))
        except RuntimeError:  # it ended, or did not answer
            visit: BuiltPage = self.request_handler
            if visit.left:
                raise
            other = await visit.start()
            return str(await super()._jinja_kernel_start(nb, other, visit.kernel_manager.get_kernel(other)))


class BuiltPage(JupyterHandler):
    """Builds a page."""

    def initialize(self, template_paths: Any, config: Any, voila_configuration: Any) -> None:
        """Take what `PageApp` gives."""
        self.paths, self.traits, self.how = template_paths, config, voila_configuration
        self.kernel, self.left = "", False

    async def build(self, path: str) -> None:
        """Send the page of a notebook, bit by bit."""
        self.set_header("Content-Type", "text/html")
        self.set_header("Cache-Control", "no-cache, no-store, must-revalidate")
        common: dict[str, Any] = {"base_url": self.base_url, "voila_configuration": self.how}
        renderer = _Renderer(
            request_handler=self,
            traitlet_config=self.traits,
            notebook_path=path,
            template_paths=self.paths,
            config_manager=self.config_manager,
            contents_manager=self.contents_manager,
            kernel_spec_manager=self.kernel_spec_manager,
            mathjax_url="",
            mathjax_config="",
            page_config=get_page_config(settings=self.settings, log=self.log, **common),
            **common,
        )
        await renderer.initialize(template=None, theme=None)
        asked = {
            ENV_VARIABLE.SCRIPT_NAME: self.request.path,
            ENV_VARIABLE.QUERY_STRING: str(self.request.query),
            ENV_VARIABLE.VOILA_PREHEAT: "False",
            ENV_VARIABLE.VOILA_BASE_URL: self.base_url,
        }
        name = renderer.notebook.metadata.kernelspec.name
        kernels: Any = self.kernel_manager
        self.begin = partial(kernels.start_kernel, kernel_name=name, path="", env={**os.environ, **asked})
        kernel = await self.start()
        try:
            async for html, _ in renderer.generate_content_generator(kernel, kernels.get_kernel(kernel)):
                self.write(html)
                await self.flush()
        except Exception:  # whatever it is: its head is sent already, so it is told there
            await self.free()
            if not self.left:
                self.log.exception("%s did not start", path)
                self.write(_STALLED)

    async def start(self) -> str:
        """Start a kernel for this visit, in place of the one it has."""
        await self.free()
        self.kernel = str(await ensure_async(self.begin()))
        if self.left:
            await self.free()
        return self.kernel

    async def free(self) -> None:
        """Free the kernel of this visit."""
        if self.kernel in self.kernel_manager:
            await ensure_async(self.kernel_manager.shutdown_kernel(self.kernel, now=True))

    def on_connection_close(self) -> None:
        """Free the kernel of a visitor who left before the page was there; its browser cannot ask for it."""
        self.left = True
        self.freeing = asyncio.ensure_future(self.free())

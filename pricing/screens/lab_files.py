"""The shop's folder as the notebook server shows it: the pages come from the package, and nobody writes them.

Why      a page that is saved can be damaged, and one that two browsers save brings up a question in front of it. These
         are read from where they were installed, are as old as that, and whatever is saved of them goes nowhere.
Gives    `ShopFiles`, which `serve.open_lab` names to the server.
"""

from datetime import UTC, datetime
from hashlib import sha256
from http import HTTPStatus
from pathlib import PurePosixPath
from typing import Any

import nbformat
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from tornado.web import HTTPError

from pricing.screens.bar import PAGES
from pricing.screens.pages import notebooks_folder


def is_page(path: str) -> bool:
    """Tell whether a path of the folder is one of the pages."""
    at = PurePosixPath(path.strip("/"))
    return at.suffix == ".ipynb" and at.stem in PAGES and len(at.parts) == 1


def page_model(name: str, *, content: bool) -> dict[str, Any]:
    """Describe a page as the notebook server describes a file, with its content or without."""
    at = notebooks_folder() / name
    raw = at.read_bytes()
    made = datetime.fromtimestamp(at.stat().st_mtime, UTC)
    model: dict[str, Any] = {
        "name": name,
        "path": name,
        "type": "notebook",
        "writable": False,
        "created": made,
        "last_modified": made,
        "size": len(raw),
        "mimetype": None,
        "format": None,
        "content": None,
        "hash": sha256(raw).hexdigest(),
        "hash_algorithm": "sha256",
    }
    if content:
        book = nbformat.reads(raw.decode(), as_version=4)
        for cell in book.cells:
            cell.metadata["trusted"] = True
        model |= {"content": book, "format": "json"}
    return model


class ShopFiles(AsyncLargeFileManager):
    """Files of the shop's folder, with pages that cannot be changed."""

    async def get(
        self,
        path: str,
        content: bool = True,
        type: str | None = None,  # noqa: A002
        format: str | None = None,  # noqa: A002
        require_hash: bool = False,
    ) -> Any:
        """Return a file; a page as it was installed."""
        if not is_page(path):
            return await super().get(path, content, type, format, require_hash)
        return page_model(path.strip("/"), content=content)

    async def save(self, model: Any, path: str = "") -> Any:
        """Write a file; of a page nothing is written, and nobody is bothered with it."""
        return await self.get(path, content=False) if is_page(path) else await super().save(model, path)

    async def delete_file(self, path: str) -> Any:
        """Delete a file, unless it is a page."""
        self._refuse(path)
        return await super().delete_file(path)

    async def rename_file(self, old_path: str, new_path: str) -> Any:
        """Rename a file, unless it is a page."""
        self._refuse(old_path)
        self._refuse(new_path)
        return await super().rename_file(old_path, new_path)

    async def create_checkpoint(self, path: str) -> Any:
        """Keep a copy of a file; a page needs none."""
        if is_page(path):
            return {"id": "page", "last_modified": (await self.get(path, content=False))["last_modified"]}
        return await super().create_checkpoint(path)

    async def list_checkpoints(self, path: str) -> Any:
        """Return the copies of a file."""
        return [] if is_page(path) else await super().list_checkpoints(path)

    async def restore_checkpoint(self, checkpoint_id: str, path: str) -> None:
        """Bring a copy of a file back, unless it is a page."""
        self._refuse(path)
        await super().restore_checkpoint(checkpoint_id, path)

    @staticmethod
    def _refuse(path: str) -> None:
        if is_page(path):
            raise HTTPError(HTTPStatus.FORBIDDEN, "The pages belong to the workbook; they stay as they are.")

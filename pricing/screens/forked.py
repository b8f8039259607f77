"""Kernels forked from a warm parent, for the notebook server and the app alike.

Gives    `Forked`, which the kernel spec of the pages names, and `spec`, the spec itself; `warm_parent` starts the
         parent. Where there is no safe fork (Windows, macOS) the pages' kernels start the ordinary way.
"""

import asyncio
import json
import os
import select
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.metadata import EntryPoint
from pathlib import Path
from typing import Any, Final

from jupyter_client.provisioning.factory import KernelProvisionerFactory
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

SOCKET_VARIABLE: Final = "POWDER_SHOP_WARM"
"""Name of the environment variable that says where the parent waits."""
FORKS: Final = sys.platform == "linux"
_NAME: Final = "powder-forked"
_PATIENCE_S: Final = 60.0


def spec() -> dict[str, Any]:
    """Describe the kernel spec of the pages, as ``kernel.json`` holds it."""
    argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    return {
        "argv": argv,
        "display_name": "Python 3 (ipykernel)",
        "language": "python",
        "metadata": {"kernel_provisioner": {"provisioner_name": _NAME}},
    }


@contextmanager
def warm_parent(beside: Path) -> Iterator[None]:
    """Start the parent, with its socket in a folder, and end it and its kernels afterwards."""
    kinds = KernelProvisionerFactory.provisioners
    kinds[_NAME] = EntryPoint(_NAME, f"{__name__}:Forked", KernelProvisionerFactory.GROUP_NAME)
    if not FORKS:
        yield
        return
    at = beside / "warm"
    words = [sys.executable, "-m", "pricing.screens.warm", str(at)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, start_new_session=True) as parent:  # noqa: S603  ourselves
        os.environ[SOCKET_VARIABLE] = str(at)
        try:
            yield
        finally:
            os.environ.pop(SOCKET_VARIABLE, None)
            if parent.stdin:
                parent.stdin.close()
            with suppress(subprocess.TimeoutExpired):
                parent.wait(timeout=5)
            parent.kill()


class Process:
    """A forked kernel, as the local provisioner handles a process it has started itself.

    Parameters
    ----------
    pid : int
        Its number; it is held by a handle, so that a number used again is never taken for it.

    Raises
    ------
    ProcessLookupError
        It has ended already.
    """

    stdin = stdout = stderr = None

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self._handle = os.pidfd_open(pid)
        self.returncode: int | None = None

    def poll(self) -> int | None:
        """Tell whether it has ended: None while it runs."""
        if self.returncode is None and select.select([self._handle], [], [], 0)[0]:
            os.close(self._handle)
            self.returncode = 0
        return self.returncode

    def wait(self, timeout: float | None = None) -> int | None:
        """Wait until it has ended."""
        if self.returncode is None:
            select.select([self._handle], [], [], timeout)
        return self.poll()

    def send_signal(self, number: int) -> None:
        """Send a signal to it and all it has started."""
        if self.poll() is None:
            with suppress(ProcessLookupError):
                os.killpg(self.pid, number)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(15)

    def kill(self) -> None:
        """End it."""
        self.send_signal(9)


class Forked(LocalProvisioner):
    """Starts a kernel by a fork of the warm parent; without one, the ordinary way."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Start a kernel; ``cmd`` is the ordinary way to, ``env`` and ``cwd`` are among the rest."""
        socket = os.environ.get(SOCKET_VARIABLE)
        pid = await self._fork(socket, cmd, kwargs) if socket else None
        if pid is None:
            return await super().launch_kernel(cmd, **kwargs)
        self.process = Process(pid)  # type: ignore[assignment]  # it does what is asked of a Popen here
        self.pid = self.pgid = pid
        self.cwd = kwargs.get("cwd", Path.cwd())
        return self.connection_info

    @staticmethod
    async def _fork(socket: str, cmd: list[str], kwargs: dict[str, Any]) -> int | None:
        asked = {
            "connection_file": cmd[cmd.index("-f") + 1],
            "env": dict(kwargs.get("env") or os.environ),
            "cwd": str(kwargs.get("cwd") or Path.cwd()),
        }
        try:
            async with asyncio.timeout(_PATIENCE_S):
                reader, writer = await _opened(socket)
                writer.write(json.dumps(asked).encode() + b"\n")
                await writer.drain()
                told = await reader.readline()
                writer.close()
            return int(told)
        except (OSError, ValueError):  # the parent is gone: a kernel is worth its three seconds
            return None


async def _opened(socket: str) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
    """Open the parent's socket, which is there a moment after the parent has begun."""
    for _ in range(100):
        with suppress(FileNotFoundError, ConnectionRefusedError):
            return await asyncio.open_unix_connection(socket)
        await asyncio.sleep(0.1)
    raise FileNotFoundError(socket)

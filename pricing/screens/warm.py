"""A warm process that kernels are forked from: libraries read once, one page of each kind built once and thrown away.

Why      most of the time from a visit to a drawn page goes into imports, and most of a kernel's memory into the same
         libraries over and over. A forked kernel has both from its parent. The parent keeps one thread, opens nobody's
         folder (the demo shop is what it builds), and waits on a socket that only its owner may open.
Gives    `serve`, which ``python -m pricing.screens.warm`` runs until whoever started it is gone.
"""

import gc
import json
import os
import select
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any, Final

PANELS: Final = {
    "two_tone": "TwoTonePanel",
    "shop": "ShopPanel",
    "job": "JobPanel",
    "list": "ListPanel",
    "break_even": "BreakEvenPanel",
    "partner": "PartnerPanel",
    "log": "LogPanel",
}
"""Panels in the order they are warmed; those who come meanwhile are served between two of them."""
_ONE_THREAD: Final = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
_FIRST: Final = 2
_LONGEST: Final = 1_000_000


def _warmings() -> Iterator[Callable[[], Any]]:
    yield lambda: import_module("ipykernel.kernelapp")
    for name in PANELS:
        yield partial(_build, name)


def _build(name: str) -> None:
    """Build a page of the demo shop and throw it away; a page that cannot be built is told of when it is asked for."""
    from ipywidgets import Widget

    from pricing.basis.errors import BadInput
    from pricing.shop.folder import demo_folder

    with suppress(BadInput, ImportError):
        getattr(import_module(f"pricing.screens.panel_{name}"), PANELS[name]).open(demo_folder())
    Widget.close_all()


def serve(path: Path) -> None:
    """Fork a kernel for whoever asks at the socket, until standard input is closed.

    A request is one line of JSON: the connection file, the environment, the working folder; the answer is the number
    of the process.
    """
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits for the children: the system takes them away
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server; its end closes our input
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as door:
        door.bind(str(path))
        path.chmod(0o600)
        door.listen(64)
        warmings = _warmings()
        for _ in range(_FIRST):  # who comes before is served no later than by imports of its own
            next(warmings)()
        cold = True
        while True:
            came = select.select([door, sys.stdin], [], [], 0 if cold else None)[0]
            if sys.stdin in came:
                return
            if door in came:
                _answer(door)
                continue
            warming = next(warmings, None)
            if warming:
                warming()
            gc.collect()
            gc.freeze()  # what is here already is never looked through again, so its pages stay shared
            cold = warming is not None


def _answer(door: socket.socket) -> None:
    link, _ = door.accept()
    with link, link.makefile("rb") as lines:
        asked = json.loads(lines.readline(_LONGEST))
        child = os.fork()
        if child:
            link.sendall(f"{child}\n".encode())
            return
    door.close()
    _become(asked)


def _become(asked: dict[str, Any]) -> None:
    """Turn into the kernel that was asked for; never returns."""
    status = 1
    try:
        os.setsid()  # interrupts and ends reach this kernel and what it starts, and nobody else
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        with Path(os.devnull).open() as nothing:
            os.dup2(nothing.fileno(), 0)
        os.environ.clear()
        os.environ.update(asked["env"], JPY_PARENT_PID=str(os.getppid()))
        os.chdir(asked["cwd"])
        sys.path[:] = [*asked["env"].get("PYTHONPATH", "").split(os.pathsep), *sys.path]
        from ipykernel.kernelapp import IPKernelApp

        words = ["-f", asked["connection_file"], "--HistoryManager.enabled=False", "--IPKernelApp.log_level=40"]
        IPKernelApp.launch_instance([*words, f"--IPKernelApp.parent_handle={os.getppid()}"])  # it ends with its parent
        status = 0
    finally:
        os._exit(status)  # the parent's clean-up is the parent's


def run() -> None:
    """Run as a program: the socket's path is the first word."""
    for name in _ONE_THREAD:
        os.environ[name] = "1"  # a fork keeps one thread only; a library that has none loses none
    with suppress(KeyboardInterrupt):
        serve(Path(sys.argv[1]))


if __name__ == "__main__":
    run()

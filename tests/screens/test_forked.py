"""Kernels forked from the warm parent: they answer, are interrupted, started again and ended as any other."""

import os
from pathlib import Path

import psutil
import pytest
from jupyter_client.manager import start_new_kernel

from pricing.screens.forked import FORKS
from pricing.screens.serve import laid_out

pytestmark = [pytest.mark.skipif(not FORKS, reason="no safe fork here"), pytest.mark.slow]


def _says(client: object, code: str) -> str:
    told: list[str] = []
    client.execute_interactive(
        code, timeout=120, output_hook=lambda m: told.append(m["content"].get("text") or m["content"].get("ename", ""))
    )
    return "".join(told).strip()


@pytest.mark.filterwarnings("ignore")  # of the kernels' own library, about how it is reached
def test_a_forked_kernel_behaves_as_any_other(own: Path) -> None:
    with laid_out(own, app=False):
        manager, client = start_new_kernel(kernel_name="python3", startup_timeout=120, cwd=str(own))
        try:
            pid = int(_says(client, "import os; print(os.getpid())"))
            parent = psutil.Process(pid).parent()
            assert parent
            assert "pricing.screens.warm" in " ".join(parent.cmdline())
            assert parent.num_threads() == 1, "a fork keeps one thread only"
            assert os.getpgid(pid) == pid, "signals reach this kernel alone"
            assert _says(client, "print(os.getcwd(), os.environ['POWDER_SHOP_FOLDER'])") == f"{own} {own}"
            assert _says(client, "import sys; print('altair' in sys.modules)") == "True"
            client.execute("import time\nprint('begun', flush=True)\nwhile True: time.sleep(0.05)")
            while client.get_iopub_msg(timeout=120)["content"].get("text", "").strip() != "begun":
                pass  # an interrupt before it has begun would interrupt nothing
            manager.interrupt_kernel()
            assert client.get_shell_msg(timeout=30)["content"].get("ename") == "KeyboardInterrupt"
            manager.restart_kernel(now=True)
            client.wait_for_ready(timeout=120)
            again = int(_says(client, "import os; print(os.getpid())"))
            assert again != pid
            assert not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE
            left = psutil.Process(again)
        finally:
            client.stop_channels()
    gone, alive = psutil.wait_procs([parent, left], timeout=60)
    assert len(gone) == 2, f"the parent goes with the server, and kernels with the parent: {alive}"
    manager.shutdown_kernel(now=True)

"""How fast one visit an element is, on arrays: the integration and the table, interleaved in one run.

    python tests/benchmarks/visit_arrays.py             nanoseconds an element, 100,000 loads
    python tests/benchmarks/visit_arrays.py 20000       other numbers of loads

The time is the processor's, on one thread: a neighbour must not count. The table is built once, before.
Where the system hands out fresh memory for the result, the first touch of its pages costs about as much
as the sums; the last line of each oven is the mean of those runs that got memory touched before.
"""

import gc
import resource
import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "physics"))

from dataclasses import replace

from ovens import CURE, ELECTRIC_OVEN, GAS_OVEN, LOAD, STEEL

from pricing.physics.visit import visit
from pricing.physics.visit_table import tabulate, visits

ROUNDS, PER_ROUND = 9, 5
FEW_FAULTS = 50  # of about 2,700 pages of a fresh result
# The table is so much faster that it runs a few times a round


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    rng = np.random.default_rng(1)
    kg = np.exp(rng.uniform(np.log(2.0), np.log(400.0), rows))
    half_m = 5e-4 * rng.uniform(1.0, 12.0, rows)
    loads = {"mass_kg": kg, "area_m2": kg / (STEEL.density_kg_per_m3 * half_m), "section_m": half_m * 1.5}
    ovens = {"gas, cold": (GAS_OVEN, 20.0), "electric, warm": (ELECTRIC_OVEN, 120.0), "electric, hotter": (ELECTRIC_OVEN, 220.0)}  # fmt: skip
    print(f"{rows} loads; ns an element, least and median of {ROUNDS} rounds")
    for name, (oven, shell_degC) in ovens.items():
        at = {"shop_degC": 20.0, "shell_degC": shell_degC, "door_min": 2.0}
        start = time.process_time()
        table = tabulate(oven, LOAD, CURE, **at)
        built_s = time.process_time() - start
        cases = {
            "visit": (1, lambda: visit(oven, replace(LOAD, **loads), CURE, **at)),  # noqa: B023  run within the turn
            "visits": (PER_ROUND, lambda: visits(table, **loads)),  # noqa: B023
        }
        times: dict[str, list[float]] = {case: [] for case in cases}
        touched: list[float] = []
        for _ in range(ROUNDS):
            for case, (repeats, run) in cases.items():
                gc.collect()
                gc.disable()
                for _ in range(repeats):
                    start = time.process_time()
                    run()
                    times[case].append((time.process_time() - start) / rows * 1e9)
                gc.enable()
        exact, read = (run() for _, run in cases.values())
        off = {n: np.max(np.abs(read.terms()[n] / exact.terms()[n] - 1)) for n in ("bring_up_min", "heater_kWh")}
        print(f"{name:18s} table built in {1e3 * built_s:.0f} ms; worst {100 * off['bring_up_min']:.2f} % of bring-up, "
              f"{100 * off['heater_kWh']:.2f} % of heater")  # fmt: skip
        for _ in range(ROUNDS * PER_ROUND):
            faults, start = resource.getrusage(resource.RUSAGE_SELF).ru_minflt, time.process_time()
            heat = visits(table, **loads)
            took = (time.process_time() - start) / rows * 1e9
            if resource.getrusage(resource.RUSAGE_SELF).ru_minflt - faults < FEW_FAULTS:
                touched.append(took)
            del heat
        times["  touched"] = touched or [float("nan")]
        for case, each in times.items():
            print(f"    {case:8s} least {min(each):8.1f}   median {statistics.median(each):8.1f}")


if __name__ == "__main__":
    main()

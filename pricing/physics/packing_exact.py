"""Fewest oven loads for mixed parts, proved: constraint programming over first fit.

Takes    an oven's ``HangingSpace`` and part kinds; a bound on the time.
Gives    a ``Loading`` whose lower bound says how good it is; ``proven`` when none is better.
Method   the number of loads is raised from the lower bound until a plan exists. Each number is put to
         CP-SAT (ortools, used only where first fit leaves a gap); a number proved too small raises the
         bound. One thread and a fixed seed: same answer each time, unless the time runs out.
Room     physics. Imports packing, packing_mixed, basis; ortools when it is used. Imported by steps.
"""

from collections.abc import Sequence
from dataclasses import replace
from time import monotonic
from typing import TYPE_CHECKING, Any

from pricing.basis.checks import positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.packing import HangingSpace
from pricing.physics.packing_mixed import Grid, Kind, Loading, Option, Order, Row, first_fit, grid_of, options_of

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

_STARTS: tuple[Order, ...] = ("height", "length", "mass")


def load_oven(space: HangingSpace, kinds: Sequence[Kind], *, limit_s: float = 2.0) -> Loading:
    """Plan the fewest loads for parts of several kinds and jobs.

    Parameters
    ----------
    space : HangingSpace
        The oven's rails, tiers, envelope and mass limit.
    kinds : sequence of Kind
        What is to be hung. Kinds of one ``cure`` may share a load, whatever their job.
    limit_s : float
        Most time for the proof, all cures together [s].

    Returns
    -------
    Loading
        Loads, a proved lower bound, and what hangs where.

    Raises
    ------
    BadInput
        A kind does not fit the oven at all, a name stands twice, or the limit is not above 0.

    Examples
    --------
    >>> rack = HangingSpace(rails=1, rail_mm=1200, rail_pitch_mm=500, depth_mm=500, height_mm=1200,
    ...                     clearance_mm=0, hook_mm=0, mass_limit_kg=100, tiers=3)
    >>> panels = Kind(name="panel", count=7, width_mm=600, depth_mm=20, height_mm=400, mass_kg=2, may_turn=False)
    >>> plan = load_oven(rack, [panels])
    >>> plan.loads, plan.proven
    (2, True)
    """
    positive("oven loads", limit_s=limit_s)
    names = [kind.name for kind in kinds]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadInput("oven loads", [Problem("name", name, "there once") for name in twice])
    end = monotonic() + limit_s
    plans = [
        _one_cure(space, [kind for kind in kinds if kind.cure == cure], end)
        for cure in dict.fromkeys(kind.cure for kind in kinds)
    ]
    rows, done = [], 0
    for plan in plans:
        rows += [row._replace(load=row.load + done) for row in plan.rows]
        done += plan.loads
    return Loading(
        loads=done,
        lower_bound=sum(plan.lower_bound for plan in plans),
        rows=tuple(rows),
        kinds=tuple(kinds),
        hook_mm=space.hook_mm,
        clearance_mm=space.clearance_mm,
    )


def _one_cure(space: HangingSpace, kinds: list[Kind], end: float) -> Loading:
    plan = min((first_fit(space, kinds, order=order) for order in _STARTS), key=lambda one: one.loads)
    half = monotonic() + 0.5 * (end - monotonic())
    while not plan.proven and (left := half - monotonic()) > 0:  # from below: raises the bound
        rows = _pack(space, kinds, plan.lower_bound, left)
        if rows is None:
            break  # time is up
        if rows:
            return replace(plan, loads=plan.lower_bound, rows=rows)
        plan = replace(plan, lower_bound=plan.lower_bound + 1)
    while not plan.proven and (left := end - monotonic()) > 0:  # from above: betters the plan
        rows = _pack(space, kinds, plan.loads - 1, left)
        if rows is None:
            break
        plan = replace(plan, loads=plan.loads - 1, rows=rows) if rows else replace(plan, lower_bound=plan.loads)
    return plan


def _pack(space: HangingSpace, kinds: list[Kind], loads: int, limit_s: float) -> tuple[Row, ...] | None:
    """Find a plan with so many loads; empty when there is none, None when the time is up."""
    from ortools.sat.python import cp_model  # heavy: only where first fit leaves a gap

    grid, options = grid_of(space), options_of(space, kinds)
    model = cp_model.CpModel()
    count: dict[tuple[int, int, int, int], Any] = {}
    masses: list[Any] = []
    for load in range(loads):
        for rail in range(grid.rails):
            _rail(model, grid, options, kinds, (load, rail), count)
        _neighbours(model, grid, options, load, count)
        gram = model.new_int_var(0, grid.gram, "")
        model.add(gram == sum(o.gram * n for (lo, _r, _t, i), n in count.items() if lo == load for o in [options[i]]))
        if masses:
            model.add(gram <= masses[-1])  # loads are alike: the heaviest comes first
        masses.append(gram)
    for index, kind in enumerate(kinds):
        hung = [n for (_l, _r, _t, i), n in count.items() if options[i].kind == index]
        model.add(sum(hung) == int(kind.count))
    solver = _solver(cp_model, limit_s)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return ()
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return None
    return tuple(
        Row(load, rail, tier, kinds[options[i].kind].name, options[i].turned, int(solver.value(n)))
        for (load, rail, tier, i), n in count.items()
        if solver.value(n)
    )


def _rail(
    model: "cp_model.CpModel",
    grid: Grid,
    options: list[Option],
    kinds: list[Kind],
    place: tuple[int, int],
    count: dict[tuple[int, int, int, int], Any],
) -> None:
    """Rows of one rail: length, and heights below each other."""
    load, rail = place
    drops: list[Any] = []
    for tier in range(grid.tiers):
        drop = model.new_int_var(0, grid.height, "")
        row = []
        for i, option in enumerate(options):
            if option.depth > grid.reach[rail]:
                continue
            most = min(int(kinds[option.kind].count), grid.row // option.along)
            n, there = model.new_int_var(0, most, ""), model.new_bool_var("")
            model.add(n <= most * there)
            model.add(n >= there)
            model.add(drop >= option.drop * there)
            count[load, rail, tier, i] = n
            row.append(option.along * n)
        if row:
            model.add(sum(row) <= grid.row)
        if drops:
            model.add(drop <= drops[-1])  # tiers are alike: the tallest row comes first
        drops.append(drop)
    model.add(sum(drops) <= grid.height)


def _neighbours(
    model: "cp_model.CpModel", grid: Grid, options: list[Option], load: int, count: dict[tuple[int, int, int, int], Any]
) -> None:
    """Keep the deepest parts of two rails apart where both are used."""
    depth, used = [], []
    for rail in range(grid.rails):
        deepest, busy = model.new_int_var(0, max(0, *grid.reach, 0), ""), model.new_bool_var("")
        for (lo, r, _t, i), n in count.items():
            if (lo, r) == (load, rail):
                some = model.new_bool_var("")
                model.add(n == 0).only_enforce_if(~some)
                model.add(deepest >= options[i].depth).only_enforce_if(some)
                model.add_implication(some, busy)
        depth.append(deepest)
        used.append(busy)
    for rail in range(grid.rails):
        for other in range(rail + 1, grid.rails):
            room = int(2 * (other - rail) * grid.apart + 1e-6) - 2 * grid.clearance
            model.add(depth[rail] + depth[other] <= room).only_enforce_if(used[rail], used[other])


def _solver(sat: Any, limit_s: float) -> "cp_model.CpSolver":
    solver: cp_model.CpSolver = sat.CpSolver()
    solver.parameters.max_time_in_seconds = limit_s
    solver.parameters.num_workers = 1  # the same plan each time
    solver.parameters.random_seed = 1
    return solver


def fits_plane(
    sides_mm: Sequence[tuple[int, int]], width_mm: int, height_mm: int, *, may_turn: bool = False, limit_s: float = 5.0
) -> bool | None:
    """Tell whether rectangles fit a plane without overlap: parts laid on a shelf or cart, or a flat rack.

    Parameters
    ----------
    sides_mm : sequence of (int, int)
        Sides of each rectangle, clearance included, in whole units.
    width_mm, height_mm : int
        Sides of the plane, in the same units.
    may_turn : bool
        Whether rectangles may be turned by 90°.
    limit_s : float
        Most time [s].

    Returns
    -------
    bool or None
        True and False are proved; None when the time is up.

    Raises
    ------
    BadInput
        A side or the limit is not above 0.

    Examples
    --------
    >>> fits_plane([(6, 4)] * 6, 12, 12), fits_plane([(6, 4)] * 7, 12, 12)
    (True, False)
    """
    from ortools.sat.python import cp_model  # heavy: only where a plane is packed

    positive("plane", limit_s=limit_s, width_mm=width_mm, height_mm=height_mm)
    for a, b in sides_mm:
        positive("plane", side_mm=min(a, b))
    if sum(a * b for a, b in sides_mm) > width_mm * height_mm:
        return False
    model = cp_model.CpModel()
    across: list[Any] = []
    down: list[Any] = []
    for a, b in sides_mm:
        ways = {(a, b), (b, a)} if may_turn else {(a, b)}
        ways = {(w, h) for w, h in ways if w <= width_mm and h <= height_mm}
        if not ways:
            return False
        chosen = [model.new_bool_var("") for _ in ways]
        model.add_exactly_one(chosen)
        for pick, (w, h) in zip(chosen, sorted(ways), strict=True):
            x, y = model.new_int_var(0, width_mm - w, ""), model.new_int_var(0, height_mm - h, "")
            across.append(model.new_optional_fixed_size_interval_var(x, w, pick, ""))
            down.append(model.new_optional_fixed_size_interval_var(y, h, pick, ""))
    model.add_no_overlap_2d(across, down)
    # no cut across the plane meets more than its length: helps the solver see that a plane is too small
    model.add_cumulative(across, [i.size_expr() for i in down], height_mm)
    model.add_cumulative(down, [i.size_expr() for i in across], width_mm)
    status = _solver(cp_model, limit_s).solve(model)
    return None if status == cp_model.UNKNOWN else status != cp_model.INFEASIBLE

"""Very many visits to one oven: the bring-up read from a table, the heat balance summed exactly.

Takes    an ``Oven``, metals and exchange (of a pattern ``Load``) and a ``Cure``, one number each; then
         arrays of mass, area and heaviest section.
Gives    a ``VisitHeat`` as ``visit`` gives it, more than ten times as fast.
Method   while the heater is the limit, the air knows nothing of the heaviest section: how long that lasts,
         and what the air lacks of its set point meanwhile, depend on mass and area only. Bring-up and
         what the load lacks at the end depend on the section too. These four are tabulated over the
         logarithms of mass, area per mass and section, by one call of ``visit``, and interpolated
         linearly in each direction. All heat follows from them, so that the balance closes exactly.
Assumes  the air is at its set point when the visit ends. Where it is not (a weak heater, a light part),
         outside the table, and where an oven that starts above its set point may just dip below it or
         not (full power then sets in with a jump), ``visit`` itself is asked.
Room     physics. Imports visit, metals, oven, basis.
"""

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from pricing.basis.checks import positive
from pricing.basis.errors import BadInput, Problem
from pricing.physics.metals import heat_J_per_kg
from pricing.physics.oven import Oven
from pricing.physics.visit import Cure, Load, VisitHeat, visit

_Array: TypeAlias = npt.NDArray[np.float64]
_Singles: TypeAlias = npt.NDArray[np.float32]

_J_PER_KWH = 3.6e6  # by definition
_CELL = (0.10, 0.16, 0.16)  # widths of a cell in the logarithms: linear in between errs by an eighth of their square
_CHUNK = 8192  # rows whose intermediate arrays stay in the processor's second cache
_NEAR_K = 1e-6  # nearer than this to the set point is at it
_CORNERS = 8
_JUMP = 1.5  # minutes at full power that differ by more than this between neighbours are taken for a jump


class Span(NamedTuple):
    """What the table covers: from and to, of each direction.

    >>> Span(mass_kg=(5.0, 200.0)).section_m
    (0.0003, 0.02)
    """

    mass_kg: tuple[float, float] = (1.0, 1000.0)
    area_m2_per_kg: tuple[float, float] = (0.01, 1.0)
    section_m: tuple[float, float] = (0.0003, 0.02)


class Grid(NamedTuple):
    """Cells over the logarithms of mass, area per mass and section; a row of factors for each."""

    low: tuple[float, ...]
    per: tuple[float, ...]  # cells per unit of the logarithm
    cells: tuple[int, ...]
    bring: _Singles  # bring-up [s]; NaN where the visit itself has to be asked
    gap: _Singles  # what the load is short of the set point at the end [K]
    air: _Singles  # over mass and area only, four each: full power [s], what the air lacks meanwhile [K·s]


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitTable:
    """What visits of any load to one oven take; made by `tabulate`, read by `visits`.

    The pattern's own mass, area and section do not matter. Racks and door take the same in all visits
    after which the air is at its set point.
    """

    oven: Oven
    like: Load
    cure: Cure
    at: dict[str, float]  # shop_degC, shell_degC, door_min
    racks_kWh: float  # the most, which the air at its set point gives
    door_kWh: float
    grid: Grid


def tabulate(
    oven: Oven,
    like: Load,
    cure: Cure,
    *,
    shop_degC: float,
    shell_degC: float | None = None,
    door_min: float = 0.0,
    span: Span | None = None,
) -> VisitTable:
    """Tabulate the visits of loads of all sizes to one oven; takes as long as 60,000 rows of `visit`.

    Parameters
    ----------
    oven : Oven
        The oven; here as in all others every number is a plain one.
    like : Load
        Metals, exchange and racks; its mass, area and section do not matter.
    cure : Cure
        What the metal must go through.
    shop_degC, shell_degC, door_min
        As in `visit`.
    span : Span, optional
        Loads to cover; others are passed on to `visit`.

    Returns
    -------
    VisitTable
        For `visits`.

    Raises
    ------
    BadInput
        An array where a number is wanted, an empty span, or as in `visit`.
    """
    span = Span() if span is None else span
    start = shop_degC if shell_degC is None else shell_degC
    given = {"oven": oven, "cure": cure, "like": replace(like, mass_kg=1.0, area_m2=1.0, section_m=1.0)}
    bad = [
        Problem(name, f"{np.size(value)} values", "one number", "Make a table for each.")
        for name, value in _numbers({**given, "shop_degC": shop_degC, "shell_degC": start, "door_min": door_min})
        if np.ndim(value)
    ]
    bad += [
        Problem(name, ends, "from above 0 to more than that")
        for name, ends in zip(span._fields, span, strict=True)
        if not 0 < ends[0] < ends[1] < np.inf
    ]
    if bad:
        raise BadInput("table of oven visits", bad)
    ends = [np.log(each) for each in span]
    cells = tuple(int(np.ceil((b - a) / width)) for (a, b), width in zip(ends, _CELL, strict=True))
    axes = [np.exp(np.linspace(a, b, n + 1)) for (a, b), n in zip(ends, cells, strict=True)]
    mass, per_kg, section = np.meshgrid(*axes, indexing="ij")
    load = replace(like, mass_kg=mass, area_m2=mass * per_kg, section_m=section)
    at = {"shop_degC": shop_degC, "shell_degC": start, "door_min": door_min}
    heat = visit(oven, load, cure, **at)
    short = np.asarray(heat.oven_degC) < cure.oven_degC - _NEAR_K
    bring_s = np.where(short, np.nan, 60.0 * np.asarray(heat.bring_up_min))
    thick = np.s_[:, :, -1]  # the last to be hot: there the air is at its set point, if anywhere
    wall = oven.loss_W_per_K(cure.oven_degC, shop_degC)[0]
    end_s = bring_s[thick] + 60.0 * cure.dwell_min
    lack_Ks = (cure.oven_degC - shop_degC) * end_s - np.asarray(heat.wall_kWh)[thick] * _J_PER_KWH / wall
    full_s = 60.0 * np.asarray(heat.full_power_min)[thick]
    bring = _factors(bring_s)
    bring.reshape(*cells, _CORNERS)[_near_a_jump(full_s)] = np.nan
    air = [_factors(np.stack([values, values], axis=-1))[:, : _CORNERS // 2] for values in (full_s, lack_Ks)]
    low = tuple(float(a) for a, _ in ends)
    per = tuple(float(n / (b - a)) for (a, b), n in zip(ends, cells, strict=True))
    grid = Grid(low, per, cells, bring, _factors(cure.oven_degC - np.asarray(heat.load_degC)), np.hstack(air))
    racks, door = (float(np.max(np.asarray(each))) for each in (heat.racks_kWh, heat.door_kWh))
    return VisitTable(oven=oven, like=like, cure=cure, at=at, racks_kWh=racks, door_kWh=door, grid=grid)


def visits(table: VisitTable, *, mass_kg: _Array, area_m2: _Array, section_m: _Array) -> VisitHeat:
    """Give minutes and heat balance of very many loads.

    Parameters
    ----------
    table : VisitTable
        Of the oven, from `tabulate`.
    mass_kg, area_m2, section_m : array
        Parts, their surface and their heaviest section, as in `Load`; numpy rules.

    Returns
    -------
    VisitHeat
        As `visit` gives it. Rows that the table does not know (above) come from `visit` itself.

    Raises
    ------
    BadInput
        A value is not above 0.

    Notes
    -----
    Against `visit`, over random ovens, cures and loads in the tests: bring-up within 1 % or 0.1 min, full
    power within 1 % or 0.2 min, heater within 0.5 % or 0.01 kWh. The balance closes to rounding.
    """
    positive("oven visits", mass_kg=mass_kg, area_m2=area_m2, section_m=section_m)
    mass, area, section = np.broadcast_arrays(*(np.asarray(v, np.float64) for v in (mass_kg, area_m2, section_m)))
    shape, rows = mass.shape, mass.size
    mass, area, section = mass.ravel(), area.ravel(), section.ravel()
    same = {"racks_kWh": table.racks_kWh, "door_kWh": table.door_kWh}  # of all loads, short of a weak heater
    names = [f.name for f in fields(VisitHeat) if f.name not in ("dwell_min", *same)]
    block = np.empty((len(names), rows))  # one piece: fresh memory costs more than the sums
    out = dict(zip(names, block, strict=True))
    for first in range(0, rows, _CHUNK):
        part = slice(first, first + _CHUNK)
        _fill(table, mass[part], area[part], section[part], {name: column[part] for name, column in out.items()})
    out |= {name: np.broadcast_to(value, rows) for name, value in same.items()}
    slow = np.flatnonzero(np.isnan(out["bring_up_min"]))
    if slow.size:
        out |= {name: np.full(rows, value) for name, value in same.items()}
        load = replace(table.like, mass_kg=mass[slow], area_m2=area[slow], section_m=section[slow])
        exact = visit(table.oven, load, table.cure, **table.at).terms()
        for name, column in out.items():
            column[slow] = exact[name]
    return VisitHeat(dwell_min=table.cure.dwell_min, **{name: column.reshape(shape) for name, column in out.items()})


def _fill(table: VisitTable, mass: _Array, area: _Array, section: _Array, out: dict[str, _Array]) -> None:
    """Work out one chunk, which fits into the cache, into the columns; NaN where the table does not know."""
    cure, grid = table.cure, table.grid
    cells, parts = [], []
    off = np.zeros(mass.shape, np.bool_)
    for value, low, per, count in zip((mass, area / mass, section), grid.low, grid.per, grid.cells, strict=True):
        place = np.log(value) - low
        place *= per
        off |= (place < 0.0) | (place > count)
        cell = np.minimum(np.maximum(place, 0.0), count - 1.0).astype(np.intp)
        cells.append(cell)
        parts.append((place - cell).astype(np.float32))
    x, y, z = parts
    ground = cells[0] * grid.cells[1] + cells[1]
    solid = ground * grid.cells[2] + cells[2]
    c = np.take(grid.air, ground, axis=0, mode="clip")
    full_s, lack_Ks = _plane(c, 0, x, y), _plane(c, 4, x, y).astype(np.float64)
    c = np.take(grid.bring, solid, axis=0, mode="clip")
    bring_s = (_plane(c, 0, x, y) + z * _plane(c, 4, x, y)).astype(np.float64)
    bring_s[off] = np.nan
    c = np.take(grid.gap, solid, axis=0, mode="clip")
    load_degC = np.subtract(cure.oven_degC, _plane(c, 0, x, y) + z * _plane(c, 4, x, y), out=out["load_degC"])
    end_s = bring_s + 60.0 * cure.dwell_min
    np.divide(bring_s, 60.0, out=out["bring_up_min"])
    np.divide(np.minimum(full_s, end_s), 60.0, out=out["full_power_min"])
    _balance(table, mass * _heat(table, load_degC), end_s, lack_Ks, out)


def _balance(table: VisitTable, load_kWh: _Array, end_s: _Array, lack_Ks: _Array, out: dict[str, _Array]) -> None:
    """Sum the heat as `visit` does, the air at its set point at the end."""
    oven, set_degC, shop_degC = table.oven, table.cure.oven_degC, table.at["shop_degC"]
    wall, exhaust = (each / _J_PER_KWH for each in oven.loss_W_per_K(set_degC, shop_degC))
    fan, shell = oven.fan_kW * oven.fan_heat_share / 3600.0, oven.shell_kJ_per_K / 3600.0
    rise_Ks = (set_degC - shop_degC) * end_s - lack_Ks
    np.multiply(wall, rise_Ks, out=out["wall_kWh"])
    np.multiply(exhaust, rise_Ks, out=out["exhaust_kWh"])
    np.multiply(fan, end_s, out=out["fan_kWh"])
    out["load_kWh"][:] = load_kWh
    stored = shell * (set_degC - table.at["shell_degC"])
    lack = load_kWh + out["wall_kWh"]
    lack += out["exhaust_kWh"]
    lack -= out["fan_kWh"]
    lack += stored + table.racks_kWh + table.door_kWh
    heater = np.maximum(0.0, lack, out=out["heater_kWh"])
    surplus = np.subtract(heater, lack, out=lack)  # what fans and a hot start gave too much stays in the shell
    np.add(stored, surplus, out=out["shell_kWh"])
    np.add(set_degC, surplus / shell, out=out["oven_degC"])
    electric = np.multiply(oven.fan_kW / 3600.0, end_s, out=out["electric_kWh"])
    billed = np.divide(heater, oven.available_share, out=out["gas_kWh"])
    if oven.fuel != "gas":
        electric += billed
        billed.fill(0.0)


def _heat(table: VisitTable, load_degC: _Array) -> _Array:
    """Give kWh/kg above the shop; unchecked, since the table was."""
    m, t = table.like.metal, load_degC
    above = t * (m.c0 + t * (m.c1 / 2.0 + t * (m.c2 / 3.0 + t * (m.c3 / 4.0))))
    above -= heat_J_per_kg(m, 0.0, table.at["shop_degC"])
    above /= _J_PER_KWH
    return np.asarray(above)


def _near_a_jump(full_s: _Array) -> npt.NDArray[np.bool_]:
    """Tell the cells in which, or beside which, full power sets in with a jump."""
    own = np.lib.stride_tricks.sliding_window_view(full_s, (2, 2))
    jump = own.max(axis=(2, 3)) > _JUMP * own.min(axis=(2, 3))
    around = np.lib.stride_tricks.sliding_window_view(np.pad(jump, 1), (3, 3))
    return np.asarray(around.any(axis=(2, 3)))


def _factors(nodes: _Array) -> _Singles:
    """Give each cell's factors of 1, x, y, xy, z, xz, yz, xyz from its corners; x, y, z from 0 to 1."""
    parts = [nodes]
    for axis in (2, 1, 0):  # along each direction: the near value and the step to the far one
        count = nodes.shape[axis] - 1
        near = [np.take(part, range(count), axis) for part in parts]
        step = [np.diff(part, axis=axis) for part in parts]
        parts = [each for pair in zip(near, step, strict=True) for each in pair]
    return np.stack([part.ravel() for part in parts], axis=-1).astype(np.float32)


def _plane(c: _Singles, first: int, x: _Singles, y: _Singles) -> _Singles:
    """Interpolate in two directions from the four factors that begin at a column."""
    near, far = c[:, first + 1] * x, c[:, first + 3] * x
    near += c[:, first]
    far += c[:, first + 2]
    far *= y
    near += far
    return near


def _numbers(records: dict[str, Any]) -> list[tuple[str, Any]]:
    """Give every number of nested records by its name."""
    found: list[tuple[str, Any]] = []
    for name, value in records.items():
        if is_dataclass(value):
            found += _numbers({f.name: getattr(value, f.name) for f in fields(value)})
        else:
            found.append((name, value))
    return found

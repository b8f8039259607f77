"""An oven at full power with a cold load in it: shell, load and heaviest section together.

Takes    heater, losses, shell and load as a ``Firing`` record; floats or arrays.
Gives    how long the heater is the limit, and all temperatures when it no longer is.
Method   two coupled balances, shell ``C dO/dt = P - b (O - S) - g (O - T)`` and load
         ``m c dT/dt = g (O - T)``. Each step solves them exactly with c(T) and radiation frozen at the
         step's middle, so that neither a light shell nor a large load makes it unstable; the steps
         shrink towards the set point. The heaviest section follows the same air, passively.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from pricing.basis.checks import Floats
from pricing.basis.errors import BadInput, Problem
from pricing.physics.heating import Exchange, heat_and_film
from pricing.physics.metals import Metal

_STEPS = 4  # towards the set point; more are taken until every row is there
_MOST_STEPS = 40  # 8 were the most that 20,000 odd ovens took
_FEW = 8  # rows that are faster one by one as floats than together as arrays
_PAST = 1.2
_RESONANCE = 1e-6
_NEAR_K = 1e-3  # as good as at the set point


@dataclass(frozen=True, slots=True, kw_only=True)
class Firing:
    """What is heated, and with what.

    Parameters
    ----------
    power_W : float or array
        Heat into the oven at full power, fans included [W].
    loss_W_per_K : float or array
        Loss of walls and exhaust [W/K].
    store_J_per_K : float or array
        Heat of shell and racks [J/K].
    shop_degC, start_degC, set_degC : float or array
        Shop, shell at the start, set point of the oven air [°C].
    load_degC : float or array
        Load at the start [°C].
    metal : Metal
        Of the load.
    exchange : Exchange
        Between air and load.
    mass_kg, area_m2 : float or array
        Of the whole load.
    section_m : float or array
        Volume over area of its heaviest section [m].
    metal_degC, dwell_min : float or array
        Metal temperature wanted [°C], and the time it is held [min]: then the visit is over.
    """

    power_W: Floats
    loss_W_per_K: Floats
    store_J_per_K: Floats
    shop_degC: Floats
    start_degC: Floats
    set_degC: Floats
    load_degC: Floats
    metal: Metal
    exchange: Exchange
    mass_kg: Floats
    area_m2: Floats
    section_m: Floats
    metal_degC: Floats
    dwell_min: Floats


class Fired(NamedTuple):
    """State when the heater is no longer the limit, or the visit is over before that."""

    seconds: Floats
    oven_degC: Floats
    load_degC: Floats
    section_degC: Floats
    reached_s: Floats  # when the heaviest section got to its temperature; infinite if not yet
    oven_Ks: Floats  # integral of the oven's temperature over the time [°C·s]


class _Kit(NamedTuple):
    """The few functions that floats and arrays do not share."""

    exp: Callable[[Any], Any]
    sqrt: Callable[[Any], Any]
    least: Callable[[Any, Any], Any]
    most: Callable[[Any, Any], Any]
    pick: Callable[[Any, Any, Any], Any]
    some: Callable[[Any], bool]


_FLOATS = _Kit(math.exp, math.sqrt, min, max, lambda test, yes, no: yes if test else no, bool)
_ARRAYS = _Kit(np.exp, np.sqrt, np.minimum, np.maximum, np.where, lambda test: bool(np.any(test)))


class _Step(NamedTuple):
    """Exact solution of the two balances with frozen coefficients, as sums of two decays."""

    level: Floats  # where both would settle
    slow: Floats
    fast: Floats
    oven_slow: Floats
    oven_fast: Floats
    load_slow: Floats
    load_fast: Floats

    def at(self, kit: _Kit, s: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Oven and load after some seconds, slope and integral of the oven. Source: as for `at_full_power`."""
        slow, fast = kit.exp(self.slow * s), kit.exp(self.fast * s)
        a, b = self.oven_slow * slow, self.oven_fast * fast
        slope = self.slow * a + self.fast * b
        area = self.level * s + (a - self.oven_slow) / self.slow + (b - self.oven_fast) / self.fast
        return self.level + a + b, self.level + self.load_slow * slow + self.load_fast * fast, slope, area

    def follow(self, kit: _Kit, section: Floats, lag: Floats, s: Floats) -> tuple[Floats, Floats]:
        """Temperature and slope of a section that follows the oven passively. Source: as for `at_full_power`."""
        slow, fast = _off_zero(kit, 1.0 + self.slow * lag), _off_zero(kit, 1.0 + self.fast * lag)
        a, b = self.oven_slow / slow, self.oven_fast / fast
        own = (section - self.level - a - b) * kit.exp(-s / lag)
        a, b = a * kit.exp(self.slow * s), b * kit.exp(self.fast * s)
        return self.level + a + b + own, self.slow * a + self.fast * b - own / lag


def at_full_power(firing: Firing) -> Fired:
    """Follow shell, load and heaviest section until the oven air holds its set point.

    Source: two linear heat balances solved by their eigenvalues; any textbook of differential equations.

    Parameters
    ----------
    firing : Firing
        What is heated; the power must be more than the loss at the set point.

    Returns
    -------
    Fired
        Zero seconds where the heater is strong enough from the start.

    Raises
    ------
    BadInput
        The bring-up does not come to an end.

    Notes
    -----
    Within 1.5 % of an adaptive solver in the tests (0.2 % as a rule), over ovens from weak to strong.
    """
    shape = np.broadcast_shapes(*map(np.shape, _numbers(firing)))
    if not shape:
        return _fire(firing, _FLOATS, 0.0)
    zeros = np.zeros(shape)
    if zeros.size > _FEW:
        return _fire(firing, _ARRAYS, zeros)
    each = [_fire(_row(firing, shape, i), _FLOATS, 0.0) for i in range(zeros.size)]
    return Fired(*(np.reshape(column, shape) for column in zip(*each, strict=True)))


def _numbers(record: Any) -> Iterator[Floats]:
    """Yield every number of a record of records."""
    for name in record.__slots__:
        value = getattr(record, name)
        yield from _numbers(value) if isinstance(value, (Metal, Exchange)) else (value,)


def _row(record: Any, shape: tuple[int, ...], i: int) -> Any:
    """Return one row of a record of arrays as a record of floats."""
    changed = {}
    for name in record.__slots__:
        value = getattr(record, name)
        if isinstance(value, np.ndarray):
            changed[name] = float(np.broadcast_to(value, shape).flat[i])
        elif isinstance(value, (Metal, Exchange)):
            changed[name] = _row(value, shape, i)
    return replace(record, **changed) if changed else record


def _fire(f: Firing, kit: _Kit, zeros: Floats) -> Fired:
    metal, exchange = f.metal, f.exchange
    oven, load, section = f.start_degC + zeros, f.load_degC + zeros, f.load_degC + zeros
    seconds, oven_Ks, reached, held = zeros, zeros, zeros + math.inf, zeros
    holding_W = f.power_W - f.loss_W_per_K * (f.set_degC - f.shop_degC)
    for step in range(_MOST_STEPS):
        heat, film = heat_and_film(metal, exchange, oven, load)
        store, give = f.mass_kg * heat, f.area_m2 * film
        start = heat_and_film(metal, exchange, oven, section)
        spare = f.power_W - f.loss_W_per_K * (oven - f.shop_degC) - give * (oven - load)
        end = reached + 60.0 * f.dwell_min
        going = ((oven < f.set_degC) | (spare < 0)) & (seconds < end) & (held < 1.0)
        if not kit.some(going):
            break
        both = f.store_J_per_K + store
        behind = holding_W * store / both / give  # load behind air when the set point is reached
        need = f.store_J_per_K * (f.set_degC - oven) + store * (f.set_degC - behind - load)
        gain = f.power_W - f.loss_W_per_K * (0.5 * (oven + f.set_degC) - f.shop_degC)
        relax = f.store_J_per_K * store / both / give
        aim = 1.0 / (_STEPS - step) if step < _STEPS - 1 else _PAST  # the last step aims past it and is cut
        s = kit.most(need / gain * aim, 0.5 * relax)
        guess = _solve(f, kit, oven, load, store, give)
        half, whole = guess.at(kit, 0.5 * s), guess.at(kit, s)
        film = heat_and_film(metal, exchange, half[0], half[1])[1]
        exact = _solve(f, kit, oven, load, f.mass_kg * _mean_heat(metal, load, whole[1]), f.area_m2 * film)
        after = exact.at(kit, s)
        over = after[0] >= f.set_degC
        if kit.some(over):
            cut = s
            for _ in range(3):  # Newton from the right: the later of two crossings, if it dipped
                level, _load, slope, _area = exact.at(kit, cut)
                cut = kit.pick(over & (slope > 0), cut - (level - f.set_degC) / kit.pick(slope > 0, slope, 1.0), cut)
                cut = kit.least(kit.most(cut, 0.0), s)
            s, held = cut, kit.most(held, over * 1.0)  # from now on the load takes less and less
        s = kit.pick(going, kit.least(s, end - seconds), 0.0)
        after = exact.at(kit, s)
        lag = f.metal.density_kg_per_m3 * f.section_m * start[0] / start[1]
        near, far = exact.follow(kit, section, lag, 0.5 * s)[0], exact.follow(kit, section, lag, s)[0]
        film = heat_and_film(metal, exchange, half[0], near)[1]
        lag = f.metal.density_kg_per_m3 * f.section_m * _mean_heat(metal, section, far) / film
        there = exact.follow(kit, section, lag, s)[0]
        first = (there >= f.metal_degC) & (reached > seconds + s) & going
        if kit.some(first):
            part = _crossing(f, kit, exact, section, lag, s)
            reached = kit.pick(first, seconds + part, reached)
            rest = kit.pick(first, kit.least(s, part + 60.0 * f.dwell_min), s)
            there, after, s = exact.follow(kit, section, lag, rest)[0], exact.at(kit, rest), rest
        oven, load, section = kit.pick(after[0] > f.set_degC - _NEAR_K, f.set_degC, after[0]), after[1], there
        seconds, oven_Ks = seconds + s, oven_Ks + after[3]
    else:
        power = float(np.max(np.asarray(f.power_W)))
        raise BadInput("oven visit", [Problem("power_W", power, "enough to get on in the bring-up", "")])
    return Fired(seconds, oven, load, section, reached, oven_Ks)


def _off_zero(kit: _Kit, value: Floats) -> Floats:
    """Keep off a resonance, where the section would lag exactly as the oven decays."""
    near: Floats = kit.pick((value < _RESONANCE) & (value > -_RESONANCE), _RESONANCE, value)
    return near


def _mean_heat(metal: Metal, a: Floats, b: Floats) -> Floats:
    """Mean specific heat between two temperatures, so that the step takes its heat exactly."""
    square, cube = (b * b + a * b + a * a) / 3.0, (b + a) * (b * b + a * a) / 4.0
    return metal.c0 + metal.c1 * (a + b) / 2.0 + metal.c2 * square + metal.c3 * cube


def _solve(f: Firing, kit: _Kit, oven: Floats, load: Floats, store: Floats, give: Floats) -> _Step:
    """Solve the linear pair: decays of the matrix [[-(b+g)/C, g/C], [g/m, -g/m]]."""
    lose, take, gain = f.loss_W_per_K / f.store_J_per_K, give / f.store_J_per_K, give / store
    middle = 0.5 * (lose + take + gain)
    root = kit.sqrt(middle * middle - lose * gain)
    level = f.shop_degC + f.power_W / f.loss_W_per_K
    x, y = oven - level, load - level
    along_x = (0.5 * ((middle - lose - take) * x + take * y)) / root
    along_y = (0.5 * ((middle - gain) * y + gain * x)) / root
    return _Step(
        level,
        -lose * gain / (middle + root),
        -(middle + root),
        0.5 * x + along_x,
        0.5 * x - along_x,
        0.5 * y + along_y,
        0.5 * y - along_y,
    )


def _crossing(f: Firing, kit: _Kit, exact: _Step, section: Floats, lag: Floats, s: Floats) -> Floats:
    """Seconds into a step at which the section gets to its temperature."""
    part = s
    for _ in range(5):  # Newton; where the curve is flat the step's end has to do
        level, slope = exact.follow(kit, section, lag, part)
        rising = slope > 0
        part = kit.pick(rising, part - (level - f.metal_degC) / kit.pick(rising, slope, 1.0), s)
        part = kit.least(kit.most(part, 0.0), s)
    return part

"""The least that a season could have cost: one linear program over all of it, the sun known from the start.

It keeps to what the plans keep to (allowed hours, dark, one stretch with the daylight, `sun_enough_ppfd`,
limits, capacity, seed light, minimum, account from 0 to 0), but not to least runs, starts, the switch and
quarter hours: lamps may burn for parts of a step. What can't be met gives as in a plan: the account first,
then the minimum, then seed light, each by as little as possible, and a debt is carried on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.program import FEASIBILITY, Program, Solution, relaxed
from lightplan.clock import STEPS_PER_H
from lightplan.replay.blocks import Blocks, SeasonBlocks, blocks_of
from lightplan.replay.lit import BenchRun, PolicyRun, bench_run
from lightplan.replay.season import BenchSeason, Season

Array = NDArray[np.float64]

GIVES_WAY = ("seed", "minimum", "account")  # the first is held longest


@dataclass
class _Columns:
    """lit : per bench, of each block, steps lit. missing : per kind, seed in steps, the rest in mol."""

    program: Program
    lit: list[NDArray[np.int64]]
    peaks: list[int]
    missing: dict[str, list[int]]


def least_cost_of(season: Season) -> PolicyRun:
    """The bound as if it were a policy, named "bound". Without prices the energy is least instead.

    Raises RuntimeError when HiGHS finds no answer, which would be a fault here.
    """
    blocks = blocks_of(season)
    columns = _Columns(Program(), [], [], {kind: [] for kind in GIVES_WAY})
    for bench, parts in zip(season.benches, blocks.of_bench, strict=True):
        lit = np.array([columns.program.column(0.0, float(n)) for n in parts.steps], dtype=np.int64)
        columns.lit.append(lit)
        _stretches(columns.program, parts, lit)
        _needs(season, bench, parts, columns, lit)
    _shared(season, blocks, columns)
    cost = _cost(season, blocks, columns)
    value = _solved(columns, cost).value if season.benches else np.zeros(0)
    kwh = sum(
        float(value[lit].sum()) * bench.draw_kw / STEPS_PER_H
        for bench, lit in zip(season.benches, columns.lit, strict=True)
    )
    return PolicyRun(
        name="bound",
        benches=tuple(
            _run(season, bench, parts.day, value[lit], cost[lit])
            for bench, parts, lit in zip(season.benches, blocks.of_bench, columns.lit, strict=True)
        ),
        kwh=kwh,
        cost=None if season.price is None else float(cost @ value),
    )


def _stretches(program: Program, parts: Blocks, lit: NDArray[np.int64]) -> None:
    """Lamp time joins the daylight, and enough of each night stays dark.

    A block further into the night is lit to no greater part than the one before it.
    """
    for inner, outer in parts.after:
        program.row(
            [(int(lit[inner]), 1 / parts.steps[inner]), (int(lit[outer]), -1 / parts.steps[outer])], low=0.0
        )
    for first, second in parts.either:
        program.row([(int(lit[first]), 1.0), (int(lit[second]), 1.0)], high=float(parts.steps[first]))
    for members, spare_h in parts.nights:
        program.row([(int(lit[n]), float(parts.dark_h[n])) for n in members], high=spare_h)


def _needs(
    season: Season, bench: BenchSeason, parts: Blocks, columns: _Columns, lit: NDArray[np.int64]
) -> None:
    program, step_mol = columns.program, bench.step_mol
    for members, count in parts.seed:
        lack = program.column(0.0, math.inf)
        columns.missing["seed"].append(lack)
        program.row([*((int(lit[n]), 1.0) for n in members), (lack, 1.0)], low=float(count))
    before: int | None = None  # column of the account
    kept = [n for n in range(season.days) if _has_account(bench, n)]
    for number in range(season.days):
        needs, sun = bench.needs[number], float(bench.sun_mol[number])
        if needs is None:
            continue
        light = [(int(column), step_mol) for column in lit[np.asarray(parts.day) == number]]
        if needs.limit is not None:
            wanted = sum(count for members, count in parts.seed if parts.day[members[0]] == number)
            program.row(light, high=max(0.0, needs.limit - sun, wanted * step_mol))
        if needs.minimum is not None and needs.lamps_allowed:
            lack = program.column(0.0, math.inf)
            columns.missing["minimum"].append(lack)
            program.row([*light, (lack, 1.0)], low=needs.minimum - sun)
        if needs.target is None:
            continue
        account = program.column(-math.inf, needs.most_in_hand)
        carried = [] if before is None else [(before, -1.0)]
        program.row(
            [(account, 1.0), *carried, *((column, -mol) for column, mol in light)], high=sun - needs.target
        )
        if needs.lamps_allowed:
            lack = program.column(0.0, math.inf)
            columns.missing["account"].append(lack)
            program.row([(account, 1.0), (lack, 1.0)], low=0.0 if number == kept[-1] else -needs.most_owed)
        before = account


def _has_account(bench: BenchSeason, number: int) -> bool:
    needs = bench.needs[number]
    return needs is not None and needs.target is not None and needs.lamps_allowed


def _shared(season: Season, blocks: SeasonBlocks, columns: _Columns) -> None:
    """What all lamps together draw: within the breaker, and under each month's peak where that is charged."""
    power = season.site.power
    most = power.lamps_kw_at_most if power else None
    charged = power is not None and power.peak_price_per_kw > 0 and season.price is not None
    if most is None and not charged:
        return
    starts = np.array([month.start for month in season.months()])
    if charged:
        columns.peaks = [columns.program.column(0.0, math.inf) for _ in starts]
    if most is not None:  # a bench that the breaker can't bear lights nothing, not a part of itself
        for bench, lit in zip(season.benches, columns.lit, strict=True):
            if bench.draw_kw > most + FEASIBILITY:
                for column in lit:
                    columns.program.upper[int(column)] = 0.0
    draw: dict[int, list[tuple[int, float]]] = {}
    could: dict[int, dict[str, float]] = {}
    for bench, parts, lit in zip(season.benches, blocks.of_bench, columns.lit, strict=True):
        for column, segment in zip(lit, parts.segment, strict=True):
            draw.setdefault(segment, []).append((int(column), bench.draw_kw))
            could.setdefault(segment, {})[bench.bench.id] = bench.draw_kw
    for segment, terms in draw.items():
        steps = float(blocks.steps[segment])
        if most is not None and sum(could[segment].values()) > most + FEASIBILITY:
            columns.program.row(terms, high=most * steps)
        if charged:
            month = int(np.searchsorted(starts, blocks.first[segment], side="right")) - 1
            columns.program.row([*terms, (columns.peaks[month], -steps)], high=0.0)


def _cost(season: Season, blocks: SeasonBlocks, columns: _Columns) -> Array:
    cost = np.zeros(len(columns.program.lower))
    for bench, parts, lit in zip(season.benches, blocks.of_bench, columns.lit, strict=True):
        price = 1.0 if season.price is None else season.price[blocks.first[parts.segment]]
        cost[lit] = bench.draw_kw / STEPS_PER_H * price
    if columns.peaks and season.site.power is not None:
        cost[columns.peaks] = season.site.power.peak_price_per_kw
    return cost


def _solved(columns: _Columns, cost: Array) -> Solution:
    """Least cost with nothing missing; where that can't be, each kind of lack is made least in turn first."""
    program = columns.program
    lower, upper = program.bounds
    nothing = upper.copy()
    nothing[[column for kind in GIVES_WAY for column in columns.missing[kind]]] = 0.0
    found = relaxed(program.rows(), cost, (lower, nothing))
    if found is not None:
        return found
    for kind in GIVES_WAY:
        lack = np.zeros(len(cost))
        lack[columns.missing[kind]] = 1.0
        least = relaxed(program.rows(), lack, (lower, upper))
        if least is None:
            raise RuntimeError("the season's bound has no answer; this should always be possible")
        terms = [(column, 1.0) for column in columns.missing[kind]]
        if terms:
            program.row(terms, high=least.objective + FEASIBILITY)
    found = relaxed(program.rows(), cost, (lower, upper))
    if found is None:
        raise RuntimeError("the season's bound has no answer; this should always be possible")
    return found


def _run(
    season: Season, bench: BenchSeason, day: Sequence[int], lit_steps: Array, cost_a_step: Array
) -> BenchRun:
    def by_day(weights: Array) -> Array:
        found = np.bincount(np.asarray(day, dtype=np.int64), weights=weights, minlength=season.days)
        return np.asarray(found, dtype=float)

    none = np.zeros(season.days, dtype=np.int64)
    run = bench_run(season, bench, by_day(lit_steps) * bench.step_mol, none)
    if season.price is None:
        return run
    return replace(run, energy_cost=by_day(lit_steps * cost_a_step))

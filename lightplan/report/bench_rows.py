"""One row a bench: what the day brings against what stands there needs."""

from __future__ import annotations

from lightplan.account import SLIGHT_MOL
from lightplan.dayplan import Action, BenchDay, DayPlan, Dli
from lightplan.report.bars import bar_scale, light_bar
from lightplan.report.day_words import day_length_cell
from lightplan.report.lamp_lines import lamp_lines
from lightplan.report.names import STAGES, crop_name
from lightplan.report.notes import bench_lines
from lightplan.report.units import Units, figure, short
from lightplan.report.view import BenchBlock, BenchRow

FOLD_ABOVE = 8  # benches; a sheet with more folds those that are to be left alone
ALONE = {Action.LEAVE_ALONE, Action.LEAVE_OFF}
SHOWN_ELSEWHERE = {"usual-assumed"}  # stands with what is already set


def bench_block(plan: DayPlan, units: Units) -> BenchBlock | None:
    """Rows and lines of the benches; None where there are none."""
    if not plan.benches:
        return None
    planted = [b for b in plan.benches if b.batches]
    alone = [b for b in planted if len(plan.benches) > FOLD_ABOVE and _leave_alone(b, plan)]
    shown = [b for b in planted if b not in alone]
    scale = bar_scale(b.dli for b in shown)
    has_account = any(b.account_after is not None for b in shown)
    has_day_length = any(b.photoperiod_h is not None for b in shown)
    has_temperature = any(b.temperature is not None for b in shown)
    has_covers = any(b.covers for b in shown)
    return BenchBlock(
        rows=tuple(_row(b, units, scale) for b in shown),
        notes=(*lamp_lines(plan), *_notes(shown, units, over=plan.is_over)),
        sum_heading="sun + lamps = day",
        peak_heading="peak of limit, μmol",
        has_account=has_account,
        has_day_length=has_day_length,
        has_temperature=has_temperature,
        more=f"more-{has_account + has_day_length + has_temperature}",
        key=_key([b.dli for b in shown], scale, has_covers=has_covers),
    )


def _leave_alone(bench: BenchDay, plan: DayPlan) -> bool:
    """Nothing is ordered, the sun reaches the target, and nothing is to be said about it."""
    orders = [o for o in plan.orders if o.bench == bench.bench.id]
    if bench.lamps.intervals or bench.covers or bench.notes or any(o.action not in ALONE for o in orders):
        return False
    if bench.dli.target is None or bench.dli.total < bench.dli.target:
        return False
    return bench.dli.limit is None or bench.dli.total <= bench.dli.limit


def _row(bench: BenchDay, units: Units, scale_mol: float) -> BenchRow:
    dli, temperature = bench.dli, bench.temperature
    return BenchRow(
        name=bench.bench.name,
        stands=_stands(bench),
        bar=light_bar(dli, scale_mol),
        sum=_sum(bench),
        need=_need(bench, dli),
        account=_account(bench),
        peak_ppfd=_peak(bench, units),
        peak_temperature=units.peak(temperature.peak_after) if temperature else "–",
        day_length=day_length_cell(bench),
    )


def _stands(bench: BenchDay) -> str:
    batches = sorted(bench.batches, key=lambda b: not b.governs)
    return "; ".join(f"{crop_name(b.batch.crop)}, {STAGES[b.batch.stage]}" for b in batches)


def _sum(bench: BenchDay) -> str:
    dli = bench.dli
    if not bench.bench.lamps:
        return figure(dli.total, 1)
    return f"{figure(dli.sun, 1)} + {figure(dli.lamps, 1)} = {figure(dli.total, 1)}"


def _need(bench: BenchDay, dli: Dli) -> str:
    if dli.target is None:
        if bench.light_hours is not None:
            return f"seed lit {short(bench.light_hours)} h"
        return "no set need"
    needs = (dli.minimum, dli.target, dli.limit)
    return " / ".join("–" if mol is None else short(mol) for mol in needs)


def _peak(bench: BenchDay, units: Units) -> str:
    limit = bench.limits.ppfd_umol_m2_s if bench.limits else None
    words = (
        figure(bench.peak_ppfd_after)
        if limit is None
        else f"{figure(bench.peak_ppfd_after)} of {figure(limit)}"
    )
    words = words.replace(" ", "\N{NO-BREAK SPACE}")
    if not units.foot_candles:
        return words
    return f"{words} ({units.fc(bench.peak_ppfd_after)}\N{NO-BREAK SPACE}fc)"


def _account(bench: BenchDay) -> str:
    """Light in hand or owed tonight; what is in hand at most is full, and more does not count."""
    account, most = bench.account_after, bench.needs.most_in_hand if bench.needs else 0.0
    if account is None:
        return "–"
    if abs(account) < SLIGHT_MOL:
        return "even"
    if account < 0:
        return f"{short(-account)} owed"
    return f"full at {short(account)}" if account > most - SLIGHT_MOL else f"{short(account)} in hand"


def _notes(benches: list[BenchDay], units: Units, *, over: bool) -> tuple[str, ...]:
    notes = [(b.bench.name, n) for b in benches for n in b.notes if n.slug not in SHOWN_ELSEWHERE]
    return bench_lines(notes, units, over=over)


def _key(days: list[Dli], scale_mol: float, *, has_covers: bool) -> str:
    parts = ["light: sun", "solid: lamps"]
    if has_covers:
        parts.append("hatched: kept out by covers")
    parts.append("line below: poor to good day")
    ticks = [
        word
        for word, there in (
            ("thin tick: minimum", any(d.minimum is not None for d in days)),
            ("thick: target", any(d.target is not None for d in days)),
            ("dashed: limit", any(d.limit is not None and d.limit <= scale_mol for d in days)),
        )
        if there
    ]
    return "; ".join(parts + ticks)

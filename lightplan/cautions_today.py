"""The cautions that a day calls for, by slug; their words and sources stand in `report.cautions`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lightplan.clock import Window
from lightplan.dayplan import Action, BenchDay, HouseDay, Order
from lightplan.laid import TENTS
from lightplan.site.models import Bench, Cover
from lightplan.standing import Standing

LONG_RUN_H = 3.0  # what counts as a continuous load: NFPA 70 article 100 (read on secondary pages)
HOT_WORK_C = 32.2  # air in which breaks are due (heat index; tables/safety.csv trigger_high)
HANDS = {Action.OPEN_TENT, Action.COVER, Action.UNCOVER, Action.VENT}
OUTDOORS = "outside"


def cautions_today(
    benches: Sequence[BenchDay],
    houses: Sequence[HouseDay],
    orders: Sequence[Order],
    standing: Mapping[str, Standing],
    window: Window | None,
) -> Iterator[str]:
    """Slugs, the gravest first."""
    yield from _of_covers(benches, orders, standing)
    hottest = max((h.temperature_max_c for h in houses if h.temperature_max_c is not None), default=0.0)
    if hottest >= HOT_WORK_C and any(order.action in HANDS for order in orders):
        yield "hot-work"
    yield from _of_lamps(benches, window)


def _of_covers(
    benches: Sequence[BenchDay], orders: Sequence[Order], standing: Mapping[str, Standing]
) -> Iterator[str]:
    laid = {order.bench for order in orders if order.action is Action.COVER}
    with_lamps = [b.bench for b in benches if b.bench.lamps is not None]
    if any(_burns_over(standing[bench.id]) or _burns_laid(bench, orders) for bench in with_lamps):
        yield "covered-lamps"
    if any(bench.id in laid for bench in with_lamps):
        yield "isolate-first"
    outside = [cover for done in standing.values() for cover in _covers_of(done) if cover.where == OUTDOORS]
    if outside:
        yield "wind-covers"
        yield "roof-work"
    if any(order.action in (Action.COVER, Action.CLOSE_TENT) for order in orders):
        yield "closed-after-spraying"


def _covers_of(standing: Standing) -> tuple[Cover, ...]:
    plans = [one.plan for one in (*standing.lying, standing.over_house) if one is not None]
    return tuple(c for plan in plans if plan is not None and plan.remedy for c in plan.remedy.covers)


def _burns_over(standing: Standing) -> bool:
    lies = any(one.what not in TENTS and not one.is_over for one in standing.lying) or standing.over_house
    by_night = standing.night is not None and standing.night.cover.combustible
    return (bool(lies) and bool(standing.lamps_off.any())) or by_night


def _burns_laid(bench: Bench, orders: Sequence[Order]) -> bool:
    """Whether a cover that burns is ordered over it, whoever planned that."""
    burning = {cover.name for cover in bench.covers if cover.combustible}
    return any(o.action is Action.COVER and o.bench == bench.id and o.subject in burning for o in orders)


def _of_lamps(benches: Sequence[BenchDay], window: Window | None) -> Iterator[str]:
    lit = [b.bench.lamps for b in benches if b.bench.lamps and (b.lamps.intervals or b.lamps.earlier)]
    if window and window.start.utcoffset() != window.end.utcoffset() and lit:
        yield "timer-clock"
    if any(note.slug == "snow-on-roof" for b in benches for note in b.notes):
        yield "snow-load"
    if not lit:
        return
    yield "wet-electrics"
    if any(lamps.place == "in-tent" for lamps in lit):
        yield "lamps-near-film"
    if max((_longest_run_h(b) for b in benches), default=0.0) >= LONG_RUN_H:
        yield "continuous-load"
    kinds = {lamps.kind for lamps in lit}
    if kinds & {"hps", "metal-halide"}:
        yield "hot-discharge-lamps"
    if "metal-halide" in kinds:
        yield "metal-halide-weekly-off"
    if "led-red-blue" in kinds:
        yield "red-blue-light"
    yield "bright-lamps"


def _longest_run_h(bench: BenchDay) -> float:
    times = [*bench.lamps.earlier, *bench.lamps.intervals]
    return max((off.timestamp() - on.timestamp() for on, off in times), default=0.0) / 3600

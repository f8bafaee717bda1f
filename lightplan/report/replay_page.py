"""A replay as a page: finished words, figures and drawings."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

import lightplan
from lightplan.replay.lit import PolicyRun
from lightplan.replay.replay import Quality, Replay
from lightplan.report import replay_chart as chart
from lightplan.report.html import filled
from lightplan.report.units import day_month, figure, listing, short
from lightplan.weather.table import Kind

NAMES = {
    "bound": "The least there is",
    "advice": "The morning sheets",
    "fixed-16h": "16 hours every day",
    "threshold": "On below a fixed light",
    "same-day": "Each day by itself",
}
WORDS = {
    "bound": "all the season's sun known from the start, lamps in any part of an hour",
    "advice": "morning by morning, with what was known that morning",
    "fixed-16h": "whatever the sun",
    "threshold": "whenever the sun at the bench is under its “sun enough”",
    "same-day": "to the target, its own sun known, nothing carried over",
}
QUALITIES = {
    Quality.MODEL: "Forecasts with invented errors of the usual size, drawn by chance",
    Quality.PERFECT: "Forecasts that are always right",
    Quality.PERSISTENCE: "No forecast: every morning expects yesterday's sun again",
    Quality.RECORDED: "The forecasts that the sheets of those mornings had",
}
SUNS = {
    Kind.FORECAST: "the last forecast of each hour",
    Kind.OBSERVED: "recorded weather",
    Kind.TYPICAL_YEAR: "a typical year, not the real one",
    Kind.CLEAR_SKY: "a dimmed clear sky: a guess, not the real sun",
}


SMALL_GAP = 1e-4  # rounds to nothing on the page


@dataclass(frozen=True)
class PolicyRow:
    line: Markup
    name: str
    words: str
    kwh: str
    cost: str
    over: str
    at_minimum: str
    shortfall: str
    starts: str


@dataclass(frozen=True)
class BenchStrip:
    name: str
    top: str
    light: Markup
    account: Markup | None
    account_words: str


@dataclass(frozen=True)
class ReplayView:
    title: str
    site: str
    paper: str
    dates: str
    sentence: str
    facts: tuple[str, ...]
    currency: str | None
    rows: tuple[PolicyRow, ...]
    energy_top: str
    energy: Markup | None
    energy_note: str | None
    months: tuple[tuple[str, float], ...]
    benches: tuple[BenchStrip, ...]
    footer: str


def replay_html(replay: Replay) -> str:
    view = replay_view(replay)
    return filled("replay.html.j2", footer=view.footer, page=view)


def replay_view(replay: Replay) -> ReplayView:
    season = replay.season
    first, last = season.dates[0], season.dates[-1]
    dates = f"{day_month(first)} {first.year} to {day_month(last)} {last.year}"
    priced = replay.bound.cost is not None and season.site.power is not None
    drawn = bool(season.benches)
    return ReplayView(
        title=f"Lamps replayed, {season.site.name}, {dates}",
        site=season.site.name,
        paper=season.site.paper,
        dates=dates,
        sentence=sentence(replay),
        facts=tuple(_facts(replay)),
        currency=season.site.power.currency if priced and season.site.power else None,
        rows=tuple(_row(replay, run) for run in (*replay.policies, replay.bound)) if drawn else (),
        energy_top=f"{figure(chart.energy_top(replay))} kWh" if drawn else "",
        energy=chart.energy(replay) if drawn else None,
        energy_note=_leaving(replay) if drawn else None,
        months=chart.month_cells(season.dates),
        benches=tuple(_benches(replay)),
        footer=f"lightplan {lightplan.__version__}, {season.site.name}, {dates}",
    )


def sentence(replay: Replay) -> str:
    """What the season comes to, in a line."""
    advice = replay.policies[0]
    if not replay.season.benches:
        return "No bench of this site has lamps: there is nothing to replay."
    if advice.kwh == 0 and replay.bound.kwh == 0:
        return "No lamps were needed or could be lit in all this time."
    if advice.kwh == 0:
        least = f"the least there is would take {figure(replay.bound.kwh)} kWh"
        return f"The sheets lit nothing, and owe light; {least}."
    over = replay.over_bound(advice)
    if over is None:
        return f"The sheets lit {figure(advice.kwh)} kWh; the least there is would cost nothing."
    if over < 1:
        return f"The sheets cost {_percent(1 - over)} less than the least there is, and owe light."
    return f"The sheets cost {_percent(over - 1)} more than the least there is."


def _percent(share: float) -> str:
    return f"{short(100 * share)} %"


def _facts(replay: Replay) -> list[str]:
    words = QUALITIES[replay.quality]
    seed = "" if replay.seed is None else f" (run {replay.seed}; another run draws others)"
    weather = replay.season.weather
    said = [f"{words}{seed}.", f"The sun itself: {SUNS[weather.kind]}. {weather.attribution}."]
    if weather.fallback_reason:
        said.append(f"Stand-in: {weather.fallback_reason}.")
    gap, short_gap = replay.policies[0].gap, replay.policies[0].short_gap
    if gap is not None:
        left = f"{short(100 * gap, 2)} %" if gap >= SMALL_GAP else "a hundredth of a percent"
        said.append(f"Each morning's plan is proved within {left} of its own least cost.")
    if short_gap is not None and short_gap >= SMALL_GAP:
        left = _percent(short_gap)
        said.append(
            f"Of the light that a morning's plan left short, up to {left} might still have been found."
        )
    return said


def _row(replay: Replay, run: PolicyRun) -> PolicyRow:
    over = replay.over_bound(run)
    share, missed = run.days_at_minimum, run.mean_shortfall_mol
    return PolicyRow(
        line=chart.sample(run.name),
        name=NAMES[run.name],
        words=WORDS[run.name],
        kwh=figure(run.kwh),
        cost="–" if run.cost is None else figure(run.cost, 2),
        over="–" if over is None else figure(over, 3),
        at_minimum="–" if share is None else _percent(share),
        shortfall="–" if missed is None else figure(missed, 3),
        starts="–" if run is replay.bound else str(run.starts_max),
    )


def _leaving(replay: Replay) -> str | None:
    names = [NAMES[name].lower() for name in chart.leaving(replay)]
    return f"Out at the top: {listing(names)}." if names else None


def _benches(replay: Replay) -> list[BenchStrip]:
    found = []
    for bench, run in zip(replay.season.benches, replay.policies[0].benches, strict=True):
        kept = run.account_mol[~(run.account_mol != run.account_mol)]
        found.append(
            BenchStrip(
                name=bench.bench.name,
                top=f"up to {short(float(run.dli.max(initial=0.0)))} mol",
                light=chart.bench_light(replay, run),
                account=chart.bench_account(replay, run) if len(kept) else None,
                account_words=f"{short(float(kept.min()))} to {short(float(kept.max()))} mol"
                if len(kept)
                else "",
            )
        )
    return found

"""Days scored and kept: yesterday's on each morning, and again where better knowledge of a day came in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from lightplan.calibrated import site_on
from lightplan.house.kept import kept_house_light
from lightplan.house.transmission import HouseLight
from lightplan.learn.calibration import Calibration
from lightplan.learn.score import DayScore, score_json, score_of
from lightplan.learn.source_fit import learned
from lightplan.observed import Observed, filled_day, observed_day
from lightplan.readings_typed import done_of, temperature_readings
from lightplan.records import History, first_plan, read_history
from lightplan.records_issued import issued_forecasts
from lightplan.records_learned import keep_score, scores
from lightplan.records_readings import readings
from lightplan.site.models import Site, SourceName
from lightplan.weather.bands import SiteErrors
from lightplan.weather.table import Weather
from lightplan.yesterday import score_day

BEST_FIRST = ("logger", "file", "service")


def scores_of(site: Site, before: date | None = None) -> tuple[DayScore, ...]:
    """Kept scores, oldest first; what can't be read is passed over, and what a logger said that is struck
    out by now. Raises RecordsError."""
    found = []
    logged = _logged_days(site)
    for text in scores(site.folder, before=before):
        try:
            score = score_of(text)
        except (LookupError, TypeError, ValueError):  # of another lightplan
            continue
        if score.observed_by != "logger" or score.day in logged:
            found.append(score)
    return tuple(found)


def learned_errors(
    known: tuple[DayScore, ...], calibration: Calibration | None
) -> Mapping[SourceName, SiteErrors]:
    """What scores and the calibration in use say of each service's light."""
    names = {name.value: name for name in (SourceName.OPEN_METEO, SourceName.NWS, SourceName.MET_NORWAY)}
    sources = calibration.sources if calibration is not None else ()
    return {names[source]: errors for source, errors in learned(known, sources, tuple(names)).items()}


def score_yesterday(
    site: Site,
    weather: Weather | None,
    *,
    today: date,
    now: datetime,
    history: History,
    lights: Mapping[str, HouseLight],
) -> DayScore | None:
    """The score of the day before: kept already, or worked out and kept. None where no sheet was made or
    nobody knows what came. Raises RecordsError."""
    day = today - timedelta(days=1)
    plan = first_plan(site.folder, day, now)
    if plan is None:
        return None
    kept = next((s for s in scores_of(site) if s.day == day), None)
    seen = observed_day(site, day, weather)
    if seen is None or (kept is not None and _no_better(seen, kept)):
        return kept
    return _scored(site, day, seen, plan, now, history=history, lights=lights)


def _no_better(found: Observed, kept: DayScore) -> bool:
    return BEST_FIRST.index(found.by) > BEST_FIRST.index(kept.observed_by)


def _scored(
    site: Site,
    day: date,
    seen: Observed,
    plan: Mapping[str, Any],
    now: datetime,
    *,
    history: History,
    lights: Mapping[str, HouseLight],
    keep: bool = True,
) -> DayScore:
    site = site_on(site, day)
    issued = issued_forecasts(site.folder, day, day).get(day)
    rows = readings(site.folder, until=now)
    score = score_day(
        site,
        plan,
        seen,
        table=filled_day(site, day, seen, issued.table if issued else None),
        history=history,
        lights=lights,
        done=done_of(rows, day),
        temperatures=[t for t in temperature_readings(rows, site) if t.day == day],
    )
    if keep:
        keep_score(site.folder, day, score_json(score), now)
    return score


def score_logged_days(site: Site, now: datetime, *, keep: bool = True) -> tuple[DayScore, ...]:
    """Every day with a sheet that a logger in the open knows by now, scored anew. Raises RecordsError."""
    kept = {s.day: s for s in scores_of(site)}
    today = now.astimezone(site.timezone).date()
    days = sorted(day for day in _logged_days(site) if day < today)
    lights: dict[str, HouseLight] = {}
    found = []
    for day in days:
        if day in kept and kept[day].observed_by == "logger":
            continue
        plan = first_plan(site.folder, day, now)
        seen = observed_day(site, day, None) if plan is not None else None
        if plan is None or seen is None:
            continue
        lights = lights or {h.id: kept_house_light(h, site.folder / "cache") for h in site.houses}
        morning_after = datetime.combine(day + timedelta(days=1), time(0), site.timezone)
        history = read_history(site.folder, day + timedelta(days=1), morning_after)
        found.append(_scored(site, day, seen, plan, now, history=history, lights=lights, keep=keep))
    return tuple(found)


def _logged_days(site: Site) -> set[date]:
    found: set[date] = set()
    for row in readings(site.folder):
        if row.kind == "log" and row.detail["quantity"] == "light" and row.house is None:
            first, last = (
                datetime.fromisoformat(row.detail[key]).astimezone(site.timezone).date()
                for key in ("first", "last")
            )
            found |= {first + timedelta(days=n) for n in range((last - first).days + 1)}
    return found


def with_accounts(history: History, score: DayScore | None, today: date) -> History:
    """The light accounts as yesterday really left them, where that is known."""
    if score is None or score.day != today - timedelta(days=1):
        return history
    came = {b.id: b.account for b in score.benches if b.account is not None}
    return replace(history, account={**history.account, **came})

"""Recorded forecasts: which mornings have one as far as they look, and what stands in for the others."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import lightplan.replay.recorded as module
from lightplan.records_issued import IssuedForecast
from lightplan.replay.forecasts import persistence
from lightplan.replay.recorded import recorded
from lightplan.replay.season import Season
from lightplan.weather.table import empty_table
from tests.replay.seasons import season, site_of

DAYS_OFF = "days_off = [" + ", ".join(f"2026-01-{n}" for n in range(15, 19)) + "]"  # Thursday to Sunday
SUN = [9.0, 11.0, 7.0, 10.0, 8.0, 12.0, 9.0, 10.0]  # from Monday, 12 January


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> Season:
    """Whatever the sky, a recorded forecast means 123 µmol at the bench."""
    monkeypatch.setattr(module, "make_sky", lambda site, table, grid: None)
    monkeypatch.setattr(
        module,
        "benches_light",
        lambda site, benches, sky, *, grid, lights: {
            b.id: SimpleNamespace(open=np.full(len(grid), 123.0)) for b in benches
        },
    )
    return season(site_of(site=DAYS_OFF), SUN)


def issued(day: date, days: float, *, lacks: str | None = None) -> IssuedForecast:
    first = pd.Timestamp(day, tz="America/New_York").tz_convert("UTC")
    times = pd.date_range(first, periods=round(days * 24), freq="h")
    table = empty_table(times).assign(ghi_w_m2=100.0, temp_air_c=5.0)
    if lacks:
        table.loc[times[5], lacks] = np.nan
    return IssuedForecast(table=table, low=0.7)


def test_forecasts_that_reach_as_far_as_a_morning_looks_are_used(found: Season) -> None:
    kept = {day: issued(day, 7) for day in found.dates}
    of = recorded(found, kept, {})
    assert of.missing == ()
    ahead = of.forecast(0, 3)
    assert (ahead.sun_ppfd[0] == 123).all()
    assert ahead.low[0] == 0.7
    assert (ahead.low[1:] <= 0.7).all()


def test_those_that_end_too_early_have_holes_or_are_not_kept_are_told(found: Season) -> None:
    """Monday, Tuesday look three days ahead; Wednesday to the Monday after; then four days make no sheet."""
    monday, tuesday, wednesday, *_, next_monday = found.dates
    kept = {
        monday: issued(monday, 3),
        tuesday: issued(tuesday, 2.5),
        wednesday: issued(wednesday, 4),
        next_monday: issued(next_monday, 3, lacks="ghi_w_m2"),
    }
    of = recorded(found, kept, {})
    assert of.missing == (tuesday, wednesday, next_monday)
    stand_in = persistence(found)
    for morning, days in ((1, 3), (2, 6), (7, 3)):
        told, yesterday = of.forecast(morning, days), stand_in(morning, days)
        assert (told.sun_ppfd[0] == yesterday.sun_ppfd[0]).all()
        assert (told.low == yesterday.low).all()
    assert (of.forecast(0, 3).sun_ppfd[0] == 123).all()
    assert recorded(found, {}, {}).missing == (monday, tuesday, wednesday, next_monday)

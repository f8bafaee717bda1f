"""The chain: live, last good, `then`, typical year, clear sky; which hours from where; ages as they are."""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from lightplan.clock import grid_over
from lightplan.site.models import SourceName
from lightplan.weather import met_norway
from lightplan.weather.clear_sky import clear_day_sums
from lightplan.weather.deadline import Patience
from lightplan.weather.doubt import doubted
from lightplan.weather.fetch import weather_for
from lightplan.weather.kept_answers import MOST_KEPT, KeptAnswers
from lightplan.weather.table import Kind, Spread, WeatherError
from tests.places import bare_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving

SHORT = Patience(whole_s=10.0, connect_s=5.0, read_s=5.0, tries=1)
DAY = datetime(2026, 4, 21)
OPEN_METEO, MET = SourceName.OPEN_METEO, SourceName.MET_NORWAY
NOWHERE = "http://127.0.0.1:9"  # the discard port: refused
TYPICAL = "pvlib:723170TYA.CSV"


def place(folder, url=NOWHERE, **keys):
    return bare_site(52.5, 13.4, "Europe/Berlin", source=OPEN_METEO, folder=folder, url=url, **keys)


def weather(site, hours=5.0, *, needed_h=30, sheet_days=0, **how):
    """At `hours` after midnight of DAY; the sheet is for `sheet_days` after it."""
    sheet = DAY + timedelta(days=sheet_days)
    grid = grid_over(sheet.date(), 7, site.timezone)
    now = DAY.replace(tzinfo=site.timezone) + timedelta(hours=hours)
    how.setdefault("patience", SHORT)
    how.setdefault("now", now)
    return weather_for(site, grid, needed_until=grid.moment(int(needed_h * 4)), **how)


def body(site, *, days=9, clearness=0.3, start_days=-1):
    midnight = DAY.replace(tzinfo=site.timezone)
    return bodies.open_meteo(site, midnight + timedelta(days=start_days), days, clearness=clearness)


def learn(folder, *, hours=5.0, **how):
    """One good answer taken and kept."""
    with serving(reply(json.dumps(body(place(folder), **how)))) as server:
        found = weather(place(folder, server.url), hours)
    assert found.source == "open-meteo"
    return found


def clearness(found, site, day=0):
    date = found.spread.dates[day]
    local = found.table.index.tz_convert(site.timezone).date
    step_h = (found.table.index[1] - found.table.index[0]).total_seconds() / 3600
    return found.table["ghi_w_m2"][local == date].sum() * step_h / clear_day_sums(site, (date,))[0]


def test_the_last_good_answer_comes_before_other_services(tmp_path, monkeypatch):
    learn(tmp_path)
    with serving(reply(json.dumps(bodies.met_norway(place(tmp_path), DAY.astimezone())))) as other:
        monkeypatch.setattr(met_norway, "FORECAST", other.url)
        found = weather(place(tmp_path, then=(MET,)), 29, sheet_days=1)
        assert other.asked == []
    assert found.fallback_reason == (
        "open-meteo refuses the connection; its answer of 2026-04-21 05:00, 24 h old, is used"
    )
    assert clearness(found, place(tmp_path)) == pytest.approx(0.3, abs=0.01)
    assert found.issued_at == DAY.replace(tzinfo=place(tmp_path).timezone) + timedelta(hours=5)


def test_hours_that_the_last_answer_no_longer_covers_come_from_the_next_and_are_named(tmp_path):
    learn(tmp_path, days=2)  # to the end of 21 April
    site = place(tmp_path, typical=TYPICAL)
    found = weather(site, 12)
    assert "its answer of 2026-04-21 05:00, 7 h old, is used" in found.fallback_reason
    assert "open-meteo lacks" in found.fallback_reason
    assert "the typical year stands in" in found.fallback_reason
    assert "2026-04-22" in found.fallback_reason
    assert found.table[["ghi_w_m2", "temp_air_c"]].notna().all(axis=None)


def test_every_step_down_to_the_clear_sky(tmp_path):
    assert "a dimmed clear sky stands in" in weather(place(tmp_path)).fallback_reason
    with_year = weather(place(tmp_path, typical=TYPICAL))
    assert (with_year.kind, with_year.source) == (Kind.TYPICAL_YEAR, "typical-year")
    assert "the typical year stands in" in with_year.fallback_reason
    assert with_year.spread.low[0] * clearness(with_year, place(tmp_path)) < 0.5
    assert weather(place(tmp_path, then=(MET,))).fallback_reason.count("refuses the connection") == 1


def test_an_answer_too_old_is_left_alone(tmp_path):
    learn(tmp_path, days=12)
    assert "71 h old, is used" in weather(place(tmp_path), 76, sheet_days=3).fallback_reason
    late = weather(place(tmp_path), 78, sheet_days=3)
    assert late.kind is Kind.CLEAR_SKY


def test_offline_with_a_young_answer_that_covers_the_window_is_no_fallback(tmp_path):
    learn(tmp_path)
    site = place(tmp_path)
    young = weather(site, 12, offline=True)
    assert (young.fallback_reason, young.source) == (None, "open-meteo")
    on_the_edge = weather(site, 29, sheet_days=1, offline=True)
    assert on_the_edge.fallback_reason is None
    old = weather(site, 30, sheet_days=1, offline=True)
    assert "open-meteo was not asked; its answer of 2026-04-21 05:00, 25 h old" in old.fallback_reason
    none = weather(place(tmp_path / "other"), offline=True)
    assert "was not asked" in none.fallback_reason


def test_offline_with_a_young_answer_that_ends_before_the_window_is_one(tmp_path):
    learn(tmp_path, days=2)
    found = weather(place(tmp_path), 12, offline=True, needed_h=48)
    assert "open-meteo lacks 2026-04-22" in found.fallback_reason


def test_nothing_is_asked_offline(tmp_path):
    with serving(reply("{}")) as server:
        weather(place(tmp_path, server.url, then=(MET,)), offline=True)
        assert server.asked == []


def test_an_answer_kept_for_another_place_is_not_used(tmp_path):
    learn(tmp_path)
    moved = bare_site(53.0, 13.4, "Europe/Berlin", source=OPEN_METEO, folder=tmp_path, url=NOWHERE)
    assert weather(moved, 6).kind is Kind.CLEAR_SKY


def test_a_kept_answer_from_after_the_sheets_clock_says_so(tmp_path):
    """A sheet made again for the morning, when only the noon answer was kept."""
    learn(tmp_path, hours=12)
    found = weather(place(tmp_path), 5)
    assert "made after this sheet's clock" in found.fallback_reason
    assert any("no age is given" in note for note in found.notes)
    assert weather(place(tmp_path), 5, offline=True).fallback_reason is not None


def test_a_sheet_made_ahead_tells_the_age_its_answer_will_have(tmp_path):
    """Asked at 05:00 of the 21st for the 23rd, whose sheet counts as made at 00:00."""
    site = place(tmp_path)
    midnight = DAY.replace(tzinfo=site.timezone)
    with serving(reply(json.dumps(body(site)))) as server:
        found = weather(
            place(tmp_path, server.url),
            sheet_days=2,
            now=midnight + timedelta(days=2),
            asked_at=midnight + timedelta(hours=5),
        )
    assert found.issued_at == midnight + timedelta(hours=5)
    assert found.fallback_reason is None
    near = weather(place(tmp_path), 6)
    assert found.spread.low[0] < near.spread.low[0] or near.fallback_reason is not None


@pytest.mark.parametrize(
    "content",
    [b"", b"rubbish", gzip.compress(b"[1]"), gzip.compress(b'{"place": 3}'), gzip.compress(b"{}")[:-6],
     gzip.compress(json.dumps({"place": [52.5, 13.4], "asked_at": "x", "raw": {}}).encode()),
     gzip.compress(b"x" * 500)[:60] + b"\xff" * 30],
    ids=["empty", "rubbish", "list", "no-answer", "cut", "wrong-clock", "spoilt"],  # gzip writes the time
)  # fmt: skip
def test_a_broken_kept_answer_is_passed_over_and_said(tmp_path, content):
    learn(tmp_path)
    folder = tmp_path / "cache" / "weather"
    (good,) = folder.iterdir()
    newer = folder / "open-meteo-20260421T040000Z.json.gz"
    newer.write_bytes(content)
    found = weather(place(tmp_path), 8)
    assert "its answer of 2026-04-21 05:00, 3 h old" in found.fallback_reason
    assert any(newer.name in note for note in found.notes)
    assert good.exists() and newer.exists()


def test_answers_are_kept_for_some_weeks_and_no_longer(tmp_path):
    site = place(tmp_path)
    kept = KeptAnswers(site)
    first = DAY.replace(tzinfo=site.timezone)
    for number in range(MOST_KEPT + 5):
        kept.keep(OPEN_METEO, first + timedelta(hours=number), {"n": number})
    files = list((tmp_path / "cache" / "weather").iterdir())
    assert len(files) == MOST_KEPT
    asked_at, raw = next(kept.newest(OPEN_METEO, first + timedelta(days=30)))
    assert (asked_at, raw) == (first + timedelta(hours=MOST_KEPT + 4), {"n": MOST_KEPT + 4})
    before = next(kept.newest(OPEN_METEO, first + timedelta(hours=20)))
    assert before[1] == {"n": 20}


def test_a_typical_year_that_only_stands_by_costs_no_sheet_when_it_is_broken(tmp_path):
    (tmp_path / "typical-year.csv").write_text("time,ghi_w_m2\nrubbish\n", encoding="utf-8")
    found = weather(place(tmp_path))
    assert found.kind is Kind.CLEAR_SKY
    assert any("typical-year.csv" in note for note in found.notes)
    named = weather(place(tmp_path, typical="gone.epw"))
    assert any('"gone.epw" is not there' in note for note in named.notes)
    site = bare_site(52.5, 13.4, source=SourceName.TYPICAL_YEAR, folder=tmp_path, file="gone.epw")
    with pytest.raises(WeatherError):
        weather(site)


def test_a_stand_in_is_never_sunny_at_its_low_end(tmp_path):
    """A forecast of full sun, a day old: the middle is kept, the low end is not."""
    learn(tmp_path, clearness=1.0)
    site = place(tmp_path)
    fresh, old = weather(site, 12, offline=True), weather(site, 29, sheet_days=1)
    assert fresh.spread.low[0] * clearness(fresh, site) > 0.5
    assert clearness(old, site) == pytest.approx(1.0, abs=0.02)
    assert (old.spread.low * [clearness(old, site, n) for n in range(7)] < 0.5).all()
    assert np.quantile(old.spread.sample[:, 0], 0.1) == pytest.approx(old.spread.low[0], abs=0.02)


def test_doubt_leaves_what_is_dull_already(tmp_path):
    found = learn(tmp_path, clearness=0.2)
    site = place(tmp_path)
    again = doubted(found, site)
    assert again.spread.low == pytest.approx(found.spread.low)
    assert again.spread.sample == pytest.approx(found.spread.sample)
    flat = Spread(found.spread.dates, np.ones(7), np.ones(7), np.ones((3, 7)))
    bright = replace(found, table=found.table.assign(ghi_w_m2=found.table["ghi_w_m2"] * 5), spread=flat)
    assert (doubted(bright, site).spread.low < 0.5).all()


def test_gaps_of_two_hours_are_named_by_the_clock_on_the_wall(tmp_path):
    site = place(tmp_path)
    sent = body(site)
    for name in ("shortwave_radiation", "diffuse_radiation", "temperature_2m"):
        for hour in (24 + 10, 24 + 11):  # means that end at these stamps of the day: 09:00 to 11:00 local
            sent["hourly"][name][hour] = None
    with serving(reply(json.dumps(sent))) as server:
        found = weather(place(tmp_path, server.url, typical=TYPICAL))
    assert "open-meteo lacks 2026-04-21 09:00 to 11:00; the typical year stands in" in found.fallback_reason


def test_a_live_forecast_comes_with_what_is_usual_where_a_typical_year_is_at_hand(tmp_path):
    """The clearness of the days about the date in the typical year, not of the forecast."""
    sent = body(place(tmp_path), clearness=0.05)
    with serving(reply(json.dumps(sent))) as server:
        live = weather(place(tmp_path, server.url, typical=TYPICAL))
    with serving(reply(json.dumps(sent))) as server:
        without = weather(place(tmp_path / "other", server.url))
    of_year = weather(
        bare_site(52.5, 13.4, "Europe/Berlin", source=SourceName.TYPICAL_YEAR, folder=tmp_path, file=TYPICAL)
    )
    assert live.source == without.source == "open-meteo"
    assert without.usual_clearness == ()
    assert len(live.usual_clearness) == 30
    assert live.usual_clearness == of_year.usual_clearness
    assert min(live.usual_clearness) > 0.05

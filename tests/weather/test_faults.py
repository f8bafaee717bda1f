"""Whatever the service does, weather comes in time, says what stands in, and never guesses a sunny day."""

from __future__ import annotations

import json
import socket
import ssl
import time
from datetime import datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
import trustme

from lightplan.clock import grid_over
from lightplan.site.models import Site, SourceName
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.deadline import Patience
from lightplan.weather.fetch import weather_for
from lightplan.weather.table import Weather, check_table
from tests.places import bare_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving
from tests.weather.faults import CLOCK_CHANGES, FAULTS, changed, wall_clock

SHORT = Patience(whole_s=2.0, connect_s=0.5, read_s=0.7, tries=2, pauses_s=(0.02,))
LATEST_S = 20.0  # a busy machine takes its time; the slow faults would take for ever
PATIENT = Patience(whole_s=18.0, connect_s=5.0, read_s=5.0, tries=2, pauses_s=(0.02,))
DAY = datetime(2026, 4, 21)


def site_at(url: str, folder: Path, zone: str = "Europe/Berlin") -> Site:
    return bare_site(52.5, 13.4, zone, source=SourceName.OPEN_METEO, folder=folder, url=url)


def midnight(site: Site, day: datetime = DAY) -> datetime:
    return day.replace(tzinfo=site.timezone)


def fetched(site: Site, *, day: datetime = DAY, clock_h: float = 5, **how: object) -> Weather:
    grid = grid_over(day.date(), 7, site.timezone)
    now = midnight(site, day) + timedelta(hours=clock_h)
    how.setdefault("patience", SHORT)
    return weather_for(site, grid, needed_until=midnight(site, day) + timedelta(hours=30), now=now, **how)  # type: ignore[arg-type]


def today(found: Weather, site: Site) -> tuple[float, float]:
    """Light of the first day and of its low end, as shares of the clear sky."""
    index = pd.DatetimeIndex(found.table.index)
    step = index[1] - index[0]
    own = found.table["ghi_w_m2"][index < index[0] + pd.Timedelta(days=1)]
    clear = clear_sky_ghi(site, pd.DatetimeIndex(own.index), step).sum()
    return float(own.sum() / clear), float(own.sum() / clear * found.spread.low[0])


def held_to_the_promise(found: Weather, site: Site, started: float) -> None:
    assert time.monotonic() - started < LATEST_S
    check_table(found.table)
    assert found.table[["ghi_w_m2", "temp_air_c"]].notna().all(axis=None)
    assert today(found, site)[1] < 0.5
    assert len(found.spread.low) == len(found.spread.high) == found.spread.sample.shape[1] == 7


@pytest.mark.parametrize("name", FAULTS)
def test_fault(name, tmp_path):
    fault = FAULTS[name]
    site = site_at("http://127.0.0.1", tmp_path)
    body = bodies.open_meteo(site, midnight(site) - timedelta(days=1))
    started = time.monotonic()
    with serving(fault.answer(body)) as server:
        site = site_at(server.url, tmp_path)
        found = fetched(site, patience=SHORT if fault.said == "took too long" else PATIENT)
    held_to_the_promise(found, site, started)
    assert (found.source == "open-meteo") is fault.used
    if fault.said is None:
        assert found.fallback_reason is None
    else:
        assert found.fallback_reason is not None
        assert fault.said in found.fallback_reason
        assert "stands in" in found.fallback_reason


@pytest.mark.parametrize("name", CLOCK_CHANGES)
def test_wall_clock_stamps_on_clock_change_days(name, tmp_path):
    zone, day_text, said = CLOCK_CHANGES[name]
    day = datetime.fromisoformat(day_text)
    site = site_at("http://127.0.0.1", tmp_path)
    body = bodies.open_meteo(site, midnight(site, day) - timedelta(days=1))
    started = time.monotonic()
    with serving(reply(changed(body, wall_clock(zone)))) as server:
        site = site_at(server.url, tmp_path)
        found = fetched(site, day=day)
    held_to_the_promise(found, site, started)
    assert said in (found.fallback_reason or "")


@pytest.mark.parametrize("day", [datetime(2026, 3, 29), datetime(2026, 10, 25)])
def test_local_stamps_of_one_offset_are_read_right_on_clock_change_days(day, tmp_path):
    """The service's own way: one offset through the answer, the one of the day of asking."""
    site = site_at("http://127.0.0.1", tmp_path)
    first = midnight(site, day) - timedelta(days=1)
    for offset_s in (0, 3600, 7200, 19800):
        folder = tmp_path / str(offset_s)
        body = bodies.open_meteo(site, first, offset_s=offset_s)
        with serving(reply(json.dumps(body))) as server:
            found = fetched(site_at(server.url, folder), day=day, patience=PATIENT)
        assert found.fallback_reason is None
        index = pd.DatetimeIndex(found.table.index)
        clear = clear_sky_ghi(site, index, index[1] - index[0])
        closeness = 0.02 if offset_s % 3600 == 0 else 0.08  # half hours are brought to whole ones
        assert (found.table["ghi_w_m2"] - 0.2 * clear).abs().max() < closeness * clear.max()


def test_refused(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    started = time.monotonic()
    site = site_at(f"http://127.0.0.1:{port}", tmp_path)
    found = fetched(site)
    held_to_the_promise(found, site, started)
    assert "refuses the connection" in (found.fallback_reason or "")


def test_no_such_name(tmp_path, monkeypatch):
    def no_name(*args: object, **more: object) -> None:
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", no_name)
    started = time.monotonic()
    site = site_at("http://weather.invalid", tmp_path)
    found = fetched(site)
    held_to_the_promise(found, site, started)
    assert "not found by name" in (found.fallback_reason or "")


def test_a_look_up_that_hangs(tmp_path, monkeypatch):
    monkeypatch.setattr(socket, "getaddrinfo", lambda *a, **k: time.sleep(20))
    started = time.monotonic()
    site = site_at("http://weather.invalid", tmp_path)
    found = fetched(site)
    held_to_the_promise(found, site, started)
    assert "took too long" in (found.fallback_reason or "")


def test_no_tls_where_tls_was_wanted(tmp_path):
    started = time.monotonic()
    with serving(reply("{}")) as server:
        site = site_at(server.url.replace("http:", "https:"), tmp_path)
        found = fetched(site)
    held_to_the_promise(found, site, started)
    assert "no secure connection" in (found.fallback_reason or "")


@pytest.mark.parametrize("trusted", [True, False])
def test_certificate_of_another_name_or_of_nobody_known(trusted, tmp_path, monkeypatch):
    authority = trustme.CA()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert("weather.example").configure_cert(context)
    bundle = tmp_path / "authority.pem"
    (authority if trusted else trustme.CA()).cert_pem.write_to_path(str(bundle))
    monkeypatch.setenv("REQUESTS_CA_BUNDLE", str(bundle))
    started = time.monotonic()
    with serving(reply("{}"), tls=context) as server:
        site = site_at(server.url, tmp_path)
        found = fetched(site)
    held_to_the_promise(found, site, started)
    assert "certificate that can't be trusted" in (found.fallback_reason or "")


def test_a_good_answer_is_used_whole(tmp_path):
    """The same tests would pass on a program that never reads an answer: this one would not."""
    site = site_at("http://127.0.0.1", tmp_path)
    body = bodies.open_meteo(site, midnight(site) - timedelta(days=1), clearness=0.3)
    with serving(reply(json.dumps(body))) as server:
        found = fetched(site_at(server.url, tmp_path), patience=PATIENT)
    assert found.fallback_reason is None
    assert found.source == "open-meteo"
    assert today(found, site)[0] == pytest.approx(0.3, abs=0.01)

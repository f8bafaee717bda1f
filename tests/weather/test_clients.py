"""Each service asked in its own way on loopback: addresses, keys, contact, cache headers, stale answers."""

from __future__ import annotations

import json
import socket
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from lightplan.clock import grid_over
from lightplan.site.models import SourceName
from lightplan.weather import http, met_norway, nws, open_meteo, services
from lightplan.weather.bounded import BoundedAdapter
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.deadline import LEAST_S, USUAL_PATIENCE, Deadline, Patience, patience_left
from lightplan.weather.fetch import weather_for
from lightplan.weather.http import Client
from lightplan.weather.table import Kind, SourceFault
from tests.places import bare_site
from tests.weather import bodies
from tests.weather.fault_server import by_path, reply, serving

SHORT = Patience(whole_s=10.0, connect_s=5.0, read_s=5.0, tries=2, pauses_s=(0.02,))
DAY = datetime(2026, 4, 21)
OPEN_METEO, NWS, MET = SourceName.OPEN_METEO, SourceName.NWS, SourceName.MET_NORWAY


def place(folder, source=OPEN_METEO, url=None, **keys):
    latitude, longitude, zone = (
        (40.0, -90.0, "America/Chicago") if source is NWS else (52.5, 13.4, "Europe/Berlin")
    )
    return bare_site(latitude, longitude, zone, source=source, folder=folder, url=url, **keys)


def at(site, hour=5.0, day=DAY):
    return day.replace(tzinfo=site.timezone) + timedelta(hours=hour)


def weather(site, hour=5.0, *, day=DAY, sheet=None, **how):
    grid = grid_over((sheet or day).date(), 7, site.timezone)
    how.setdefault("patience", SHORT)
    now = at(site, hour, day)
    return weather_for(site, grid, needed_until=grid.moment(30 * 4), now=now, **how)


def query(server, number=0):
    return parse_qs(urlsplit(server.asked[number].split(" ")[1]).query)


def header(request, name):
    lines = [line for line in request.split("\r\n") if line.lower().startswith(f"{name.lower()}:")]
    return lines[0].split(":", 1)[1].strip() if lines else None


def om_body(site, **how):
    return bodies.open_meteo(site, at(site, 0) - timedelta(days=1), **how)


def test_open_meteo_is_asked_for_yesterday_too_in_utc_and_with_the_ensemble_only_where_one_is_given(tmp_path):
    body = json.dumps(om_body(place(tmp_path)))
    with serving(reply(body)) as server:
        found = weather(place(tmp_path, url=server.url))
        asked = query(server)
        assert len(server.asked) == 1
        assert server.asked[0].startswith("GET /v1/forecast?")
    assert asked["timezone"] == ["GMT"]
    assert asked["start_date"] == ["2026-04-19"]  # the sheet's midnight is 22:00 UTC of the 20th
    assert "minutely_15" in asked  # Berlin has quarter hours of its own
    assert found.before is not None
    assert header(server.asked[0], "User-Agent").startswith("lightplan/")
    assert "grower@example.org" in header(server.asked[0], "User-Agent")


def test_the_key_goes_to_the_paid_host_and_is_stored_nowhere(tmp_path, monkeypatch):
    monkeypatch.setenv("GREENHOUSE_KEY", "s3cret-value")
    body = json.dumps(om_body(place(tmp_path)))
    with serving(reply(body, Cache_Control="max-age=600")) as server:
        monkeypatch.setattr(open_meteo, "FORECAST", server.url + "/{}v1/forecast")
        monkeypatch.setattr(open_meteo, "ENSEMBLE", server.url + "/{}v1/ensemble")
        found = weather(place(tmp_path, api_key_env="GREENHOUSE_KEY"))
    assert found.fallback_reason is None
    assert all("/customer-" in head and "apikey=s3cret-value" in head for head in server.asked)
    files = [p for p in tmp_path.rglob("*") if p.is_file()]
    assert len(files) >= 2
    assert not [p for p in files if b"s3cret-value" in p.read_bytes()]


def test_a_key_that_is_not_set_is_named(tmp_path, monkeypatch):
    monkeypatch.delenv("GREENHOUSE_KEY", raising=False)
    found = weather(place(tmp_path, url="http://127.0.0.1:9", api_key_env="GREENHOUSE_KEY"))
    assert "GREENHOUSE_KEY is not set" in found.fallback_reason


def test_the_ensemble_makes_the_band_and_a_failing_one_costs_only_that(tmp_path):
    site = place(tmp_path)
    good, members = om_body(site, clearness=0.3), om_body(site, clearness=0.3)
    own = members["hourly"]["shortwave_radiation"]
    for number, factor in enumerate((0.5, 0.7, 0.9, 1.1, 1.3, 1.5), start=1):
        members["hourly"][f"shortwave_radiation_member{number:02d}"] = [round(v * factor, 1) for v in own]
    answers = {"/v1/forecast": reply(json.dumps(good)), "/v1/ensemble": reply(json.dumps(members))}
    with serving(by_path(answers)) as server:
        site = place(tmp_path, url=server.url, ensemble_url=server.url)
        with_members = weather(site)
    assert with_members.spread.low[0] == pytest.approx(0.55, abs=0.1)
    assert with_members.spread.high[0] == pytest.approx(1.45, abs=0.1)
    answers["/v1/ensemble"] = reply("{}", "500 Internal Server Error")
    with serving(by_path(answers)) as server:
        without = weather(place(tmp_path / "other", url=server.url, ensemble_url=server.url))
    assert without.fallback_reason is None
    assert any("ensemble has a fault of its own" in note for note in without.notes)


def test_an_unknown_model_name_is_followed_by_the_older_one(tmp_path):
    body = json.dumps(om_body(place(tmp_path)))
    refused = reply('{"error":true,"reason":"unknown model"}', "400 Bad Request")
    answers = {
        "icon_seamless_eps": refused,
        "models=icon_seamless&": reply(body),
        "/v1/forecast": reply(body),
    }
    with serving(by_path(answers)) as server:
        found = weather(place(tmp_path, url=server.url, ensemble_url=server.url))
    assert found.fallback_reason is None
    assert sum("icon_seamless" in head for head in server.asked) == 2


def nws_answers(site, first, **how):
    grid = json.dumps(bodies.nws_grid(site, first, **how))
    point = reply(json.dumps(bodies.nws_point(site)), Cache_Control="max-age=86400")
    return {"/points/": point, "/gridpoints/": reply(grid)}


def test_nws_asks_for_the_cell_once_and_for_its_grid_each_time(tmp_path):
    site = place(tmp_path, NWS)
    with serving(by_path(nws_answers(site, at(site, 0) - timedelta(hours=6)))) as server:
        site = place(tmp_path, NWS, server.url)
        first, second = weather(site), weather(site, 6.0)
    lines = [head.split(" ")[1] for head in server.asked]
    assert lines == ["/points/40,-90", "/gridpoints/TST/4,7", "/gridpoints/TST/4,7"]
    assert first.fallback_reason is second.fallback_reason is None
    assert first.kind is Kind.FORECAST
    assert first.spread.low[0] < 0.6  # cloud alone: a wide band
    assert any("cloud, not light" in note for note in first.notes)


def test_nws_without_a_contact_is_not_asked(tmp_path):
    for source in (NWS, MET):
        found = weather(place(tmp_path, source, contact=None))
        assert "set contact in [weather]" in found.fallback_reason


def test_nws_whose_cell_has_moved_is_looked_up_again(tmp_path):
    site = place(tmp_path, NWS)
    point = bodies.nws_point(site)
    moved = json.loads(json.dumps(point).replace("TST/4,7", "TST/5,7").replace('"gridX": 4', '"gridX": 5'))
    grid = bodies.nws_grid(site, at(site, 0) - timedelta(hours=6))
    grid["properties"]["gridX"] = "5"
    looks = []

    def points(connection, request):
        looks.append(request)
        body = json.dumps(point if len(looks) == 1 else moved)
        reply(body, Cache_Control="max-age=86400", Last_Modified="Tue, 21 Apr 2026 00:00:00 GMT")(
            connection, request
        )

    answers = {
        "/points/": points,
        "TST/4,7": reply("{}", "404 Not Found"),
        "TST/5,7": reply(json.dumps(grid)),
    }
    with serving(by_path(answers)) as server:
        found = weather(place(tmp_path, NWS, server.url))
    assert found.fallback_reason is None
    assert len(looks) == 2


@pytest.mark.parametrize(
    ("old_h", "said"), [(6, None), (20, "a forecast that is 25 h old"), (90, "95 h old")]
)
def test_a_stale_grid_with_status_200(tmp_path, old_h, said):
    """At 05:00 a grid made `old_h` hours before midnight; sunny all through, and yet no sunny guess."""
    site = place(tmp_path, NWS)
    answers = nws_answers(site, at(site, 0) - timedelta(hours=old_h), cover=0.0)
    with serving(by_path(answers)) as server:
        site = place(tmp_path, NWS, server.url)
        found = weather(site)
    if said is None:
        assert found.fallback_reason is None
        return
    assert said in found.fallback_reason
    assert (found.source == "nws") is (old_h < 72)
    step_h = (found.table.index[1] - found.table.index[0]).total_seconds() / 3600
    day = found.table[found.table.index < found.table.index[0] + timedelta(days=1)]
    clear = clear_sky_ghi(site, day.index, day.index[1] - day.index[0]).sum() * step_h
    assert day["ghi_w_m2"].sum() * step_h * found.spread.low[0] < 0.5 * clear


def met_body(site, hour=0.0, **how):
    return json.dumps(bodies.met_norway(site, at(site, hour), **how))


def test_met_norway_gets_four_decimals_and_its_expires_is_obeyed(tmp_path):
    site = bare_site(52.512345, 13.49876, "Europe/Berlin", source=MET, folder=tmp_path)
    soon = f"{datetime.now(UTC) + timedelta(minutes=30):%a, %d %b %Y %H:%M:%S GMT}"
    with serving(reply(met_body(site, -1), Expires=soon)) as server:
        site = replace(site, weather=replace(site.weather, url=server.url))
        first, second = weather(site), weather(site, 6.0)
    assert len(server.asked) == 1
    assert query(server) == {"lat": ["52.5123"], "lon": ["13.4988"]}
    assert first.fallback_reason is second.fallback_reason is None


def test_met_norway_is_asked_again_with_its_own_stamp_and_304_takes_the_stored_answer(tmp_path):
    site, stamp = place(tmp_path, MET), "Tue, 21 Apr 2026 02:13:57 GMT"
    past = f"{datetime.now(UTC) - timedelta(minutes=1):%a, %d %b %Y %H:%M:%S GMT}"
    full = reply(met_body(site, -1), Expires=past, Last_Modified=stamp)

    def answer(connection, request):
        if header(request, "If-Modified-Since") == stamp:
            connection.sendall(b"HTTP/1.1 304 Not Modified\r\nConnection: close\r\n\r\n")
        else:
            full(connection, request)

    with serving(answer) as server:
        site = place(tmp_path, MET, server.url)
        first, second = weather(site), weather(site, 6.0)
    assert [header(head, "If-Modified-Since") for head in server.asked] == [None, stamp]
    assert first.fallback_reason is second.fallback_reason is None
    assert second.issued_at == first.issued_at
    assert second.table["ghi_w_m2"].sum() == pytest.approx(first.table["ghi_w_m2"].sum(), rel=0.02)


def test_an_answer_stored_long_ago_is_never_taken_as_fresh(tmp_path, monkeypatch):
    """A server that says `max-age` a year: after FRESH the store asks again all the same."""
    body = json.dumps(om_body(place(tmp_path)))
    with serving(reply(body, Cache_Control="max-age=31536000, immutable")) as server:
        site = place(tmp_path, url=server.url)
        weather(site)
        weather(site, 6.0)
        assert len(server.asked) == 1
        monkeypatch.setattr(Client.get_json, "__kwdefaults__", {"fresh": timedelta(0)})
        weather(site, 7.0)
    assert len(server.asked) == 2


def test_an_error_is_never_answered_from_the_store(tmp_path):
    site = place(tmp_path)
    answers = [reply(json.dumps(om_body(site)), Cache_Control="max-age=0, stale-if-error=86400")]
    answers += [reply("{}", "400 Bad Request")] * 9

    def answer(connection, request):
        answers.pop(0)(connection, request)

    with serving(answer) as server:
        site = place(tmp_path, url=server.url)
        weather(site)
        found = weather(site, 6.0)
    assert "HTTP 400" in found.fallback_reason
    assert "its answer of 2026-04-21 05:00, 1 h old, is used" in found.fallback_reason


@pytest.mark.parametrize("status", ["429 Too Many Requests", "503 Service Unavailable"])
def test_retry_after_is_honoured_in_seconds_and_as_a_date(tmp_path, status):
    body = json.dumps(om_body(place(tmp_path)))
    for name, after in (
        ("s", {"Retry_After": "1"}),
        ("d", {"Retry_After": "Tue, 21 Apr 2026 05:00:01 GMT", "Date": "Tue, 21 Apr 2026 05:00:00 GMT"}),
    ):
        answers = [reply("{}", status, **after), reply(body)]
        with serving(lambda c, r, answers=answers: answers.pop(0)(c, r)) as server:
            started = time.monotonic()
            found = weather(place(tmp_path / name, url=server.url))
            waited = time.monotonic() - started
        assert found.fallback_reason is None
        assert len(server.asked) == 2
        assert waited >= 1.0


def test_a_retry_after_beyond_the_time_is_not_waited_for(tmp_path):
    with serving(reply("{}", "503 Service Unavailable", Retry_After="3600")) as server:
        started = time.monotonic()
        weather(place(tmp_path, url=server.url))
        assert time.monotonic() - started < 9.0
        assert len(server.asked) == 1


def test_refusals_are_not_repeated_and_faults_are(tmp_path):
    for status, times in (("404 Not Found", 1), ("429 Too Many Requests", 1), ("502 Bad Gateway", 2)):
        with serving(reply("{}", status)) as server:
            weather(place(tmp_path, url=server.url))
        assert len(server.asked) == times, status


def test_services_share_the_time_so_that_a_slow_one_leaves_some_to_the_next(tmp_path, monkeypatch):
    site = place(tmp_path, MET)
    body = met_body(site, -1)
    with serving(lambda c, r: time.sleep(12)) as slow, serving(reply(body)) as good:
        monkeypatch.setattr(met_norway, "FORECAST", f"{good.url}/weatherapi/complete")
        site = place(tmp_path, url=slow.url, then=(MET,))
        patience = Patience(whole_s=4.0, connect_s=2.0, read_s=9.0, tries=3, pauses_s=(0.02,))
        found = weather(site, patience=patience)
    assert found.source == "met-norway"
    assert "open-meteo took too long; met-norway stands in" in found.fallback_reason


def test_a_slow_drip_ends_with_the_deadline_even_in_one_call(tmp_path):
    def drip(connection, request):
        connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 1000\r\n\r\n")
        for _ in range(100):
            connection.sendall(b" ")
            time.sleep(0.05)

    deadline = Deadline(0.6)
    client = Client(tmp_path, contact=None, patience=SHORT, deadline=deadline)
    started = time.monotonic()
    with serving(drip) as server, pytest.raises(SourceFault, match="took too long"):
        client.get_json(server.url)
    assert time.monotonic() - started < 4.0  # the drip itself takes five


def test_no_cache_folder_is_said_and_done_without(tmp_path):
    (tmp_path / "cache").write_text("a file where the folder should be")
    body = json.dumps(om_body(place(tmp_path)))
    with serving(reply(body)) as server:
        found = weather(place(tmp_path, url=server.url))
    assert found.source == "open-meteo"
    assert any("store of services' answers can't be used" in note for note in found.notes)
    assert any("can't be kept for another day" in note for note in found.notes)


def test_a_broken_store_is_said_and_begun_anew(tmp_path):
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache" / http.CACHE_NAME).write_bytes(b"rubbish" * 4000)
    body = json.dumps(om_body(place(tmp_path)))
    with serving(reply(body, Cache_Control="max-age=600")) as server:
        site = place(tmp_path, url=server.url)
        found, again = weather(site), weather(site, 6.0)
        assert len(server.asked) == 1
    assert any("was broken" in note for note in found.notes)
    assert not any("store" in note for note in again.notes)


def test_the_adapter_is_the_one_that_bounds(tmp_path):
    client = Client(tmp_path, contact=None, patience=SHORT, deadline=Deadline(1.0))
    assert isinstance(client._cached.get_adapter("https://x.example"), BoundedAdapter)


def test_a_fault_of_ours_in_reading_costs_no_sheet(tmp_path, monkeypatch):
    def broken(*args):
        raise ZeroDivisionError("boom")

    monkeypatch.setitem(services.SERVICES, OPEN_METEO, replace(open_meteo.SERVICE, read=broken))
    with serving(reply(json.dumps(om_body(place(tmp_path))))) as server:
        found = weather(place(tmp_path, url=server.url))
    assert "by a fault of lightplan" in found.fallback_reason
    assert found.kind is Kind.CLEAR_SKY


def test_a_port_nobody_listens_on(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    found = weather(place(tmp_path, url=f"http://127.0.0.1:{port}"))
    assert "refuses the connection" in found.fallback_reason
    assert nws.SERVICE.stale_h == 12.0


def test_a_slow_machine_waits_less_so_that_the_sheet_is_in_time():
    """Loading and what is still to do in proportion to it, and the wait, end within 60 s."""
    assert patience_left(3.0, 3.0) == USUAL_PATIENCE
    assert patience_left(3.0, 13.0) == USUAL_PATIENCE  # ten of them spent on another run's lock
    for loading_s in (5.0, 10.0, 15.0, 20.0):
        whole_s = patience_left(loading_s, loading_s).whole_s
        assert loading_s + whole_s + 1.5 * loading_s <= 60
    assert patience_left(30.0, 30.0).whole_s == LEAST_S


def test_a_login_page_with_a_long_life_is_not_served_again(tmp_path):
    site = place(tmp_path)
    answers = [
        reply("<html>login</html>", Cache_Control="max-age=86400"),
        reply(json.dumps(om_body(site)), Cache_Control="max-age=600"),
    ]
    with serving(lambda c, r: answers.pop(0)(c, r)) as server:
        site = place(tmp_path, url=server.url)
        assert "login page" in weather(site).fallback_reason
        assert weather(site, 6.0).fallback_reason is None


def test_a_key_that_a_refusal_quotes_is_not_told_on(tmp_path, monkeypatch):
    monkeypatch.setenv("GREENHOUSE_KEY", "s3cret-value")
    said = json.dumps({"reason": "The key s3cret-value is invalid"})
    with serving(reply(said, "401 Unauthorized")) as server:
        found = weather(place(tmp_path, url=server.url, api_key_env="GREENHOUSE_KEY"))
    assert "The key (key) is invalid" in found.fallback_reason


def test_one_row_of_another_century_is_not_believed(tmp_path):
    body = om_body(place(tmp_path))
    for name, values in body["hourly"].items():
        values.append("2250-01-01T00:00" if name == "time" and isinstance(values[0], str) else values[-1])
    if not isinstance(body["hourly"]["time"][0], str):
        body["hourly"]["time"][-1] = 8_835_955_200
    with serving(reply(json.dumps(body))) as server:
        found = weather(place(tmp_path, url=server.url))
    assert "years apart" in found.fallback_reason


@pytest.mark.parametrize("bad", [-0.4, 1600.0])
def test_one_bad_quarter_hour_costs_its_hour_and_no_sheet(tmp_path, bad):
    site = place(tmp_path)
    body = om_body(site)
    hourly = body["hourly"]
    times = hourly["time"]
    step = 900
    if isinstance(times[0], str):
        start = datetime.fromisoformat(times[0])
        fine = [
            (start + timedelta(seconds=step * n)).isoformat(timespec="minutes") for n in range(4 * len(times))
        ]
    else:
        fine = [times[0] + step * n for n in range(4 * len(times))]
    light = [v for v in hourly["shortwave_radiation"] for _ in range(4)]
    dim = [0.3 * (v or 0.0) for v in light]
    dim[4 * 36 + 1] = bad
    body["minutely_15"] = {"time": fine, "shortwave_radiation": light, "diffuse_radiation": dim}
    with serving(reply(json.dumps(body))) as server:
        found = weather(place(tmp_path, url=server.url))
    assert found.source == "open-meteo"
    assert not (found.table["dhi_w_m2"] < 0).any()
    assert not (found.table["dhi_w_m2"] > 1500).any()


def test_a_key_that_a_redirect_repeats_lies_nowhere_in_the_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("GREENHOUSE_KEY", "s3cret-value")
    body = reply(json.dumps(om_body(place(tmp_path))), Cache_Control="max-age=600")
    with serving(body) as there:
        moved = reply("", "301 Moved", Location=f"{there.url}/v1/forecast?apikey=s3cret-value")
        with serving(moved) as server:
            found = weather(place(tmp_path, url=server.url, api_key_env="GREENHOUSE_KEY"))
    assert found.fallback_reason is None
    held = [path for path in tmp_path.rglob("*") if path.is_file() and b"s3cret-value" in path.read_bytes()]
    assert held == []


def test_a_contact_in_another_script_still_asks(tmp_path):
    with serving(reply(json.dumps(om_body(place(tmp_path))))) as server:
        found = weather(place(tmp_path, url=server.url, contact="Grządka\nŻabka grower@example.org"))
    assert found.fallback_reason is None
    assert "Zabka grower@example.org)" in header(server.asked[0], "User-Agent")

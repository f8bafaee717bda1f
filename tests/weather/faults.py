"""Every fault of a weather service that a sheet must outlive, as an answer of the fault server.

Shared by the tests (short patience) and by `tests/bench/fault_table.py` (the real command and patience).
"""

from __future__ import annotations

import copy
import gzip
import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from tests.weather.fault_server import Answer, dripping, endless, reply, reset_in_the_middle

Body = dict[str, Any]


def changed(body: Body, change: Callable[[Body], object]) -> str:
    """The body after a change of its `hourly` block, as JSON text (nan as NaN, as some services write it)."""
    other = copy.deepcopy(body)
    change(other)
    return json.dumps(other)


def _set(name: str, values: Callable[[list[Any]], list[Any]]) -> Callable[[Body], None]:
    def change(body: Body) -> None:
        body["hourly"][name] = values(body["hourly"][name])

    return change


def _light_and_temperature(change: Callable[[list[Any]], list[Any]]) -> Callable[[Body], None]:
    def both(body: Body) -> None:
        for name in ("shortwave_radiation", "diffuse_radiation", "temperature_2m"):
            body["hourly"][name] = change(body["hourly"][name])

    return both


def _without_hours(drop: Callable[[int], bool]) -> Callable[[Body], None]:
    def change(body: Body) -> None:
        body["hourly"] = {k: [v for n, v in enumerate(vs) if not drop(n)] for k, vs in body["hourly"].items()}

    return change


def wall_clock(zone: str) -> Callable[[Body], None]:
    """Stamps as clocks on the wall show them, an hour twice or left out; the offset stays the first."""

    def change(body: Body) -> None:
        utc = pd.DatetimeIndex(body["hourly"]["time"]).tz_localize("UTC")
        local = utc.tz_convert(zone)
        body["hourly"]["time"] = [f"{t:%Y-%m-%dT%H:%M}" for t in local]
        body["utc_offset_seconds"] = int(local[0].utcoffset().total_seconds())
        body["timezone"] = zone

    return change


def _shifted(hours: int) -> Callable[[Body], None]:
    """An answer whose stamps are hours off although it says GMT, without its own sun beside it."""

    def change(body: Body) -> None:
        times = pd.DatetimeIndex(body["hourly"]["time"]) + pd.Timedelta(hours=hours)
        body["hourly"]["time"] = [f"{t:%Y-%m-%dT%H:%M}" for t in times]
        del body["hourly"]["terrestrial_radiation"]

    return change


def _units(name: str, unit: str, factor: float) -> Callable[[Body], None]:
    def change(body: Body) -> None:
        body["hourly_units"][name] = unit
        body["hourly"][name] = [v * factor for v in body["hourly"][name]]

    return change


def _unlabelled(name: str, change: Callable[[float], float]) -> Callable[[Body], None]:
    return _set(name, lambda values: [change(v) for v in values])


@dataclass(frozen=True)
class Fault:
    """answer : made from a good body. said : words that the reason must hold, None where none is due.
    used : whether some of the service's answer is used all the same.
    """

    answer: Callable[[Body], Answer]
    said: str | None
    used: bool = False


def of_body(change: Callable[[Body], object], said: str | None, used: bool = False) -> Fault:
    return Fault(lambda body: reply(changed(body, change)), said, used)


NAN = float("nan")
LOGIN = "<!DOCTYPE html><html><body><form>Guest network: please sign in</form></body></html>"
PROBLEM = '{"error": true, "reason": "Parameter hourly holds an unknown name."}'


def _gzipped(body: bytes) -> Answer:
    return reply(gzip.compress(body), Content_Encoding="gzip")


FAULTS: dict[str, Fault] = {
    "reset in the middle": Fault(lambda b: reset_in_the_middle(json.dumps(b)), "breaks off"),
    "slow header": Fault(lambda b: dripping(True, 0.1), "took too long"),
    "slow body": Fault(lambda b: dripping(False, 0.1), "took too long"),
    "says nothing": Fault(lambda b: lambda connection, request: time.sleep(30), "took too long"),
    "empty body": Fault(lambda b: reply(""), "empty answer"),
    "login page": Fault(lambda b: reply(LOGIN, Content_Type="text/html"), "a web page instead of data"),
    "truncated JSON": Fault(lambda b: reply(json.dumps(b)[:4000]), "breaks off or is no JSON"),
    "JSON of another kind": Fault(lambda b: reply('["sun", 3]'), "no answer for this place"),
    "error with status 200": Fault(lambda b: reply(PROBLEM), "unknown name"),
    "unit of light": of_body(_units("shortwave_radiation", "kJ/m²", 3.6), 'in "kJ/m²"'),
    "unit of light unsaid": of_body(_unlabelled("shortwave_radiation", lambda v: v * 7.2), "not believed"),
    "light in MJ unsaid": of_body(
        _unlabelled("shortwave_radiation", lambda v: v * 0.0036), "hardly any light"
    ),
    "fahrenheit unsaid": of_body(_unlabelled("temperature_2m", lambda v: v * 1.8 + 80), "°F"),
    "kelvin unsaid": of_body(_unlabelled("temperature_2m", lambda v: v + 273.15), "kelvin"),
    "nan for a stretch": of_body(
        _light_and_temperature(lambda vs: [NAN if 34 <= n < 39 else v for n, v in enumerate(vs)]),
        "lacks 2026",
        used=True,
    ),
    "null for a stretch": of_body(
        _light_and_temperature(lambda vs: [None if 34 <= n < 39 else v for n, v in enumerate(vs)]),
        "lacks 2026",
        used=True,
    ),
    "all null": of_body(
        _set("shortwave_radiation", lambda vs: [None] * len(vs)), "sends no light", used=True
    ),  # cloud is left
    "light and cloud null": of_body(
        lambda b: (
            b["hourly"].update(shortwave_radiation=[None] * len(b["hourly"]["time"])),
            b["hourly"].update(cloud_cover=[None] * len(b["hourly"]["time"])),
        ),
        "neither light nor cloud",
    ),
    "negative light": of_body(_unlabelled("shortwave_radiation", lambda v: v - 40), "negative"),
    "hours missing": of_body(_without_hours(lambda n: 34 <= n < 39), "lacks 2026", used=True),
    "hours twice": of_body(
        lambda b: b["hourly"].update({k: vs[:40] + vs[39:] for k, vs in b["hourly"].items()}), "twice"
    ),
    "arrays of other lengths": of_body(_set("shortwave_radiation", lambda vs: vs[:-3]), "another number"),
    "words for numbers": of_body(_set("shortwave_radiation", lambda vs: ["12"] * len(vs)), "no numbers"),
    "three hours off": of_body(_shifted(3), "when it is night"),
    "another place": of_body(lambda b: b.update(latitude=b["latitude"] - 8), "another place"),
    "another date": of_body(
        lambda b: b["hourly"].update(
            time=[
                f"{t:%Y-%m-%dT%H:%M}" for t in pd.DatetimeIndex(b["hourly"]["time"]) - pd.Timedelta(days=365)
            ]
        ),
        "has nothing for",
    ),
    "circle of redirects": Fault(
        lambda b: reply("", "301 Moved Permanently", Location="/v1/forecast"), "round in circles"
    ),
    "304 without a stored answer": Fault(
        lambda b: lambda c, r: c.sendall(b"HTTP/1.1 304 Not Modified\r\nConnection: close\r\n\r\n"),
        "nothing is stored",
    ),
    "400": Fault(lambda b: reply(PROBLEM, "400 Bad Request"), "refuses the question: Parameter hourly"),
    "403": Fault(lambda b: reply("forbidden", "403 Forbidden"), "HTTP 403"),
    "404": Fault(lambda b: reply("{}", "404 Not Found"), "HTTP 404"),
    "429 with Retry-After": Fault(
        lambda b: reply('{"reason": "Too many."}', "429 Too Many Requests", Retry_After="90"),
        "asked too often",
    ),
    "429 without": Fault(
        lambda b: reply('{"reason": "Too many."}', "429 Too Many Requests"), "asked too often"
    ),
    "500": Fault(lambda b: reply("{}", "500 Internal Server Error"), "a fault of its own"),
    "503": Fault(lambda b: reply("{}", "503 Service Unavailable", Retry_After="300"), "a fault of its own"),
    "200 MB": Fault(lambda b: endless(200_000_000), "more than 8 MB"),
    "compressed bomb": Fault(lambda b: _gzipped(b" " * 100_000_000), "unpacks to more than"),
    "unknown packing": Fault(lambda b: reply(b"abc", Content_Encoding="br"), "not asked for"),
    "broken packing": Fault(lambda b: reply(b"abc", Content_Encoding="gzip"), "can't be unpacked"),
    "deeply nested": Fault(lambda b: reply("[" * 200_000), "no JSON"),
}
CLOCK_CHANGES = {
    "wall clock in spring": ("Europe/Berlin", "2026-03-29", "wall-clock"),
    "wall clock in autumn": ("Europe/Berlin", "2026-10-25", "twice"),
}

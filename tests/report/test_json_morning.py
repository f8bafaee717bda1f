"""The `morning` JSON against the contract, whatever the day."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
import pytest

from lightplan.dayplan import DayPlan, Temperature
from lightplan.report.json_morning import morning_json
from lightplan.report.write import morning_text
from tests.report.samples import SAMPLES

# The contract, key by key: None stands for a plain value, [x] for a list of x
INTERVALS = [[None]]
CONTRACT: dict[str, Any] = {
    "site": dict.fromkeys(("id", "name", "latitude", "longitude")),
    "date": None,
    "timezone": None,
    "generated_at": None,
    "window": dict.fromkeys(("from", "to")),
    "weather": dict.fromkeys(("source", "kind", "issued_at", "age_hours", "attribution", "fallback_reason")),
    "sun": dict.fromkeys(("civil_dawn", "sunrise", "solar_noon", "sunset", "civil_dusk", "day_length_h")),
    "outdoor": dict.fromkeys(("dli", "dli_low", "dli_high", "peak_ppfd")),
    "houses": [{"id": None, "temperature_c": dict.fromkeys(("min", "max"))}],
    "benches": [
        {
            **dict.fromkeys(("id", "house", "crop", "stage", "transmission", "light_hours", "photoperiod_h")),
            "batches": [dict.fromkeys(("crop", "stage", "from", "to", "governs"))],
            "dli": dict.fromkeys(
                ("sun_open", "sun", "lamps", "total", "low", "high", "minimum", "target", "limit")
            ),
            "account": dict.fromkeys(("before", "after")),
            "limits": dict.fromkeys(("ppfd", "ppfd_minutes", "temperature_c", "temperature_minutes", "mark")),
            "peak_ppfd": dict.fromkeys(("open", "after")),
            "lamps": {
                "earlier": INTERVALS,
                "intervals": INTERVALS,
                **dict.fromkeys(("hours", "mol", "kwh", "cost")),
            },
            "covers": [dict.fromkeys(("cover", "on", "off", "reason", "odds"))],
            "temperature_c": dict.fromkeys(("where", "peak_open", "peak_after", "low", "high", "at")),
            "notes": [None],
        }
    ],
    "orders": [
        {
            **dict.fromkeys(("number", "time", "until", "house", "bench", "action", "what")),
            "why": dict.fromkeys(("rule", "value", "limit", "unit")),
            **dict.fromkeys(("certainty", "odds")),
        }
    ],
    "cautions": [None],
}


def assert_shape(value: Any, contract: Any, path: str = "") -> None:
    if isinstance(contract, dict):
        assert isinstance(value, dict), path
        assert set(value) == set(contract), path
        for key, inner in contract.items():
            assert_shape(value[key], inner, f"{path}.{key}")
    elif isinstance(contract, list):
        assert isinstance(value, list), path
        for number, item in enumerate(value):
            assert_shape(item, contract[0], f"{path}[{number}]")
    else:
        assert value is None or isinstance(value, str | int | float | bool), path


def times_in(value: Any) -> list[str]:
    if isinstance(value, dict):
        return [t for v in value.values() for t in times_in(v)]
    if isinstance(value, list):
        return [t for v in value for t in times_in(v)]
    return [value] if isinstance(value, str) and value[10:11] == "T" else []


@pytest.mark.parametrize("name", SAMPLES)
def test_every_key_is_there_and_nothing_is_nan(name: str) -> None:
    plan = SAMPLES[name]()
    document = json.loads(morning_text(plan, steps=True), parse_constant=pytest.fail)
    assert set(document.pop("steps")) == {b.bench.id for b in plan.benches}
    assert set(document.pop("learned")) == {"band", "yesterday", "calibration", "dimmed", "meter"}
    assert_shape(document, CONTRACT)


@pytest.mark.parametrize("name", SAMPLES)
def test_times_are_local_with_their_offset(name: str) -> None:
    plan = SAMPLES[name]()
    found = times_in(morning_json(plan, steps=True))
    assert found
    for text in found:
        moment = datetime.fromisoformat(text)
        assert moment.utcoffset() == moment.astimezone(plan.site.timezone).utcoffset(), text


def test_steps_only_where_asked() -> None:
    plan = SAMPLES["one-bench"]()
    assert "steps" not in morning_json(plan)
    found = morning_json(plan, steps=True)["steps"]["b0"]
    assert set(found) == {"time", "sun_ppfd_open", "sun_ppfd", "lamp_ppfd", "temperature_c"}
    assert found["temperature_c"] is None


# Steps from midnight to the window's end at 06:30 next morning: 30.5 h less or more the hour that the clocks
# jump; without a window the civil day alone
@pytest.mark.parametrize(
    ("name", "count"),
    [("dull", 122), ("clocks-forward", 118), ("clocks-back", 126), ("nobody-comes", 96), ("leap-day", 122)],
)
def test_steps_cover_the_civil_day_and_on_to_the_windows_end(name: str, count: int) -> None:
    plan = SAMPLES[name]()
    steps = morning_json(plan, steps=True)["steps"]["b0"]
    assert {key: len(row) for key, row in steps.items() if row is not None} == dict.fromkeys(
        ("time", "sun_ppfd_open", "sun_ppfd", "lamp_ppfd"), count
    )
    moments = [datetime.fromisoformat(t).timestamp() for t in steps["time"]]
    assert set(np.diff(moments)) == {900.0}
    assert steps["time"][0].startswith(f"{plan.day}T00:00")


def test_steps_sum_to_the_days_light() -> None:
    plan = SAMPLES["clocks-back"]()
    document = morning_json(plan, steps=True)
    for bench in document["benches"]:
        steps = document["steps"][bench["id"]]
        today = [t.startswith(document["date"]) for t in steps["time"]]
        assert sum(today) == 100
        mol = sum(ppfd for ppfd, there in zip(steps["lamp_ppfd"], today, strict=True) if there) * 900 / 1e6
        assert bench["dli"]["lamps"] == pytest.approx(mol, abs=1e-3)


def test_midnight_is_the_next_days_first_instant() -> None:
    plan = SAMPLES["nobody-comes"]()
    (interval,) = morning_json(plan)["benches"][0]["lamps"]["earlier"]
    assert interval == ["2026-01-10T00:00:00-05:00", "2026-01-11T00:00:00-05:00"]


def test_no_window_no_times() -> None:
    assert morning_json(SAMPLES["nobody-comes"]())["window"] == {"from": None, "to": None}


def test_what_is_not_finite_is_unknown() -> None:
    plan = SAMPLES["one-bench"]()
    bench = replace(plan.benches[0], transmission=math.nan, account_after=math.inf)
    found = morning_json(replace(plan, benches=(bench,)))["benches"][0]
    assert found["transmission"] is None
    assert found["account"]["after"] is None


def test_figures_stay_si_whatever_the_sheet_shows() -> None:
    plan = SAMPLES["one-bench"]()
    assert plan.site.us_units and plan.site.foot_candles
    warm = Temperature("air", 31.0, 27.5, 24.0, 33.0, plan.generated_at)
    bench = replace(plan.benches[0], temperature=warm)
    found = morning_json(replace(plan, benches=(bench,)))["benches"][0]
    assert found["temperature_c"]["peak_after"] == 27.5
    assert found["peak_ppfd"]["after"] == pytest.approx(plan.benches[0].peak_ppfd_after, abs=1e-4)


@pytest.mark.parametrize("name", ["one-bench", "clocks-back", "thirty"])
def test_golden(name: str, golden: Callable[[str, str], None]) -> None:
    golden(f"{name}.json", morning_text(SAMPLES[name]()))


def test_governing_batch_names_crop_and_stage() -> None:
    plan: DayPlan = SAMPLES["dull"]()
    (bench,) = [b for b in morning_json(plan)["benches"] if len(b["batches"]) == 2]
    assert (bench["crop"], bench["stage"]) == ("snapdragon", "growing-on")
    (empty,) = [b for b in morning_json(plan)["benches"] if not b["batches"]]
    assert (empty["crop"], empty["stage"], empty["limits"]["mark"]) == (None, None, None)

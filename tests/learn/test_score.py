"""Yesterday's score: what came against what was told, what was done, and what that teaches."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from lightplan.calibrate_loggers import _disturbed
from lightplan.calibrated import washed_on
from lightplan.cli import Exit, main
from lightplan.clock import grid_over
from lightplan.dayplan import DayPlan
from lightplan.house.kept import kept_house_light
from lightplan.learn.kinds import Done
from lightplan.learn.score import DayScore, score_json, season_record
from lightplan.learned import known_of
from lightplan.observed import filled_day, observed_day
from lightplan.records import NO_HISTORY, History, Stretch
from lightplan.records_learned import keep_score
from lightplan.records_readings import readings
from lightplan.report.json_learned import learned_json
from lightplan.report.json_morning import morning_json
from lightplan.report.learned_words import record_words, yesterday_words
from lightplan.report.units import units_of
from lightplan.scored import score_logged_days, scores_of
from lightplan.site.models import Measured, SourceName
from lightplan.site.read import load_site
from lightplan.yesterday import score_day
from tests.learn.mornings import clear_truth, mornings
from tests.small_site import write_small_site

FIRST = date(2026, 2, 10)
NOW = ("--now", "2026-02-14T20:00")
CLEARNESS = [0.3, 0.9, 0.5, 0.7]


@pytest.fixture(scope="module")
def lived(tmp_path_factory):
    """Four mornings; the second day's timer order was not carried out."""
    folder = write_small_site(tmp_path_factory.mktemp("lived") / "site")
    site = load_site(folder).site
    truth = clear_truth(site, FIRST, 5, CLEARNESS)
    made = []
    for plan in mornings(folder, truth, FIRST, 4):
        made.append(plan)
        if plan.day == FIRST + timedelta(days=1):
            order = next(o for o in plan.orders if o.bench == "plugs" and o.action.value == "set-timer")
            words = ("done", "--order", str(order.number), "--not", "--now", f"{plan.day}T20:00")
            assert main(["reading", str(folder), *words]) == Exit.DONE
    return folder, made


def test_what_came_is_the_truth_and_stands_against_the_sheets_range(lived):
    folder, made = lived
    found = scores_of(load_site(folder).site)
    assert [s.day for s in found] == [FIRST + timedelta(days=n) for n in range(3)]
    for score, plan in zip(found, made, strict=False):
        assert score.forecast_mol == pytest.approx(plan.outdoor.dli, abs=1e-3)
        assert score.came_mol / score.clear_mol == pytest.approx(
            CLEARNESS[(score.day - FIRST).days], rel=0.15
        )  # a joule of a dull sky holds up to 13 % more photons (lightplan/par.py)
        assert score.observed_by == "service"


def scored(
    folder: Path, made: list[DayPlan], told: dict, done: tuple[Done, ...] = (), history: History = NO_HISTORY
) -> DayScore:
    """The first day by a plan's JSON, as it may have been."""
    site = load_site(folder).site
    seen = observed_day(site, FIRST, made[1].weather)
    assert seen is not None
    lights = {"glass": kept_house_light(site.house("glass"), folder / "cache")}
    return score_day(
        site,
        told,
        seen,
        table=filled_day(site, FIRST, seen, None),
        history=history,
        lights=lights,
        done=done,
        temperatures=(),
    )


def with_order(told: dict, number: int, rule: str, **values) -> dict:
    orders = [
        {**o, "why": {**o["why"], "rule": rule}, **values} if o["number"] == number else o
        for o in told["orders"]
    ]
    return {**told, "orders": orders}


def test_only_orders_that_light_or_heat_decided_are_judged_by_them(lived):
    """A day made long, a day turned round and a cover for a short day are right whatever the sky did."""
    folder, made = lived
    told = morning_json(made[0])
    order = next(o for o in told["orders"] if o["action"] == "set-timer" and o["bench"] == "plugs")
    number = order["number"]
    judged = {o.number: o for o in scored(folder, made, told).orders}
    assert judged[number].right is not None
    for rule in ("long-day", "night-break", "inverted-lamps", "inverted-back", "seed-light"):
        of_rule = {o.number: o for o in scored(folder, made, with_order(told, number, rule)).orders}
        assert (of_rule[number].right, of_rule[number].why) == (None, "not-judged")
    limit = {"why": {"rule": "temperature-limit", "value": 40.0, "limit": None, "unit": "c"}}
    cover = {"action": "cover", "until": told["orders"][-1]["time"]}
    hot = {**told, "orders": [{**order, **cover, **limit}]}
    assert scored(folder, made, hot).orders[0].right is False  # 11 °C outdoors under a grey sky
    for rule in ("short-day", "inverted-dark", "inverted-night", "inverted-come"):
        assert scored(folder, made, with_order(hot, number, rule)).orders[0].right is None


def test_lamps_for_light_that_is_owed_were_needed(lived):
    """The sun of the day alone was enough, but not for what the days before had left short."""
    folder, made = lived
    told = morning_json(made[0])
    number = next(o["number"] for o in told["orders"] if o["action"] == "set-timer" and o["bench"] == "plugs")
    sun = {b.id: b.sun_came for b in scored(folder, made, told).benches}["plugs"]

    def right(before: float) -> bool | None:
        benches = [
            {
                **b,
                "account": {**b["account"], "before": before},
                "dli": {**b["dli"], "minimum": sun / 2, "target": sun - 0.5},
            }
            for b in told["benches"]
        ]
        of = with_order({**told, "benches": benches}, number, "account-owed")
        return next(o.right for o in scored(folder, made, of).orders if o.number == number)

    assert right(0.0) is False
    assert right(-2.0) is True


def test_an_order_told_by_the_number_of_a_later_sheet_is_found(lived):
    folder, made = lived
    told = morning_json(made[0])
    lamps = [o for o in told["orders"] if o["action"] == "set-timer"]
    assert len({o["bench"] for o in lamps}) == len(lamps) >= 1
    one = lamps[0]
    done = Done(1, FIRST, one["number"] + 20, False, None, one["action"], one["house"], one["bench"])
    said = {o.number: o.done for o in scored(folder, made, told, (done,)).orders}
    assert said[one["number"]] is False
    assert [value for number, value in said.items() if number != one["number"] and value is not None] == []
    other = replace(done, order=one["number"], bench="elsewhere")
    assert {o.done for o in scored(folder, made, told, (other,)).orders} == {None}


def test_a_timer_that_nobody_set_goes_on_with_its_old_times(lived):
    folder, made = lived
    zone = load_site(folder).site.timezone
    told = morning_json(made[0])
    order = next(o for o in told["orders"] if o["action"] == "set-timer" and o["bench"] == "plugs")
    begin = datetime.fromisoformat(order["time"])
    day = timedelta(days=1)
    old = ((datetime(2026, 2, 9, 17, tzinfo=zone), datetime(2026, 2, 9, 19, tzinfo=zone)),)
    new = ((datetime(2026, 2, 10, 15, tzinfo=zone), datetime(2026, 2, 10, 22, tzinfo=zone)),)
    stretches = (Stretch((begin - day, begin), old), Stretch((begin, begin + day), new))
    done = Done(1, FIRST, order["number"], False, None, order["action"], order["house"], order["bench"])

    def hours(history: History, *said: Done) -> float:
        score = scored(folder, made, told, said, history)
        return next(b.lamp_h for b in score.benches if b.id == "plugs")

    assert hours(History({"plugs": stretches}, {})) == 7.0
    assert hours(History({"plugs": stretches}, {}), done) == 2.0
    assert hours(History({"plugs": stretches[1:]}, {}), done) == 0.0  # nothing is known of the day before
    told = with_order(told, order["number"], "dli-short", action="lamps-on")
    assert hours(History({"plugs": stretches}, {}), replace(done, action="lamps-on")) == 0.0  # by hand: dark


def test_lamps_are_counted_as_sheets_set_them_and_hands_say(lived):
    folder, _ = lived
    first, second, _ = scores_of(load_site(folder).site)
    lit = {b.id: b for b in first.benches}["plugs"]
    assert lit.lamp_h > 0
    assert lit.lamp_mol == pytest.approx(80e-6 * 3600 * lit.lamp_h)
    assert {o.action: o.done for o in second.orders if o.bench == "plugs"}["set-timer"] is False
    plugs = {b.id: b for b in second.benches}["plugs"]
    assert plugs.lamp_h == pytest.approx(lit.lamp_h)  # the timer went on as it stood


def test_the_account_goes_on_from_what_came_not_from_what_was_forecast(lived):
    folder, made = lived
    found = scores_of(load_site(folder).site)
    for score, plan in zip(found, made[1:], strict=True):
        before = {b.bench.id: b.account_before for b in plan.benches}
        assert before == {b.id: pytest.approx(b.account, abs=1e-3) for b in score.benches}


def test_the_line_says_light_lamps_and_orders_in_one(lived):
    folder, made = lived
    site = load_site(folder).site
    plan = made[-1]
    words = yesterday_words(site, plan.learned.yesterday, units_of(site))
    assert "mol came outdoors, " in words
    assert "lamps" in words.lower()
    assert len(words) < 300
    record = season_record(scores_of(site))
    assert (record.days, record.minimum_days) == (3, 6)
    assert "The sheets so far: 3 days scored" in record_words(record)


def test_a_forecast_of_yesterday_is_no_observation(lived):
    """The service's answer from before that day's end says nothing of what came."""
    folder, made = lived
    site = load_site(folder).site
    weather = made[-1].weather
    day = made[-1].day - timedelta(days=1)
    assert observed_day(site, day, weather) is not None
    assert weather.issued_at is not None
    stale = replace(weather, issued_at=weather.issued_at - timedelta(hours=20))
    assert observed_day(site, day, stale) is None
    half = replace(weather, before=weather.before.iloc[:12])
    assert observed_day(site, day, half) is None


def test_a_logger_in_the_open_is_believed_before_the_service(lived, tmp_path: Path):
    folder, _ = lived
    site = load_site(folder).site
    truth = clear_truth(site, FIRST, 5, CLEARNESS)
    path = tmp_path / "roof.csv"
    rows = truth.loc["2026-02-09T23:00Z":"2026-02-13T22:00Z", "ghi_w_m2"] * 0.8 * 2.018
    quarters = rows.reindex(rows.resample("15min").asfreq().index).ffill()
    path.write_text(
        "time,par umol\n" + "".join(f"{at.isoformat()},{v:.2f}\n" for at, v in quarters.items()), "utf-8"
    )
    words = ("import", str(path), "--outdoors", "--quantity", "light", "--unit", "umol", "--confirm")
    assert main(["reading", str(folder), *words, "--now", "2026-02-14T20:00"]) == Exit.DONE
    before = scores_of(site)
    now = datetime(2026, 2, 14, 20, tzinfo=site.timezone)
    trial = ("--try", "--format", "json", "--out", "-", "--now", "2026-02-14T20:00")
    assert main(["calibrate", str(folder), *trial]) == Exit.DONE
    assert scores_of(site) == before  # a trial keeps nothing
    assert len(score_logged_days(site, now)) == 4
    after = scores_of(site)
    assert {s.observed_by for s in after} == {"logger"}
    logged = rows.groupby(rows.index.tz_convert(site.timezone).date).sum() * 3600 / 1e6
    for new in after:
        assert new.came_mol == pytest.approx(logged[new.day], rel=0.02)
    number = next(str(row.number) for row in readings(folder) if row.kind == "log")
    assert main(["reading", str(folder), "strike", number, "--why", "in the shade", *NOW]) == Exit.DONE
    assert scores_of(site) == ()  # what a struck logger said counts no more
    for score in before:  # as it was, for the other tests
        keep_score(folder, score.day, score_json(score), now)
    assert scores_of(site) == before


def test_a_wash_on_record_counts_from_its_day_on(lived):
    """Scored by the house as it was that day: `washed` of the site is its last wash, not that of the day."""
    folder, _ = lived
    site = load_site(folder).site
    washes = (date(2026, 1, 10), date(2026, 2, 20))
    soiled = Measured(0.0, 0.0, 0.0, -0.2, date(2026, 1, 1), date(2026, 2, 28))
    glass = replace(site.house("glass"), washed=washes[-1], measured=soiled)
    of_day = {
        d: washed_on(glass, washes, d) for d in (date(2026, 1, 5), date(2026, 2, 19), date(2026, 2, 20))
    }
    assert [h.washed for h in of_day.values()] == [None, washes[0], washes[1]]
    # the soil of the calibration gathered after the last wash: none of it lay on the house before
    assert [h.measured.soil for h in of_day.values() if h.measured] == [0.0, 0.0, -0.2]


def test_the_forecast_as_its_source_gave_it_is_kept(lived):
    """By the factor that the sheet itself says it used, whatever calibration is in use when it is scored."""
    folder, made = lived
    plan = replace(made[0], learned=replace(made[0].learned, cloud_light=0.8))
    assert learned_json(plan)["band"] == {"factor": 1.0, "cloud_light": 0.8}
    told = {**morning_json(plan), "learned": learned_json(plan)}
    score = scored(folder, made, told)
    assert score.raw_mol == pytest.approx(score.forecast_mol / 0.8)


def test_hours_under_lamps_or_a_cover_tell_a_logger_nothing_of_the_house(lived):
    """As the day's sheet set them: on the bench itself, and over the whole house for every bench in it."""
    folder, made = lived
    site = load_site(folder).site
    grid = grid_over(FIRST, 1, site.timezone)
    lit = {b.id: b.lamp_h for b in scores_of(site)[0].benches}["plugs"]
    assert _disturbed(site, "glass", site.benches[0], grid).sum() / 4 == pytest.approx(lit)
    told = {**morning_json(made[0]), "learned": learned_json(made[0])}
    noon = {"time": f"{FIRST}T11:00:00+01:00", "until": f"{FIRST}T15:00:00+01:00"}
    told["orders"] = [{**told["orders"][0], **noon, "action": "cover", "bench": None, "house": "glass"}]
    with sqlite3.connect(folder / "records.db") as db:
        (before,) = db.execute(
            "SELECT plan_json FROM first_plan WHERE day = ?", (FIRST.isoformat(),)
        ).fetchone()
        db.execute("UPDATE first_plan SET plan_json = ? WHERE day = ?", (json.dumps(told), FIRST.isoformat()))
    dark = replace(site, benches=tuple(replace(b, lamps=None) for b in site.benches))
    for bench in (dark.benches[0], None):
        assert _disturbed(dark, "glass", bench, grid).sum() / 4 == 4.0
    with sqlite3.connect(folder / "records.db") as db:
        db.execute("UPDATE first_plan SET plan_json = ? WHERE day = ?", (before, FIRST.isoformat()))


def test_a_sheet_of_the_past_knows_nothing_of_days_to_come(lived):
    folder, _ = lived
    site = load_site(folder).site
    for n in range(12):  # each far under what was told
        later = replace(scores_of(site)[0], day=date(2026, 5, 1) + timedelta(days=n), came_mol=0.5)
        keep_score(folder, later.day, score_json(later), datetime(2026, 5, 20, tzinfo=site.timezone))
    spread = {
        day: known_of(site, day).errors[SourceName.OPEN_METEO].spread for day in (FIRST, date(2026, 6, 1))
    }
    assert spread[FIRST] == 1.0
    assert spread[date(2026, 6, 1)] > 1.2
    with sqlite3.connect(folder / "records.db") as db:
        db.execute("DELETE FROM score WHERE day >= '2026-05-01'")

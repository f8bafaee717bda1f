"""The month's highest power so far, from what earlier sheets set; and a sheet that counts on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pandas as pd
import pytest

from lightplan.clock import at_local
from lightplan.house.kept import kept_house_light
from lightplan.peak_so_far import lamp_times, peak_so_far_kw
from lightplan.plan import plan_day, planning_grid
from lightplan.records import NO_HISTORY, History, Stretch, keep_plan, read_history
from lightplan.site.read import load_site
from lightplan.weather.fetch import weather_for
from tests.replay.seasons import HEAD, bench

DAY = date(2026, 1, 13)
POWER = """\
[power]
capacity_kw = 50
other_kw = 0
peak_price_per_kw = {peak}
rates = [{{ from = "00:00", to = "24:00", price = 0.2 }}]
"""


@pytest.fixture
def site(tmp_path):
    return _site(tmp_path, 10)


def _site(folder, peak: float, benches: str = bench("a", kw=0.6) + bench("b", kw=0.8)):
    power = f"clearness = {[0.3] * 12}\n" + POWER.format(peak=peak)
    text = HEAD.format(site="", power=power, limit=60, dark_h=6) + benches
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return load_site(folder).site


def _at(site, day: int, hour: float) -> datetime:
    return at_local(date(2026, 1, 1) + timedelta(days=day - 1), round(hour * 60), site.timezone)


def _stretch(site, day: int, *hours: tuple[float, float], until: int | None = None) -> Stretch:
    window = (_at(site, day, 6.5), _at(site, until or day + 1, 6.5))
    return Stretch(window, tuple((_at(site, day, on), _at(site, day, off)) for on, off in hours))


def test_lamps_that_burn_together_count_together(site):
    apart = History({"a": (_stretch(site, 5, (7, 9)),), "b": (_stretch(site, 5, (9, 11)),)}, {})
    assert peak_so_far_kw(site, apart, _at(site, 13, 6.5)) == pytest.approx(0.8)
    both = History({"a": (_stretch(site, 5, (7, 9)),), "b": (_stretch(site, 5, (8.75, 11)),)}, {})
    assert peak_so_far_kw(site, both, _at(site, 13, 6.5)) == pytest.approx(1.4)
    assert peak_so_far_kw(site, NO_HISTORY, _at(site, 13, 6.5)) == 0


def test_lamps_that_failed_draw_nothing(site):
    half = replace(site, benches=tuple(replace(b, lamps=replace(b.lamps, working=0.5)) for b in site.benches))
    kept = History({"b": (_stretch(site, 5, (7, 9)),)}, {})
    assert peak_so_far_kw(half, kept, _at(site, 13, 6.5)) == pytest.approx(0.4)


def test_another_month_and_what_is_still_to_come_do_not_count(site):
    kept = History({"b": (_stretch(site, 31, (17, 18), (23, 24.5)),), "a": (_stretch(site, 33, (7, 9)),)}, {})
    assert peak_so_far_kw(site, kept, _at(site, 31, 16)) == 0
    assert peak_so_far_kw(site, kept, _at(site, 31, 17.5)) == pytest.approx(0.8)
    assert peak_so_far_kw(site, kept, _at(site, 32, 6.5)) == pytest.approx(0.8)  # into 1 February
    assert peak_so_far_kw(site, kept, _at(site, 60, 6.5)) == 0


def test_without_a_peak_charge_nothing_is_looked_up(tmp_path):
    free = _site(tmp_path, 0)
    assert peak_so_far_kw(free, History({"b": (_stretch(free, 5, (7, 9)),)}, {}), _at(free, 13, 6.5)) == 0


def test_a_later_sheet_rules_from_its_own_start_on(site):
    """The noon run takes back what the morning had ordered for the afternoon."""
    noon = Stretch((_at(site, 5, 12), _at(site, 6, 6.5)), ((_at(site, 5, 20), _at(site, 5, 21)),))
    kept = History({"a": (_stretch(site, 5, (11, 16)), noon)}, {})
    month = (_at(site, 1, 0), _at(site, 13, 6.5))
    assert lamp_times(kept, "a", *month) == (
        (_at(site, 5, 11), _at(site, 5, 12)),
        (_at(site, 5, 20), _at(site, 5, 21)),
    )


def test_days_without_a_sheet_count_as_unlit_and_what_ends_outside_is_cut(site):
    kept = History({"a": (_stretch(site, 2, (7, 9)), _stretch(site, 8, (22, 26)))}, {})
    assert lamp_times(kept, "a", _at(site, 2, 8), _at(site, 9, 1)) == (
        (_at(site, 2, 8), _at(site, 2, 9)),
        (_at(site, 8, 22), _at(site, 9, 1)),
    )
    assert lamp_times(kept, "other", _at(site, 1, 0), _at(site, 9, 1)) == ()


def test_the_records_reach_back_to_the_first_of_a_long_month(tmp_path):
    site = _site(tmp_path, 1)
    kept = {"b": ((_at(site, 1, 7), _at(site, 1, 9)),)}
    keep_plan(
        tmp_path,
        day=date(2026, 1, 1),
        made_at=_at(site, 1, 5),
        window=(_at(site, 1, 6.5), _at(site, 2, 6.5)),
        plan={},
        weather_source="clear-sky",
        weather_table=pd.DataFrame({"ghi_w_m2": [0.0]}),
        lamps=kept,
        account_after={},
    )
    history = read_history(tmp_path, date(2026, 1, 31), _at(site, 31, 5))
    assert peak_so_far_kw(site, history, _at(site, 31, 6.5)) == pytest.approx(0.8)


def test_a_sheet_pays_no_peak_that_is_paid_already(tmp_path):
    site = _site(tmp_path, 10, bench("b", kw=0.8))
    now = pd.Timestamp("2026-01-13 05:00", tz=site.timezone).to_pydatetime()
    grid, window = planning_grid(site, DAY, now)
    weather = weather_for(site, grid, needed_until=window.end, now=now)
    lights = {house.id: kept_house_light(house, site.folder / "cache") for house in site.houses}
    peaks = [
        plan_day(
            site, weather, history, grid=grid, window=window, now=now, lights=lights
        ).lamps_together.peak_cost
        for history in (NO_HISTORY, History({"b": (_stretch(site, 2, (7, 9)),)}, {}))
    ]
    assert peaks == pytest.approx([8, 0])

"""The site's memory: what was set before, and faults of the file."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest

from lightplan.records import FILE_NAME, History, RecordsError, Stretch, keep_plan, read_history

DAY = date(2026, 3, 10)


def _at(hour: float, day: int = 0) -> datetime:
    return datetime(2026, 3, 10, tzinfo=UTC) + timedelta(days=day, hours=hour)


def _keep(folder, day=DAY, made_at=None, window=None, lamps=None, account=1.5):
    keep_plan(
        folder,
        day=day,
        made_at=made_at or _at(0),
        window=window or (_at(6.5), _at(6.5, 1)),
        plan={"date": day.isoformat()},
        weather_source="clear-sky",
        weather_table=pd.DataFrame({"ghi_w_m2": [0.0]}),
        lamps=lamps if lamps is not None else {"b": ((_at(18), _at(22)), (_at(4, 1), _at(6.5, 1)))},
        account_after={"b": account},
    )


def test_yesterdays_night_hours_are_read_back(tmp_path):
    _keep(tmp_path)
    history = read_history(tmp_path, DAY + timedelta(days=1), _at(5, 1))
    assert history.set_before("b", _at(0, 1), _at(6.5, 1)) == ((_at(4, 1), _at(6.5, 1)),)
    assert history.account == {"b": 1.5}


def test_without_a_record_nothing_is_claimed(tmp_path):
    assert read_history(tmp_path, DAY, _at(5)).set_before("b", _at(0), _at(6.5)) is None
    _keep(tmp_path)
    later = read_history(tmp_path, DAY + timedelta(days=2), _at(5, 2))
    assert later.set_before("b", _at(0, 2), _at(6.5, 2)) is None
    assert later.account == {}


def test_a_plan_made_later_is_not_known_yet(tmp_path):
    _keep(tmp_path, made_at=_at(5))
    assert read_history(tmp_path, DAY, _at(4)).lamps == {}


def test_a_noon_run_rules_from_its_own_start():
    morning = Stretch((_at(6.5), _at(6.5, 1)), ((_at(7), _at(20)),))
    noon = Stretch((_at(12), _at(6.5, 1)), ((_at(14), _at(16)),))
    history = History({"b": (morning, noon)}, {})
    assert history.set_before("b", _at(6.5), _at(18)) == ((_at(7), _at(12)), (_at(14), _at(16)))


def test_the_same_day_and_clock_again_replaces_the_plan(tmp_path):
    _keep(tmp_path)
    _keep(tmp_path, lamps={"b": ()})
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        assert db.execute("SELECT count(*) FROM plan").fetchone() == (1,)
        assert db.execute("SELECT count(*) FROM lamp_time").fetchone() == (0,)


def test_a_broken_file_is_said_in_one_sentence(tmp_path):
    (tmp_path / FILE_NAME).write_bytes(b"no database" * 100)
    with pytest.raises(RecordsError, match=r"records\.db can't be used .*move the file away"):
        read_history(tmp_path, DAY, _at(5))


def test_a_newer_file_is_left_alone(tmp_path):
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute("PRAGMA user_version = 99")
    with pytest.raises(RecordsError, match="newer lightplan"):
        _keep(tmp_path)

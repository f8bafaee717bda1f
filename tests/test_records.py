"""The site's memory: what was set before, and faults of the file."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest

from lightplan.records import (
    FILE_NAME,
    SCHEMA,
    History,
    RecordsError,
    Stretch,
    first_plan,
    keep_plan,
    read_history,
)

DAY = date(2026, 3, 10)


def _at(hour: float, day: int = 0) -> datetime:
    return datetime(2026, 3, 10, tzinfo=UTC) + timedelta(days=day, hours=hour)


def _keep(folder, day=DAY, made_at=None, window=None, lamps=None, account=1.5, plan=None):
    keep_plan(
        folder,
        day=day,
        made_at=made_at or _at(0),
        window=window or (_at(6.5), _at(6.5, 1)),
        plan=plan or {"date": day.isoformat()},
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


def test_a_broken_file_is_kept_beside_and_a_new_one_begun(tmp_path):
    for number in (1, 2):
        (tmp_path / FILE_NAME).write_bytes(b"no database" * 100)
        with pytest.raises(RecordsError, match=rf"is broken .* kept as records\.broken-{number}\.db"):
            read_history(tmp_path, DAY, _at(5))
        assert (tmp_path / f"records.broken-{number}.db").read_bytes() == b"no database" * 100
    _keep(tmp_path)
    assert read_history(tmp_path, DAY + timedelta(days=1), _at(5, 1)).account == {"b": 1.5}


def test_a_file_of_the_right_version_without_the_tables_is_broken_too(tmp_path):
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute(f"PRAGMA user_version = {len(SCHEMA)}")
    with pytest.raises(RecordsError, match=r"no such table.*records\.broken-1"):
        read_history(tmp_path, DAY, _at(5))


def test_a_file_with_a_page_overwritten_is_broken_too(tmp_path):
    _keep(tmp_path)
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    held = bytearray((tmp_path / FILE_NAME).read_bytes())
    held[4096:] = b"\xa5" * (len(held) - 4096)
    (tmp_path / FILE_NAME).write_bytes(held)
    with pytest.raises(RecordsError, match=r"records\.broken-1"):
        read_history(tmp_path, DAY + timedelta(days=1), _at(5, 1))
    assert (tmp_path / "records.broken-1.db").read_bytes() == held


def test_a_folder_that_can_not_hold_the_file_is_not_called_broken(tmp_path):
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(RecordsError, match="can't be used"):
        read_history(tmp_path, DAY, _at(5))
    assert (tmp_path / FILE_NAME).is_dir()


def test_the_first_plan_of_a_day_stays(tmp_path):
    _keep(tmp_path, made_at=_at(5))
    _keep(tmp_path, made_at=_at(12), plan={"date": "later"})
    _keep(tmp_path, made_at=_at(5), plan={"date": "again"})
    assert first_plan(tmp_path, DAY, _at(12)) == {"date": DAY.isoformat()}
    assert first_plan(tmp_path, DAY, _at(4)) is None
    assert first_plan(tmp_path, DAY + timedelta(days=1), _at(40)) is None


def test_a_file_of_the_version_before_is_brought_up_to_date(tmp_path):
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.executescript(f"{SCHEMA[0]} PRAGMA user_version = 1;")
    _keep(tmp_path)
    assert first_plan(tmp_path, DAY, _at(12)) is not None


def test_a_newer_file_is_left_alone(tmp_path):
    with sqlite3.connect(tmp_path / FILE_NAME) as db:
        db.execute("PRAGMA user_version = 99")
    with pytest.raises(RecordsError, match="newer lightplan"):
        _keep(tmp_path)


def test_a_second_run_on_the_first_day_knows_what_the_first_one_set():
    morning = Stretch((_at(6.5), _at(6.5, 1)), ((_at(7), _at(20)),))
    history = History({"b": (morning,)}, {})
    assert history.set_before("b", _at(0), _at(12)) is None
    assert history.set_since("b", _at(0), _at(12)) == (_at(6.5), ((_at(7), _at(12)),))
    assert history.set_since("b", _at(7), _at(12)) == (_at(7), ((_at(7), _at(12)),))
    assert history.set_since("other", _at(0), _at(12)) == (_at(12), ())

"""Processes that die at a site, at birth, or of old age: every other site is made, each told of once."""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import pytest

from lightplan.cli import Exit
from lightplan.rounds import local
from lightplan.rounds.job import Round
from lightplan.rounds.local import DIED, local_outcomes
from tests.rounds import mortal

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the deaths here are by a signal")


@pytest.fixture
def round_(tmp_path, monkeypatch):
    monkeypatch.setattr(local, "_one", mortal.one)
    return Round(tmp_path, datetime(2026, 3, 10, 5, tzinfo=UTC), ("json",), tmp_path / "weather")


def told(outcomes) -> dict[str, str]:
    found = list(outcomes)
    by_folder = {outcome.folder: outcome.sentence for outcome in found}
    assert len(found) == len(by_folder), "a site told of twice"
    return by_folder


def test_a_site_that_kills_is_given_up_and_the_rest_is_made(round_):
    folders = ("a", "deadly-1", "b", "c", "once", "d", "deadly-2", "e", "f")
    found = told(local_outcomes(round_, folders, 2))
    assert found == {f: DIED if f.startswith("deadly") else "made" for f in folders}
    # with others first, who may be to blame for it, then alone: twice
    assert mortal.tries(round_.base, "deadly-1") == 3 and mortal.tries(round_.base, "once") >= 2


def test_a_process_killed_at_its_birth_is_not_the_end_of_the_round(round_, monkeypatch):
    born = []

    class Stillborn(local.ProcessPoolExecutor):
        def submit(self, *words):
            born.append(words[-1])
            if len(born) in (2, 5):
                raise BrokenPipeError(32, "Broken pipe")
            return super().submit(*words)

    monkeypatch.setattr(local, "ProcessPoolExecutor", Stillborn)
    folders = ("slow", *"abcdef")
    found = told(local_outcomes(round_, folders, 2))
    assert found == dict.fromkeys(folders, "made")
    # who was at work at it already was stopped before it was begun anew
    assert (round_.base / "slow.ends").read_text() == "x"


def test_what_was_done_when_the_pool_broke_is_not_done_again(round_, monkeypatch):
    handed = []

    class Broken(local.ProcessPoolExecutor):
        def submit(self, _, *words):
            folder, future = words[-1], local.Future()
            handed.append(folder)
            if folder == "h" and handed.count("h") == 1:
                future.set_exception(local.BrokenProcessPool("a process died"))
            else:
                future.set_result(mortal.one(*words))
            return future

    monkeypatch.setattr(local, "ProcessPoolExecutor", Broken)
    folders = tuple("abcdefgh")
    assert told(local_outcomes(round_, folders, 4)) == dict.fromkeys(folders, "made")
    assert sorted(handed) == sorted((*folders, "h"))


def test_without_room_for_a_single_process_every_site_is_told(round_, monkeypatch):
    class Full(local.ProcessPoolExecutor):
        def submit(self, *words):
            raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(local, "ProcessPoolExecutor", Full)
    assert told(local_outcomes(round_, ("a", "b"), 2)) == {"a": DIED, "b": DIED}


def test_a_pool_that_lost_everybody_without_a_word_is_seen(round_, monkeypatch):
    handed = []

    class Silent(local.ProcessPoolExecutor):
        def submit(self, *words):
            handed.append(words[-1])
            return super().submit(*words) if len(handed) > 2 else local.Future()

    monkeypatch.setattr(local, "ProcessPoolExecutor", Silent)
    monkeypatch.setattr(local, "LOOK_S", 0.05)
    assert told(local_outcomes(round_, ("a", "b"), 1)) == {"a": "made", "b": "made"}


def test_processes_give_way_to_fresh_ones(round_, monkeypatch):
    monkeypatch.setattr(local, "TASKS_OF_A_PROCESS", 2)
    folders = tuple(f"site-{n}" for n in range(7))
    found = list(local_outcomes(round_, folders, 2))
    assert sorted(o.folder for o in found) == sorted(folders) and all(o.code == Exit.DONE for o in found)
    assert all(mortal.tries(round_.base, folder) == 1 for folder in folders)

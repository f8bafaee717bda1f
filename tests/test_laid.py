"""What earlier sheets laid on: whose times rule, how it is kept in the records, how long it lasts."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lightplan.clock import grid_over
from lightplan.laid import dries_at
from lightplan.records_laid import TABLE, Laid, LaidStretch, keep_laid, laid_before, read_laid
from lightplan.standing import Lying, _joined
from tests.invented_range import FRIDAY, SATURDAY, SUNDAY, UNDER_TENT, bench, clock, of, orders
from tests.report.samples import SAMPLES


def at(hour: float, day: int = 0) -> datetime:
    return datetime(2026, 4, 24, tzinfo=UTC) + timedelta(days=day, hours=hour)


MORNING = LaidStretch((at(6.5), at(6.5, 1)), (Laid("board", at(9), at(16)), Laid("fleece", at(14), at(17))))


def test_a_later_plan_rules_from_its_own_start():
    noon = LaidStretch((at(12), at(6.5, 1)), (Laid("board", at(9), at(13)),))
    found = laid_before((MORNING, noon), at(6.5, 1))
    assert found == (Laid("board", at(9), at(13)),)  # off when the noon plan says, and no fleece at two


def test_what_a_later_plan_says_nothing_of_was_off_as_it_began():
    noon = LaidStretch((at(12), at(6.5, 1)), ())
    assert laid_before((MORNING, noon), at(6.5, 1)) == (Laid("board", at(9), at(12)),)
    early = LaidStretch((at(8), at(6.5, 1)), ())
    assert laid_before((MORNING, early), at(6.5, 1)) == ()


def test_only_what_had_begun_is_there():
    assert laid_before((MORNING,), at(9)) == ()
    assert [one.what for one in laid_before((MORNING,), at(14.25))] == ["board", "fleece"]


def test_the_records_give_back_what_they_were_given():
    with sqlite3.connect(":memory:") as db:
        db.executescript(f"CREATE TABLE plan (id INTEGER PRIMARY KEY); {TABLE}")
        rome = ZoneInfo("Europe/Rome")
        local = tuple(
            Laid(o.what, o.on.astimezone(rome), o.off.astimezone(rome)) for o in reversed(MORNING.times)
        )
        keep_laid(db, 7, {"germ": local, "plugs": ()})
        found = read_laid(db, [(7, MORNING.window), (8, MORNING.window)])
    db.close()
    assert found == {"germ": (MORNING, LaidStretch(MORNING.window, ()))}


@pytest.mark.parametrize(
    ("laid_h", "day", "dry_step"), [(9.0, 0, 48), (22.0, -1, 4), (9.1, 0, 48), (20.0, -1, -4)]
)
def test_a_cover_lasts_from_when_it_was_laid_on(laid_h, day, dry_step):
    """Wet paper keeps for three hours, also over a midnight; a sheet's steps begin at its own."""
    bench_there = SAMPLES["one-bench"]().benches[0].bench
    grid = grid_over(date(2026, 4, 24), 2, ZoneInfo("UTC"))
    paper = Laid("wet-paper", at(laid_h, day), at(23, 1))
    assert dries_at([paper], bench_there, grid) == dry_step
    assert dries_at([Laid("insulation-board", at(9), at(16))], bench_there, grid) is None
    both = [Laid("insulation-board", at(9), at(16)), paper, Laid("wet-paper", at(12), at(16))]
    assert dries_at(both, bench_there, grid) == dry_step


LID = """
[cover.lid]
transmittance = [0.0, 0.0]
dark = true
combustible = false
night = true
{life}
"""


def test_a_lid_that_lasts_twenty_hours_is_renewed_before_they_are_over(range_):
    """Laid on at six in the evening for the next morning: the sheet after that takes it off by two."""
    keys = f'{UNDER_TENT}\ntent_opens = false\ncovers = ["lid"]'
    seed = bench("a", keys, crop="tomato", stage="germination", sown=FRIDAY)
    site = 'crew = ["11:00", "18:00"]'
    found = {}
    for life in ("", "life_h = 20"):
        sheet = range_(LID.format(life=life) + seed, site=site, sun=900.0, air_c=20.0)
        (laid,) = of(sheet(FRIDAY, "--now", f"{FRIDAY}T18:00"), "a")["covers"]
        assert laid["off"].startswith(SATURDAY) and clock(laid["off"]) == "11:00"
        found[life] = sheet(SATURDAY)
    (lasting,) = of(found[""], "a")["covers"]
    assert lasting["off"].startswith(SUNDAY)
    there, fresh = of(found["life_h = 20"], "a")["covers"]
    assert clock(there["off"]) <= "14:00"
    assert there["odds"] is None and there["off"] <= fresh["on"]
    off, on = orders(found["life_h = 20"], "uncover", "cover")[:2]
    assert (off["time"], on["time"]) == (there["off"], fresh["on"])


def test_what_lasts_some_hours_is_laid_on_fresh_and_all_else_stays_on():
    there = (Lying("wet-paper", at(9), at(12)), Lying("insulation-board", at(8), at(12)))
    again = [Lying("wet-paper", at(12), at(15)), Lying("insulation-board", at(12), at(16))]
    assert _joined(there, again, {"wet-paper"}) == (
        there[0],
        Lying("insulation-board", at(8), at(16)),
        again[0],
    )

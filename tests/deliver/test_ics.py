"""The calendar file, read back by two parsers that lightplan does not use (vobject, ics).

RFC 5545 is the standard; sections stand beside the checks.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lightplan.clock import at_local
from lightplan.dayplan import Action, Certainty, DayPlan, Order, Reason
from lightplan.deliver.ics import AHEAD, asks_for_hands, calendar
from tests.report.plans import day_plan
from tests.report.samples import SAMPLES
from tests.report.sites import range_of

vobject = pytest.importorskip("vobject")
WHY = Reason("temperature-limit", 38.0, 32.0, "c")
NEW_YORK = ZoneInfo("America/New_York")


def with_orders(plan: DayPlan, *wanted: tuple[datetime, Action]) -> DayPlan:
    """The plan with these orders alone, all of one bench."""
    of = plan.benches[0].bench
    orders = [
        Order(n, time, None, of.house, of.id, action, WHY, Certainty.SURE, None, subject="white-tarp")
        for n, (time, action) in enumerate(wanted, start=1)
    ]
    return replace(plan, orders=tuple(orders))


def at(plan: DayPlan, clock: str) -> datetime:
    hours, minutes = clock.split(":")
    return at_local(plan.day, int(hours) * 60 + int(minutes), plan.site.timezone)


def later(plan: DayPlan, clock: str) -> DayPlan:
    """The same plan made at another clock, its window beginning then."""
    assert plan.window is not None
    now = at(plan, clock)
    return replace(plan, generated_at=now, window=replace(plan.window, start=now))


def events(content: bytes) -> dict[str, object]:
    """By UID, as vobject reads them."""
    found = vobject.readOne(content.decode())
    return {event.uid.value: event for event in getattr(found, "vevent_list", [])}


def rings(event) -> datetime:
    """The instant of an event's alarm: 3.8.6.3, a duration counts from the start."""
    return event.dtstart.value.astimezone(UTC) + event.valarm.trigger.value


@pytest.mark.parametrize("name", SAMPLES)
def test_every_order_that_asks_for_hands_is_an_entry_with_its_alarm(name):
    plan = SAMPLES[name]()
    wanted = [order for order in plan.orders if asks_for_hands(order)]
    found = events(calendar(plan))
    assert len(found) == len(wanted)
    assert sorted(rings(e) for e in found.values()) == sorted(o.time.astimezone(UTC) - AHEAD for o in wanted)
    quiet = {o.action for o in plan.orders if not asks_for_hands(o)}
    assert quiet <= {Action.LEAVE_ALONE, Action.LEAVE_OFF, Action.LEAVE_ON}


def test_a_second_parser_reads_the_same():
    ics = pytest.importorskip("ics")
    plan = SAMPLES["everything"]()
    found = ics.Calendar(calendar(plan).decode())
    assert {e.uid for e in found.events} == set(events(calendar(plan)))
    wanted = sorted(o.time.astimezone(UTC) for o in plan.orders if asks_for_hands(o))
    assert sorted(e.begin.datetime.astimezone(UTC) for e in found.events) == wanted
    assert all([a.trigger for a in e.alarms] == [-AHEAD] for e in found.events)


@pytest.mark.parametrize(
    ("day", "clock", "utc"),
    [  # US rules: Energy Policy Act of 2005, section 110: second Sunday of March, first of November, at 02:00
        (date(2026, 3, 8), "01:45", "06:45"),
        (date(2026, 3, 8), "06:30", "10:30"),
        (date(2026, 3, 7), "06:30", "11:30"),
        (date(2026, 11, 1), "00:45", "04:45"),
        (date(2026, 11, 1), "01:45", "05:45"),  # its end is 01:00 again
        (date(2026, 11, 1), "06:30", "11:30"),
        (date(2026, 10, 31), "06:30", "10:30"),
    ],
)
def test_alarms_over_both_clock_changes(day, clock, utc):
    plan = day_plan(range_of(1, day), day, now_min=0)
    [event] = events(calendar(with_orders(plan, (at(plan, clock), Action.COVER)))).values()
    expected = datetime.fromisoformat(f"{day}T{utc}+00:00")
    assert event.dtstart.value.astimezone(UTC) == expected
    assert event.dtend.value.astimezone(UTC) == expected + timedelta(minutes=15)
    assert rings(event) == expected - AHEAD


def test_two_looks_in_one_minute_are_told_apart():
    """3.8.7.4: a calendar takes the revision with the greater sequence."""
    plan = SAMPLES["dull"]()
    first = calendar(with_orders(plan, (at(plan, "10:00"), Action.COVER)))
    second = calendar(with_orders(plan, (at(plan, "11:00"), Action.COVER)), first)
    third = calendar(with_orders(plan), second)
    found = [next(iter(events(text).values())) for text in (first, second, third)]
    assert len({event.uid.value for event in found}) == 1 and found[2].status.value == "CANCELLED"
    assert [int(event.sequence.value) - int(found[0].sequence.value) for event in found] == [0, 1, 2]


def test_a_new_order_does_not_push_those_that_stand_from_their_entries():
    plan = SAMPLES["dull"]()
    by_clock = [(at(plan, clock), Action.COVER) for clock in ("09:30", "10:00", "14:00")]
    first = calendar(with_orders(plan, *by_clock[1:]))
    second = calendar(with_orders(plan, *by_clock), first)
    before, after = ({u: e.dtstart.value for u, e in events(text).items()} for text in (first, second))
    assert len(after) == 3 and before.items() <= after.items()


def test_an_alarm_before_the_change_for_an_order_after_it():
    """03:00 on the day clocks go forward: the alarm rings five minutes before, at 01:55 of winter time."""
    day = date(2026, 3, 8)
    plan = day_plan(range_of(1, day), day, now_min=0)
    [event] = events(calendar(with_orders(plan, (at(plan, "03:00"), Action.LAMPS_ON)))).values()
    assert rings(event) == datetime(2026, 3, 8, 6, 55, tzinfo=UTC)


def test_the_hour_that_comes_twice():
    """3.3.5, form 3: a local time that comes twice is the first; the second can only be said in UTC."""
    day = date(2026, 11, 1)
    plan = day_plan(range_of(1, day), day, now_min=0)
    first = datetime(2026, 11, 1, 1, 30, tzinfo=NEW_YORK)
    second = first.replace(fold=1)
    text = calendar(with_orders(plan, (first, Action.LAMPS_ON), (second, Action.LAMPS_ON)))
    starts = sorted(e.dtstart.value.astimezone(UTC) for e in events(text).values())
    assert starts == [datetime(2026, 11, 1, 5, 30, tzinfo=UTC), datetime(2026, 11, 1, 6, 30, tzinfo=UTC)]


def test_the_zone_stands_in_the_file():
    """3.6.5: a TZID must have its VTIMEZONE; both rules of the year are in it."""
    text = calendar(SAMPLES["dull"]()).decode()
    assert "TZID=America/New_York" in text
    zone = re.search(r"BEGIN:VTIMEZONE.*END:VTIMEZONE", text, re.DOTALL)
    assert zone and "BEGIN:DAYLIGHT" in zone[0] and "BEGIN:STANDARD" in zone[0]


def test_lines_and_what_must_be_there():
    """3.1: lines end in CRLF and are folded at 75 octets; 3.6: version, product; 3.6.1: uid and stamp."""
    content = calendar(SAMPLES["everything"]())
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")
    text = content.decode()
    assert text.count("BEGIN:VEVENT") == text.count("\r\nUID:") == text.count("\r\nDTSTAMP:")
    assert "\r\nVERSION:2.0\r\n" in text and "\r\nPRODID:" in text


def test_uids_are_stable_and_tell_apart():
    plan = SAMPLES["everything"]()
    once, again = events(calendar(plan)), events(calendar(later(plan, "05:30")))
    assert set(once) == set(again)
    assert all(uid.startswith("invented-range.2026-01-10.") for uid in once)
    next_day = replace(plan, day=date(2026, 1, 11))
    assert not set(once) & set(events(calendar(next_day)))


@pytest.fixture
def morning() -> DayPlan:
    day = date(2026, 4, 21)
    plan = day_plan(range_of(1, day), day)
    return with_orders(
        plan,
        (at(plan, "08:00"), Action.CHECK_WATER),
        (at(plan, "12:00"), Action.CHECK_WATER),
        (at(plan, "16:00"), Action.CHECK_WATER),
        (at(plan, "12:30"), Action.COVER),
    )


def status(content: bytes) -> dict[str, str]:
    return {str(uid).split(".", 3)[3]: event.status.value for uid, event in events(content).items()}


def test_a_noon_look_moves_keeps_and_takes_back(morning):
    first = calendar(morning)
    noon = later(
        with_orders(
            morning, (at(morning, "13:15"), Action.COVER), (at(morning, "16:00"), Action.CHECK_WATER)
        ),
        "11:30",
    )
    second = calendar(noon, first)
    old, new = events(first), events(second)
    assert set(old) == set(new)
    by = {uid.split(".", 3)[3].removesuffix("@lightplan"): uid for uid in new}
    assert status(second) == {
        "check-water.1@lightplan": "CONFIRMED",  # past: stays as it was
        "check-water.2@lightplan": "CANCELLED",
        "check-water.3@lightplan": "CONFIRMED",
        "cover.1@lightplan": "CONFIRMED",
    }
    assert new[by["cover.1"]].dtstart.value == at(morning, "13:15")
    assert new[by["check-water.1"]].dtstart.value == at(morning, "08:00")
    sequence = {
        name: (int(old[uid].sequence.value), int(new[uid].sequence.value)) for name, uid in by.items()
    }
    assert sequence["check-water.1"][0] == sequence["check-water.1"][1]
    assert all(sequence[name][1] > sequence[name][0] for name in ("check-water.2", "cover.1"))
    assert not hasattr(new[by["check-water.2"]], "valarm")


def test_what_comes_back_in_the_afternoon_has_its_entry_again(morning):
    noon = later(with_orders(morning, (at(morning, "16:00"), Action.CHECK_WATER)), "11:30")
    second = calendar(noon, calendar(morning))
    third = calendar(later(with_orders(morning, (at(morning, "15:30"), Action.COVER)), "14:00"), second)
    assert status(third)["cover.1@lightplan"] == "CONFIRMED"
    assert status(third)["check-water.3@lightplan"] == "CANCELLED"
    of_cover = next(uid for uid in events(third) if "cover.1" in uid)
    assert int(events(third)[of_cover].sequence.value) > int(events(second)[of_cover].sequence.value)


def test_a_lost_file_still_grows_in_sequence(morning):
    noon = later(morning, "07:00")
    assert all(
        int(e.sequence.value) > int(events(calendar(morning))[uid].sequence.value)
        for uid, e in events(calendar(noon)).items()
    )


def test_nothing_changed_nothing_touched(morning):
    assert calendar(later(morning, "06:00"), calendar(morning)) == calendar(morning)


@pytest.mark.parametrize(
    "junk", [b"", b"\x00\xff", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nEND:VEVENT\r\nEND:VCALENDAR"]
)
def test_a_broken_file_is_told(morning, junk):
    with pytest.raises(ValueError, match="not a calendar file"):
        calendar(morning, junk)


def test_names_of_any_kind(morning):
    text = calendar(with_orders(morning, (at(morning, "08:00"), Action.COVER)))
    day = morning.day
    odd = replace(morning.site, id='Ä b;c,d:"e"\n', benches=morning.site.benches)
    renamed = calendar(replace(morning, site=odd))
    assert len(events(text)) == 1
    assert all(uid.isascii() and str(day) in uid and " " not in uid for uid in events(renamed))


def test_stand_by_is_tentative(morning):
    unsure = replace(morning.orders[0], certainty=Certainty.STAND_BY, odds=0.3)
    [event] = events(calendar(replace(morning, orders=(unsure,)))).values()
    assert event.status.value == "TENTATIVE"
    assert "3 in 10" in event.description.value
    assert event.dtend.value - event.dtstart.value == timedelta(minutes=15)

"""A parcel as a morning makes one, from an invented plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from lightplan.deliver.parcel import Parcel

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 4, 21)
MADE = datetime(2026, 4, 21, 5, 15, tzinfo=ZONE)
PDF = b"%PDF-1.7 invented %%EOF\n"
ICS = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n"


def parcel(day: date = DAY, **changes: object) -> Parcel:
    made = MADE + timedelta(days=(day - DAY).days)
    name = day.isoformat()
    found = Parcel(
        site="invented-range",
        day=day,
        made_at=made,
        subject=f"Invented Range, {name}: a dull day – lamps on Ωmega",
        text="1. 06:30 Plugs, Glasshouse: set timer on 16:15, off 22:00.\n",
        files=((f"{name}.pdf", PDF), (f"{name}.html", b"<html></html>"), (f"{name}.ics", ICS)),
    )
    return replace(found, **changes)  # type: ignore[arg-type]

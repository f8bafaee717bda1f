"""Rules of `[site]` and `[weather]`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from zoneinfo import ZoneInfo, available_timezones

from lightplan.site.problems import Problem, held, nearest
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_site import SiteTable, WeatherTable


def zone_called(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # not found, not a name at all, a folder of zones
        return None


@rule(SiteTable, "timezone")
def known_zone(row: Row, around: Around) -> Iterator[Problem]:
    if zone_called(row["timezone"]) is None:
        zones = sorted(available_timezones())
        near = nearest(row["timezone"], zones)
        hint = f'the nearest is "{near}"' if near else 'give an IANA name like "Europe/London"'
        if any(zone.startswith(f"{row['timezone']}/") for zone in zones):
            hint = 'write a city after it, like "Europe/London"'
        yield wrong(row, "timezone", f", which is no time zone; {hint}", "unknown-name")


@rule(SiteTable, "crew")
def crew_comes(row: Row, around: Around) -> Iterator[Problem]:
    if not any(row["crew"]):
        yield wrong(row, "crew", "; give hours for one day of the week at least", "no-crew")


@rule(WeatherTable, "source", "file", "typical")
def source_has_its_file(row: Row, around: Around) -> Iterator[Problem]:
    source = row["source"]
    if source == "file" and not row["file"]:
        yield row.problem("file", 'file is missing; source "file" needs the CSV to read', "missing-key")
    if source == "typical-year" and not (row["file"] or row["typical"]):
        needs = 'file is missing; source "typical-year" needs the file to read, or "pvlib:NAME"'
        yield row.problem("file", needs, "missing-key")


@rule(WeatherTable, "url", "ensemble_url")
def addresses(row: Row, around: Around) -> Iterator[Problem]:
    for key in ("url", "ensemble_url"):
        if row[key] and not re.match(r"https?://\S+$", row[key]):
            yield wrong(row, key, '; give a whole address, starting with "https://"', "wrong-value")


@rule(WeatherTable, "api_key_env")
def names_a_variable(row: Row, around: Around) -> Iterator[Problem]:
    if row["api_key_env"] and not re.fullmatch(r"[A-Za-z_]\w*", row["api_key_env"]):
        # what stands there may be the key itself: it is not repeated
        needs = "api_key_env does not look like a variable's name; put the key into an environment variable"
        yield row.problem("api_key_env", f"{needs} and its name here", "wrong-value")


@rule(WeatherTable, "source", "then")
def others_to_try(row: Row, around: Around) -> Iterator[Problem]:
    twice = [
        name for number, name in enumerate(row["then"]) if name in (row["source"], *row["then"][:number])
    ]
    for name in twice:
        yield row.problem("then", f"then holds {held(name)}, which is tried already; take it out", "twice")


RULES = (known_zone, crew_comes, source_has_its_file, addresses, names_a_variable, others_to_try)

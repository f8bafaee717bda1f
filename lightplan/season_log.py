"""A season as one CSV: what was measured, ordered and done, by time."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from lightplan.records import FILE_NAME, open_records
from lightplan.records_readings import Row, readings
from lightplan.site.models import Site

HEADER = (
    "time", "what", "number", "kind", "house", "bench", "words", "value", "unit", "inside_umol_m2_s",
    "outside_umol_m2_s", "min_c", "max_c", "meter", "entered_at", "struck_at", "struck_why",
)  # fmt: skip


def season_log(site: Site, *, with_orders: bool) -> str:
    """Readings as CSV text, struck ones marked. with_orders : and what each day's last sheet ordered.

    Times are the site's own with offset. Raises RecordsError.
    """
    lines = [_reading(row, site) for row in readings(site.folder, struck=True)]
    if with_orders:
        lines += _ordered(site.folder)
    lines.sort(
        key=lambda line: (datetime.fromisoformat(str(line["time"])).astimezone(UTC), str(line["what"]))
    )
    text = io.StringIO()
    writer = csv.DictWriter(text, HEADER, lineterminator="\n", restval="")
    writer.writeheader()
    writer.writerows(lines)
    return text.getvalue()


def _reading(row: Row, site: Site) -> dict[str, object]:
    detail = row.detail

    def local(moment: datetime | None) -> str:
        return moment.astimezone(site.timezone).isoformat(timespec="minutes") if moment else ""

    line: dict[str, object] = {
        "time": local(row.at),
        "what": "done" if row.kind in ("done", "washed") else "measured",
        "number": row.number,
        "kind": row.kind,
        "house": row.house or "",
        "bench": row.bench or "",
        "words": row_words(row),
        "unit": detail.get("unit", ""),
        "meter": detail.get("meter", ""),
        "entered_at": local(row.entered_at),
        "struck_at": local(row.struck_at),
        "struck_why": row.struck_why or "",
    }
    if row.kind == "light":
        line |= {
            "value": detail["inside"],
            "inside_umol_m2_s": detail["inside_umol"],
            "outside_umol_m2_s": "" if detail["outside_umol"] is None else detail["outside_umol"],
        }
    elif row.kind == "lamps":
        line |= {"value": detail["value"], "inside_umol_m2_s": detail["umol"]}
    elif row.kind == "temperature":
        line |= {key: "" if detail[key] is None else detail[key] for key in ("min_c", "max_c")} | {
            "unit": "c"
        }
    elif row.kind == "germination":
        line |= {"value": detail["up"]}
    return line


def row_words(row: Row) -> str:
    """A reading in a few words of SI."""
    d = row.detail
    match row.kind:
        case "light":
            outside = "clear sky" if d["outside_umol"] is None else f"{d['outside_umol']:.0f} outside"
            under = f", under {d['under']}" if d["under"] else ""
            tent = f", tent {d['tent']}" if d["tent"] else ""
            return f"{d['inside_umol']:.0f} µmol inside, {outside}{tent}{under}"
        case "lamps":
            return f"{d['umol']:.0f} µmol under the lamps"
        case "temperature":
            parts = (("low", d["min_c"]), ("high", d["max_c"]))
            as_read = "{1:.0f} °F ({0:.1f} °C)" if d.get("fahrenheit") else "{0:.1f} °C"
            seen = ((name, as_read.format(v, v * 1.8 + 32)) for name, v in parts if v is not None)
            return ", ".join(f"{name} {value}" for name, value in seen)
        case "germination":
            return f"{d['up']} of {d['of']} up"
        case "done":
            return f"order {d['order']} of {d['day']} {'done' if d['done'] else 'not done'}"
        case "washed":
            return "washed"
        case _:
            return f"logger {d['file']}: {d['rows']} rows of {d['quantity']}"


def _ordered(folder: Path) -> Iterator[dict[str, object]]:
    if not (folder / FILE_NAME).exists():
        return
    with open_records(folder) as db:
        texts = db.execute("SELECT day, plan_json FROM plan ORDER BY made_at").fetchall()
    for text in dict(texts).values():  # the day's last sheet
        for order in json.loads(text)["orders"]:
            yield {
                "time": datetime.fromisoformat(order["time"]).isoformat(timespec="minutes"),
                "what": "ordered",
                "number": order["number"],
                "kind": order["action"],
                "house": order["house"] or "",
                "bench": order["bench"] or "",
                "words": order["what"],
            }

"""Every fault of a service against the whole `lightplan morning`, with its real patience, one process each.

Run: python -m tests.bench.bench_faults [PART OF A NAME ...]. Prints a table: fault, exit code, seconds, what
stands on the sheet. An answer of the morning before is kept where `kept` is said, so that both ways down the
chain are seen.
"""

from __future__ import annotations

import json
import os
import socket
import ssl
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import trustme

from lightplan.clock import grid_over
from lightplan.site.models import SourceName
from lightplan.site.read import load_site
from lightplan.sky import make_sky
from lightplan.weather.clear_sky import clear_day_sums, clear_sky_table
from lightplan.weather.kept_answers import KeptAnswers
from tests.conftest import ROOT
from tests.small_site import at_service, write_small_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving
from tests.weather.faults import CLOCK_CHANGES, FAULTS, changed, wall_clock

DAY = datetime(2026, 4, 21)
RUN = "import sys; from lightplan.cli import main; sys.exit(main())"
Where = Callable[[Path], AbstractContextManager[str]]  # the site's folder → [weather] of its file


def body_for(folder: Path, day: datetime) -> dict:
    site = load_site(folder).site
    return bodies.open_meteo(site, day.replace(tzinfo=site.timezone) - timedelta(days=1), clearness=0.2)


def from_table(name: str) -> Where:
    @contextmanager
    def where(folder: Path) -> Iterator[str]:
        with serving(FAULTS[name].answer(body_for(folder, DAY))) as server:
            yield at_service(server.url)

    return where


def clock_change(name: str) -> Where:
    zone, day, _ = CLOCK_CHANGES[name]

    @contextmanager
    def where(folder: Path) -> Iterator[str]:
        text = changed(body_for(folder, datetime.fromisoformat(day)), wall_clock(zone))
        with serving(reply(text)) as server:
            yield at_service(server.url)

    return where


@contextmanager
def refused(folder: Path) -> Iterator[str]:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    yield at_service(f"http://127.0.0.1:{port}")


@contextmanager
def no_such_name(folder: Path) -> Iterator[str]:
    yield at_service("http://weather.invalid")


@contextmanager
def no_tls(folder: Path) -> Iterator[str]:
    with serving(reply("{}")) as server:
        yield at_service(server.url.replace("http:", "https:"))


@contextmanager
def wrong_certificate(folder: Path) -> Iterator[str]:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority = trustme.CA()
    authority.issue_cert("weather.example").configure_cert(context)
    os.environ["REQUESTS_CA_BUNDLE"] = str(folder.parent / "authority.pem")
    authority.cert_pem.write_to_path(os.environ["REQUESTS_CA_BUNDLE"])
    try:
        with serving(reply("{}"), tls=context) as server:
            yield at_service(server.url)
    finally:
        del os.environ["REQUESTS_CA_BUNDLE"]


@contextmanager
def stale_grid(folder: Path) -> Iterator[str]:
    site = load_site(folder).site
    grid = bodies.nws_grid(site, DAY.replace(tzinfo=site.timezone) - timedelta(hours=20), cover=0.0)
    with serving(reply(json.dumps(grid))) as server:
        yield at_service(f"{server.url}/gridpoints/TST/4,7", "nws")


CASES: dict[str, tuple[Where, datetime]] = {
    "refused": (refused, DAY),
    "no such name": (no_such_name, DAY),
    "no TLS": (no_tls, DAY),
    "certificate of another name": (wrong_certificate, DAY),
    "stale grid, status 200, sunny": (stale_grid, DAY),
    **{name: (from_table(name), DAY) for name in FAULTS},
    **{name: (clock_change(name), datetime.fromisoformat(CLOCK_CHANGES[name][1])) for name in CLOCK_CHANGES},
}


def morning(folder: Path, now: datetime) -> tuple[int, float, str]:
    words = [sys.executable, "-c", RUN, "morning", str(folder), "--now", f"{now:%Y-%m-%dT%H:%M}"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = time.monotonic()
    done = subprocess.run(words, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=120)
    return done.returncode, time.monotonic() - started, done.stderr.strip()


def low_over_clear(folder: Path, day: datetime) -> float:
    """`dli_low` of the sheet over the DLI of a clear day."""
    site = load_site(folder).site
    sheet = json.loads((folder / "sheets" / f"{day:%Y-%m-%d}.json").read_text(encoding="utf-8"))
    outdoor, of_clear = sheet["outdoor"], clear_day_sums(site, (day.date(),))[0]
    grid = grid_over(day.date(), 1, site.timezone)
    table = clear_sky_table(site, grid.times[::4])
    share = table["ghi_w_m2"].sum() / of_clear
    clear_dli = make_sky(site, table, grid).ppfd_umol_m2_s.sum() * 900 / 1e6 / share
    return float(outdoor["dli_low"] / clear_dli)


def main(*parts: str) -> None:
    print(f"{'fault':30} {'kept':4} exit    s  low/clear  what the sheet says")
    slowest, wrong = 0.0, 0
    for number, (name, (where, day)) in enumerate(CASES.items()):
        if parts and not any(part in name for part in parts):
            continue
        kept = number % 2 == 1
        with tempfile.TemporaryDirectory() as temporary:
            folder = write_small_site(Path(temporary) / "site")
            if kept:
                before = (day - timedelta(days=1)).replace(tzinfo=load_site(folder).site.timezone)
                answer = {"forecast": body_for(folder, before.replace(tzinfo=None))}
                kept_answers = KeptAnswers(load_site(folder).site)
                kept_answers.keep(SourceName.OPEN_METEO, before + timedelta(hours=5), answer)
            with where(folder) as weather:
                write_small_site(folder, weather)
                code, seconds, _ = morning(folder, day + timedelta(hours=5))
            sheet = json.loads((folder / "sheets" / f"{day:%Y-%m-%d}.json").read_text(encoding="utf-8"))
            low = low_over_clear(folder, day)
        slowest = max(slowest, seconds)
        wrong += code not in (0, 3) or low >= 0.5 or seconds > 60
        reason = sheet["weather"]["fallback_reason"]
        age = sheet["weather"]["age_hours"]
        aged = "" if age is None else f" [{sheet['weather']['source']}, {age:.0f} h]"
        print(
            f"{name:30} {'yes' if kept else 'no':4} {code:4} {seconds:4.1f}  {low:9.2f}  {reason}{aged}",
            flush=True,
        )
    print(f"slowest {slowest:.1f} s; {wrong} outside the promise")


if __name__ == "__main__":
    main(*sys.argv[1:])

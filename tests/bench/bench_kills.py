"""Kill -9 a morning at random points. Run: python -m tests.bench.bench_kills [COUNT [SEED [FORMATS]]]"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path

from lightplan.site.read import load_site
from tests.conftest import ROOT
from tests.small_site import at_service, write_small_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving

COUNT, SEED, FORMATS = "200", "1", "html,json"


def main(count: str = COUNT, seed: str = SEED, formats: str = FORMATS) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        folder = write_small_site(Path(temporary) / "site")
        body = bodies.open_meteo(load_site(folder).site, datetime.fromisoformat("2026-04-20T00:00+02:00"), 14)
        with serving(reply(json.dumps(body))) as server:
            write_small_site(folder, at_service(server.url))
            words = [sys.executable, "-m", "tests.kills", str(folder), count, seed, formats]
            environment = {**os.environ, "PYTHONPATH": str(ROOT)}
            done = subprocess.run(words, cwd=ROOT, env=environment, capture_output=True, text=True)
        print(done.stderr, end="")
        for name, value in json.loads(done.stdout).items():
            print(f"{name:24} {value}")


if __name__ == "__main__":
    main(*sys.argv[1:])

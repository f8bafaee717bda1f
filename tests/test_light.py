"""Daily light integrals held against published worked examples."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.clock import grid_over
from lightplan.light import daily_light_integral

ROWS = {
    row["example_id"]: row
    for row in csv.DictReader(
        (Path(__file__).parent / "authorities" / "worked_examples.csv")
        .read_text(encoding="utf-8")
        .splitlines()
    )
}
# Sources stand in the file: Faust, Mortensen 2014, Frantz 2004, Randall & Lopez 2015, Hurt et al. 2019
PUBLISHED = ("dli_38", "dli_100_16", "dli_300_20", "dli_1000_16", "ssl_185_16", "sl_70_16")


@pytest.mark.parametrize("example", PUBLISHED)
def test_published_worked_examples(example):
    row = ROWS[example]
    ppfd, hours = (float(part.split("=")[1]) for part in row["inputs"].split(";"))
    grid = grid_over(date(2026, 5, 1), 1, ZoneInfo("UTC"))
    light = np.where(np.arange(96) < hours * 4, ppfd, 0.0)
    assert daily_light_integral(light, grid)[0] == pytest.approx(
        float(row["expected_value"]), abs=float(row["tolerance_abs"])
    )


def test_a_day_of_25_hours_holds_25_hours_of_light():
    grid = grid_over(date(2026, 10, 25), 2, ZoneInfo("Europe/Berlin"))
    days = daily_light_integral(np.full(len(grid), 100.0), grid)
    assert days == pytest.approx([100 * 25 * 0.0036, 100 * 24 * 0.0036])


@pytest.mark.parametrize("bad", [np.nan, -1.0])
def test_nan_and_negative_light_are_refused(bad):
    grid = grid_over(date(2026, 5, 1), 1, ZoneInfo("UTC"))
    with pytest.raises(ValueError, match="nan or negative"):
        daily_light_integral(np.full(96, bad), grid)

"""Makes the invented weather years of two sample sites: `python -m tests.invent_weather`.

Nothing here was measured. Days go from bright to dull with a memory of the day before, monthly sums are
set to what is plausible at the latitude, air follows the season, the hour and the light.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from lightplan.weather.clear_sky import clear_sky_ghi
from tests.places import bare_site

SAMPLES = Path(__file__).parents[1] / "sample_sites"

# kWh m⁻² d⁻¹ by month, chosen by us for a maritime place at 52 N and at 46 S
QUILLFEN = (0.70, 1.35, 2.45, 3.80, 4.80, 5.20, 4.95, 4.20, 2.90, 1.60, 0.85, 0.52)
TUSSOCKBROOK = (5.90, 5.00, 3.60, 2.20, 1.30, 0.95, 1.10, 1.80, 2.95, 4.20, 5.30, 6.00)

MEMORY = 0.55  # of a day's brightness in the next
DAY_SPREAD = 0.45  # of the logarithm of a day's clearness
HOUR_SPREAD = 0.25


def invented_year(
    site, monthly_kwh: tuple[float, ...], mean_c: float, swing_c: float, seed: int
) -> pd.DataFrame:
    random = np.random.default_rng(seed)
    times = pd.date_range("2023-01-01", periods=8760, freq="h", tz="UTC")
    clear = clear_sky_ghi(site, times).to_numpy()
    day = np.arange(8760) // 24
    mood = np.zeros(365)
    for n in range(1, 365):
        mood[n] = MEMORY * mood[n - 1] + np.sqrt(1 - MEMORY**2) * random.normal()
    clearness = np.clip(
        0.6 * np.exp(DAY_SPREAD * mood)[day] * np.exp(HOUR_SPREAD * random.normal(size=8760)), 0.06, 1.0
    )
    ghi = clear * clearness
    month = times.month.to_numpy()
    for m, wanted in enumerate(monthly_kwh, start=1):
        of_month = month == m
        days = of_month.sum() / 24
        for _ in range(30):
            have = ghi[of_month].sum() / 1000 / days
            ghi[of_month] = np.minimum(ghi[of_month] * wanted / have, clear[of_month])
    warmest = 205 if site.latitude > 0 else 22
    season = np.cos(2 * np.pi * (times.day_of_year.to_numpy() - warmest) / 365)
    local_hour = times.hour.to_numpy() + site.longitude / 15
    bright = np.repeat(ghi.reshape(365, 24).sum(1) / np.maximum(clear.reshape(365, 24).sum(1), 1), 24)
    air = mean_c + swing_c * season + (1.5 + 5 * bright) * np.cos(2 * np.pi * (local_hour - 14.5) / 24)
    air = air + 2.5 * np.repeat(np.convolve(random.normal(size=365), np.ones(3) / np.sqrt(3), "same"), 24)
    wind = np.clip(3.5 + 1.5 * np.repeat(random.normal(size=365), 24) + random.normal(size=8760), 0.3, 18)
    return pd.DataFrame(
        {
            "time": times.strftime("%Y-%m-%dT%H:%M+00:00"),
            "ghi_w_m2": ghi.round(0).astype(int),
            "temp_air_c": air.round(1),
            "wind_m_s": wind.round(1),
            "gust_m_s": (1.6 * wind + 0.5).round(1),
        }
    )


def main() -> None:
    places = (
        ("quillfen", bare_site(52.1, -0.4), QUILLFEN, 10.4, 6.6, 52),
        ("tussockbrook", bare_site(-46.1, 168.9), TUSSOCKBROOK, 9.9, 4.8, 46),
    )
    for name, site, monthly, mean_c, swing_c, seed in places:
        invented_year(site, monthly, mean_c, swing_c, seed).to_csv(
            SAMPLES / name / "weather.csv", index=False, lineterminator="\n"
        )


if __name__ == "__main__":
    main()

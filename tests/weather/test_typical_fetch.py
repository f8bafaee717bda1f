"""A typical year fetched once: PVGIS's form through pvlib's reader, else middle months of an archive."""

from __future__ import annotations

import json
from datetime import date

import numpy as np
import pandas as pd
import pytest

from lightplan.clock import grid_over
from lightplan.site.models import SourceName
from lightplan.weather import typical_fetch
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.fetch import weather_for
from lightplan.weather.table import Kind, SourceFault
from lightplan.weather.typical import own_typical_year
from lightplan.weather.typical_fetch import fetch_typical_year, has_typical_year
from tests.places import bare_site
from tests.weather.fault_server import by_path, reply, serving

YEARS = {1: 2009, 2: 2011, 3: 2007}  # the year that a month is from; others 2010


def place(folder, zone="Europe/Berlin", longitude=13.4):
    return bare_site(
        52.5, longitude, zone, source=SourceName.OPEN_METEO, folder=folder, url="http://127.0.0.1:9"
    )


def pvgis_body(site, share=0.4, offset_h=0.2):
    """Every hour of a year at `share` of the clear sky, as instants a little after the stamp. Invented."""
    hours = pd.date_range("2001-01-01", periods=8760, freq="h", tz="UTC")
    moment = pd.Timedelta(minutes=4)
    at = hours + pd.Timedelta(hours=offset_h) - moment / 2
    light = clear_sky_ghi(site, at, moment).to_numpy() * share
    rows = [
        {
            "time(UTC)": f"{YEARS.get(t.month, 2010)}{t:%m%d:%H%M}",
            "T2m": 8.0 + 6 * np.sin((t.hour - 9) / 24 * 2 * np.pi),
            "RH": 70.0,
            "G(h)": round(float(g), 2),
            "Gb(n)": 0.0,
            "Gd(h)": round(float(g), 2),
            "IR(h)": 300.0,
            "WS10m": 3.0,
            "WD10m": 200.0,
            "SP": 100000.0,
        }
        for t, g in zip(hours, light, strict=True)
    ]
    months = [{"month": m, "year": YEARS.get(m, 2010)} for m in range(1, 13)]
    location = {
        "latitude": 52.5,
        "longitude": site.longitude,
        "elevation": 40,
        "irradiance_time_offset": offset_h,
    }
    return {
        "inputs": {"location": location, "meteo_data": {}},
        "outputs": {"months_selected": months, "tmy_hourly": rows},
        "meta": {"inputs": {}},
    }


def archive_body(site, years=range(2022, 2026)):
    """Four years, each of another brightness: 0.2, 0.25 ... of the clear sky. Invented."""
    hours = pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-31T23:00", freq="h", tz="UTC")
    starts = hours - pd.Timedelta(hours=1)
    share = 0.2 + 0.05 * (starts.year.to_numpy() - years[0]).clip(min=0)
    light = np.round(clear_sky_ghi(site, starts).to_numpy() * share, 1)
    return {
        "latitude": 52.5,
        "longitude": round(site.longitude, 2),
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "hourly_units": {"shortwave_radiation": "W/m²", "temperature_2m": "°C", "wind_speed_10m": "m/s"},
        "hourly": {
            "time": [f"{t:%Y-%m-%dT%H:%M}" for t in hours],
            "shortwave_radiation": light.tolist(),
            "temperature_2m": [9.0] * len(hours),
            "wind_speed_10m": [3.0] * len(hours),
        },
    }


@pytest.fixture
def fetched(tmp_path, monkeypatch):
    """Fetch from a server that answers as told; gives the file and what was asked."""

    def go(site, **answers):
        with serving(by_path({f"/{name}": answer for name, answer in answers.items()})) as server:
            monkeypatch.setattr(typical_fetch, "PVGIS", f"{server.url}/tmy")
            monkeypatch.setattr(typical_fetch, "ARCHIVE", f"{server.url}/archive")
            return fetch_typical_year(site, 2026, 8.0), server.asked

    return go


@pytest.mark.parametrize(
    ("zone", "longitude", "offset_h"), [("Europe/Berlin", 13.4, 0.2), ("Asia/Tokyo", 139.0, 0.5)]
)
def test_the_european_service_gives_each_hour_its_light(tmp_path, fetched, zone, longitude, offset_h):
    site = place(tmp_path, zone, longitude)
    assert not has_typical_year(site)
    path, asked = fetched(site, tmy=reply(json.dumps(pvgis_body(site, offset_h=offset_h))))
    assert path == tmp_path / "typical-year.csv"
    assert len(asked) == 1 and "lat=52.5000" in asked[0] and "usehorizon=0" in asked[0]
    year = own_typical_year(site)
    assert year is not None and year.days == 365
    clear = clear_sky_ghi(site, pd.DatetimeIndex(year.table.index))
    assert (year.table["ghi_w_m2"] - 0.4 * clear).abs().max() < 30  # lines between instants, at sunrise
    assert year.table["ghi_w_m2"].sum() == pytest.approx(0.4 * clear.sum(), rel=0.01)
    assert has_typical_year(site)
    found = weather_for(
        site, grid := grid_over(date(2026, 4, 21), 7, site.timezone), needed_until=grid.moment(96),
        now=grid.moment(20), offline=True,
    )  # fmt: skip
    assert found.kind is Kind.TYPICAL_YEAR
    assert found.attribution == typical_fetch.PVGIS_CREDIT
    assert found.usual_dli_mol_m2_d > 0


def test_the_archive_stands_in_with_the_middle_year_of_each_month(tmp_path, fetched):
    site = place(tmp_path)
    sea = reply('{"message": "Location over the sea."}', "400 Bad Request")
    _, asked = fetched(site, tmy=sea, archive=reply(json.dumps(archive_body(site))))
    assert len(asked) == 2 and "start_date=2018-01-01" in asked[1] and "end_date=2025-12-31" in asked[1]
    year = own_typical_year(site)
    clear = clear_sky_ghi(site, pd.DatetimeIndex(year.table.index))
    assert year.table["ghi_w_m2"].sum() == pytest.approx(0.25 * clear.sum(), rel=0.02)  # second of four
    assert "Open-Meteo" in (tmp_path / "typical-year.txt").read_text(encoding="utf-8")


def test_what_stands_is_never_overwritten(tmp_path, fetched):
    site = place(tmp_path)
    (tmp_path / "typical-year.csv").write_text("the grower's own", encoding="utf-8")
    with pytest.raises(FileExistsError):
        fetched(site, tmy=reply(json.dumps(pvgis_body(site))))
    assert (tmp_path / "typical-year.csv").read_text(encoding="utf-8") == "the grower's own"
    assert not (tmp_path / "typical-year.txt").exists()


def _shifted(body):
    rows = body["outputs"]["tmy_hourly"]
    light = [row["G(h)"] for row in rows]
    for row, value in zip(rows, light[6:] + light[:6], strict=True):
        row["G(h)"] = value
    return body


def _short(body):
    del body["outputs"]["tmy_hourly"][:2000]
    return body


def _null(body):
    for row in body["outputs"]["tmy_hourly"][3000:5000]:
        row["G(h)"] = None
    return body


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_shifted, "is not believed"),
        (_short, "without all its hours"),
        (_null, "without all its light"),
        (lambda body: {"outputs": 3}, "something other"),
        (lambda body: [], "something other"),
    ],
)
def test_a_year_that_makes_no_sense_is_refused(tmp_path, fetched, change, said):
    site = place(tmp_path)
    with pytest.raises(SourceFault, match=said) as fault:
        fetched(site, tmy=reply(json.dumps(change(pvgis_body(site)))))
    assert "the archive of open-meteo refuses the question" in str(fault.value)
    assert not (tmp_path / "typical-year.csv").exists()


def test_a_year_that_the_site_names_itself_is_enough(tmp_path):
    for name in ("pvlib:723170TYA.CSV", "gone.epw"):  # the second is the grower's to put right
        source = SourceName.OPEN_METEO
        assert has_typical_year(bare_site(52.5, 13.4, source=source, folder=tmp_path, typical=name))

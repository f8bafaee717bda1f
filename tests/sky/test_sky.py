"""Outdoor light: energy kept, night dark, measured sunlight matched by the hour."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from pvlib import irradiance, spectrum

from lightplan.clock import STEP_S, Grid, grid_over
from lightplan.par import photons_per_joule
from lightplan.refine import spread_over_steps
from lightplan.sky import make_sky, obstruction_deg, open_sky_share
from lightplan.sun import position, unix_seconds
from lightplan.weather.clear_sky import clear_sky_table
from lightplan.weather.table import empty_table
from tests.places import bare_site

GREENSBORO = bare_site(36.1, -79.95, "America/New_York", elevation_m=273)


def _table_over(grid: Grid, site) -> pd.DataFrame:
    hours = pd.date_range(grid.times[0].floor("h"), grid.times[-1].ceil("h"), freq="h")
    return clear_sky_table(site, hours)


def test_each_hour_keeps_its_energy():
    grid = grid_over(date(2026, 4, 21), 3, GREENSBORO.timezone)
    random = np.random.default_rng(4)
    table = _table_over(grid, GREENSBORO)
    table["ghi_w_m2"] *= random.uniform(0.1, 1.2, len(table))
    sky = make_sky(GREENSBORO, table, grid)
    refined = pd.Series(sky.beam_w_m2 + sky.diffuse_w_m2, index=sky.times).resample("h").mean()
    assert np.allclose(refined, table["ghi_w_m2"].reindex(refined.index), rtol=1e-3, atol=1e-6)


def test_energy_without_clear_sky_goes_by_the_sun_then_evenly():
    means = np.array([10.0, 4.0])
    spread = spread_over_steps(means, np.zeros(8), np.array([0, 1, 2, 1, 0, 0, 0, 0.0]))
    assert spread.reshape(2, 4).mean(1) == pytest.approx(means)
    assert spread[:4] == pytest.approx([0, 10, 20, 10])
    assert spread[4:] == pytest.approx([4.0] * 4)


def test_night_is_dark_and_nothing_is_negative():
    for latitude in (78.0, 36.0, -46.0):
        site = bare_site(latitude, 20.0)
        grid = grid_over(date(2026, 12, 20), 2, site.timezone)
        sky = make_sky(site, _table_over(grid, site), grid)
        assert (sky.ppfd_umol_m2_s[sky.elevation_deg < -1] == 0).all()
        assert (sky.beam_ppfd_umol_m2_s >= 0).all()
        assert (sky.diffuse_ppfd_umol_m2_s >= 0).all()


@pytest.mark.parametrize(
    ("zone", "day", "steps"),
    [
        ("Europe/Berlin", date(2026, 3, 29), 92),
        ("Europe/Berlin", date(2026, 10, 25), 100),
        ("Asia/Kolkata", date(2026, 3, 29), 96),
    ],
)
def test_grid_and_sky_of_odd_days(zone, day, steps):
    site = bare_site(50.0, 10.0, zone)
    grid = grid_over(day, 1, site.timezone)
    assert len(make_sky(site, _table_over(grid, site), grid).ppfd_umol_m2_s) == steps


def test_horizon_cuts_beam_behind_it_and_some_diffuse():
    """A wall of 30° all round leaves cos² 30° = 0.75 of a uniform sky (plain geometry)."""
    walled = dataclasses.replace(GREENSBORO, horizon=((0.0, 30.0), (180.0, 30.0)))
    grid = grid_over(date(2026, 12, 21), 1, GREENSBORO.timezone)
    table = _table_over(grid, GREENSBORO)
    free, cut = make_sky(GREENSBORO, table, grid), make_sky(walled, table, grid)
    assert open_sky_share(walled) == pytest.approx(0.75, abs=1e-6)
    assert cut.diffuse_ppfd_umol_m2_s == pytest.approx(0.75 * free.diffuse_ppfd_umol_m2_s)
    behind = 90 - free.zenith_deg < 30
    assert (cut.beam_ppfd_umol_m2_s[behind] == 0).all()
    assert cut.beam_ppfd_umol_m2_s[~behind] == pytest.approx(free.beam_ppfd_umol_m2_s[~behind])
    assert (free.beam_ppfd_umol_m2_s[~behind] > 0).any()


def test_horizon_is_drawn_round_north():
    site = dataclasses.replace(GREENSBORO, horizon=((10.0, 0.0), (350.0, 20.0)))
    assert obstruction_deg(site, np.array([0.0]))[0] == pytest.approx(10.0)


def test_extraterrestrial_light_of_fao_56():
    """FAO-56 example 8: 20 S, 3 September (day 246): Ra = 32.2 MJ m⁻² d⁻¹ (answer from memory); 1 % for
    the solar constant (1367 there, 1366.1 in pvlib) and the sun's path."""
    site = bare_site(-20.0, 0.0)
    start = pd.Timestamp("2025-09-03", tz="UTC")
    times = pd.date_range(start, periods=1440, freq="min") + pd.Timedelta(seconds=30)
    zenith = 90 - position(site, unix_seconds(times))[1]
    top = irradiance.get_extra_radiation(times) * np.clip(np.cos(np.radians(zenith)), 0, None)
    assert float(top.sum() * 60 / 1e6) == pytest.approx(32.2, rel=0.01)


def test_photons_of_the_standard_sun():
    """ASTM G173 global tilted, 280–4000 nm: 400–700 nm photons over all energy 1.98 µmol/J, over PAR energy
    4.60 µmol/J; McCree 1972 gives 4.57 for sun and sky (from memory)."""
    wave = np.arange(280.0, 4000.0, 0.5)
    sun = spectrum.get_reference_spectra(wavelengths=wave, standard="ASTM G173-03")["global"].to_numpy()
    par = (wave >= 400) & (wave <= 700)
    per_nm = sun * wave * 1e-9 / (6.62607015e-34 * 299792458 * 6.02214076e23) * 1e6
    photons = np.trapezoid(per_nm[par], wave[par])
    assert photons / np.trapezoid(sun, wave) == pytest.approx(1.98, abs=0.02)
    assert photons / np.trapezoid(sun[par], wave[par]) == pytest.approx(4.60, abs=0.02)
    assert photons / np.trapezoid(sun[par], wave[par]) == pytest.approx(4.57, abs=0.05)
    # our factor for a clear sky at that sun (air mass 1.5, zenith 48.2°, clearness about 0.75)
    ours = photons_per_joule(np.array([0.75]), np.array([48.2]))[0]
    assert ours == pytest.approx(photons / np.trapezoid(sun, wave), rel=0.03)


def test_jacovides_clear_and_overcast():
    """Jacovides hourly figures (par_conversion.csv): clear 1.94–2.002, overcast 2.074–2.124 µmol/J.

    The factor's own source is another place: allow 2 % past the clear range, 10 % past the overcast one.
    """
    zenith = np.array([35.0])
    clear, overcast = (float(photons_per_joule(np.array([kt]), zenith)[0]) for kt in (0.72, 0.15))
    assert 1.94 * 0.98 < clear < 2.002 * 1.02
    assert 2.074 < overcast < 2.124 * 1.10
    assert overcast > clear * 1.04  # a constant factor fails here


def _measured(shared, name: str) -> pd.DataFrame:
    data = pd.read_csv(shared / "weather" / "measured" / name, parse_dates=["end_utc"], index_col="end_utc")
    step = data.index[1] - data.index[0]
    return data.set_axis(data.index - step, axis=0)


@pytest.mark.parametrize(
    ("name", "column", "latitude", "longitude", "tolerance"),
    [
        ("helsinki_viikki_par_2015-08-22_10min.csv", "ppfd_licor_umol_m2_s", 60.227, 25.018, 0.04),
        ("ameriflux_us-crt_2011-01-01_30min.csv", "ppfd_umol_m2_s", 41.628, -83.347, 0.05),
    ],
)
def test_measured_par_by_the_hour(shared, name, column, latitude, longitude, tolerance):
    """Measured GHI through our chain against the PAR sensor beside it, hour by hour (MODEL_CHECKS: the
    factor is within 4 % of either; two good sensors differ by 4 %). Light an hour off must fail."""
    data = _measured(shared, name).resample("h").mean().clip(lower=0).dropna(subset=["ghi_w_m2", column])
    site = bare_site(latitude, longitude)
    first, last = data.index[0].date() + timedelta(days=1), data.index[-1].date() - timedelta(days=1)
    grid = Grid(tuple(d.date() for d in pd.date_range(first, last)), site.timezone)
    table = empty_table(pd.date_range(data.index[0], data.index[-1], freq="h"))
    table["ghi_w_m2"] = data["ghi_w_m2"].reindex(table.index).ffill()
    table["temp_air_c"] = 10.0
    sky = make_sky(site, table, grid)
    ours = pd.Series(sky.ppfd_umol_m2_s, index=sky.times).resample("h").mean()
    theirs = data[column].reindex(ours.index).ffill()
    assert ours.sum() == pytest.approx(theirs.sum(), rel=tolerance)
    bright = theirs > 0.1 * theirs.max()
    by_hour = np.abs(ours - theirs)[bright].mean() / theirs[bright].mean()
    shifted = np.abs(ours.shift(1) - theirs)[bright].mean() / theirs[bright].mean()
    assert by_hour < tolerance + 0.02
    assert shifted > 3 * by_hour


def test_measured_split_into_beam_and_diffuse(shared):
    """Lyngby 2016 (DTU): diffuse from global by dirint, hourly; MODEL_CHECKS prints a bias of +0.7 W/m² and
    RMSE 26 % on its rows. Sun taken half an hour late must be clearly worse."""
    data = _measured(shared, "dtu_lyngby_2016_hourly.csv").loc["2016-05-01":"2016-06-30"].clip(lower=0)
    site = bare_site(55.79, 12.53, elevation_m=40)
    grid = Grid(tuple(d.date() for d in pd.date_range("2016-05-02", "2016-06-29")), site.timezone)
    table = empty_table(data.index)
    table["ghi_w_m2"], table["temp_air_c"] = data["ghi_w_m2"].ffill(), 10.0
    given = table.assign(dhi_w_m2=data["dhi_w_m2"].ffill())
    modelled, truth = (
        pd.Series(make_sky(site, t, grid).diffuse_w_m2, index=grid.times).resample("h").mean()
        for t in (table, given)
    )
    lit = truth > 20
    assert abs((modelled - truth)[lit].mean()) < 0.08 * truth[lit].mean()
    rmse = np.sqrt(((modelled - truth)[lit] ** 2).mean()) / truth[lit].mean()
    assert rmse < 0.32
    late = table.shift(1).bfill()
    wrong = pd.Series(make_sky(site, late, grid).diffuse_w_m2, index=grid.times).resample("h").mean()
    assert np.sqrt(((wrong - truth)[lit] ** 2).mean()) / truth[lit].mean() > 1.25 * rmse


def test_typical_january_of_greensboro_gives_its_outdoor_light(shared):
    """tmy_monthly.csv: 17.6 mol m⁻² d⁻¹ by the constant 2.02 µmol/J; our factor may differ by 4 %."""
    from lightplan.weather.typical import read_typical_year

    reference = pd.read_csv(shared / "weather" / "tmy_monthly.csv")
    for file, site in (
        ("723170TYA.CSV", GREENSBORO),
        ("12839.tm2", bare_site(25.8, -80.27, "America/New_York")),
    ):
        year = read_typical_year(f"pvlib:{file}", site.folder)
        for month in (1, 4, 7, 12):
            grid = grid_over(date(2026, month, 1), 28, site.timezone)
            hours = pd.date_range(grid.times[0].floor("h"), grid.times[-1].ceil("h"), freq="h")
            sky = make_sky(site, year.at(hours), grid)
            ours = sky.ppfd_umol_m2_s.sum() * STEP_S / 1e6 / 28
            row = reference[(reference.file == file) & (reference.month == month)].iloc[0]
            assert ours == pytest.approx(row.dli_outdoor_mol_m2_d, rel=0.08)

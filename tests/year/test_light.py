"""A house's light and heat of the sun day by day: beam and diffuse each through their own losses."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from lightplan.clock import STEP_S
from lightplan.house.losses import losses_of
from lightplan.light import outdoors_of
from lightplan.site.models import Bars
from lightplan.year.light import house_light_year, house_sun

BEAM, EVEN = 0.8, 0.6
GLAZING = SimpleNamespace(beam=lambda zenith, azimuth: np.full(np.shape(zenith), BEAM), diffuse=lambda: EVEN)


@pytest.fixture(scope="module")
def barred(answer):
    """The wall house with deep bars: they take another share of the beam than of diffuse light."""
    year = answer.answer.year
    house = replace(year.house("wall").house, frame_loss=0.0, bars=Bars(0.6, 0.03, 0.2))
    losses = losses_of(house, outdoors_of(year.sky), year.grid)
    lit = year.sky.beam_ppfd_umol_m2_s > 0
    assert abs(losses.beam[lit] / losses.diffuse[lit] - 1).mean() > 0.02
    return year, house_sun(house, GLAZING, year.sky, year.grid), losses


def by_day(year, ppfd):
    return np.bincount(year.grid.day, weights=ppfd * STEP_S / 1e6)


def test_inside_light_is_beam_and_diffuse_each_with_its_losses(barred):
    year, sun, losses = barred
    sky, light = year.sky, house_light_year(sun, year.sky, year.grid)
    beam = by_day(year, sky.beam_ppfd_umol_m2_s * BEAM * losses.beam)
    even = by_day(year, sky.diffuse_ppfd_umol_m2_s * EVEN * losses.diffuse)
    assert light.beam_mol == pytest.approx(beam)
    assert light.inside_mol == pytest.approx(beam + even)
    assert light.outdoor_mol == pytest.approx(by_day(year, sky.ppfd_umol_m2_s))


def test_the_sun_s_heat_goes_the_way_of_its_light(barred):
    """Watts inside over watts outside are photons inside over photons outside, beam and diffuse each."""
    year, sun, losses = barred
    watts = year.sky.beam_w_m2 * BEAM * losses.beam + year.sky.diffuse_w_m2 * EVEN * losses.diffuse
    assert sun.sun_w_m2(year.sky) == pytest.approx(watts)

"""A tent's own sheet over a bench: the same optics as a house's panes."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from lightplan.house.optics import hemispherical
from lightplan.house.tent import tent_transmittance
from tests.house.houses import FILM, GLASS, glazing


def test_a_tent_passes_what_its_stack_does_at_the_suns_angle(shared):
    """Reference panes, tabulated to six digits; a level sheet is met at the sun's zenith angle."""
    table = pd.read_csv(shared / "reference_transmission" / "pane_angular.csv")
    for stack, column in (((FILM,), "film_T"), ((GLASS,), "glass_T"), ((FILM, FILM), "double_film_stack_T")):
        beam, _ = tent_transmittance(glazing(*stack), table.incidence_deg.to_numpy(dtype=float))
        assert np.abs(beam - table[column]).max() < 1e-6


def test_diffuse_is_the_hemispherical_share_and_haze_takes_nothing():
    film = glazing(FILM)
    beam, diffuse = tent_transmittance(film, [0.0, 60.0, 85.0])
    assert diffuse == pytest.approx(hemispherical((FILM,))[0])
    assert beam[0] == pytest.approx(0.9)
    assert (np.diff(beam) < 0).all()
    hazy, hazy_diffuse = tent_transmittance(dataclasses.replace(film, haze=0.6), [0.0, 60.0, 85.0])
    assert (hazy == beam).all()
    assert hazy_diffuse == diffuse


def test_no_sheet_passes_everything_and_no_beam_comes_from_below():
    beam, diffuse = tent_transmittance(glazing(), [0.0, 80.0])
    assert (beam == 1).all()
    assert diffuse == pytest.approx(1.0)
    assert tent_transmittance(glazing(FILM), [95.0])[0][0] == pytest.approx(0.0, abs=1e-6)

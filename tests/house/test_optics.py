"""Glazing stacks against published examples, another library, and what must hold for any pane."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pvlib import iam

from lightplan.house.optics import hemispherical, left_after_one_pass, stack_optics, surface_mirrors
from lightplan.site.models import Layer
from tests.house.houses import FILM, GLASS

ANGLES_DEG = np.array([0.0, 10, 20, 30, 40, 50, 60, 70, 80, 85, 89])
COSINES = np.cos(np.radians(ANGLES_DEG))

layers = st.lists(
    st.builds(
        Layer,
        n=st.floats(1.01, 2.5),
        extinction_per_m=st.floats(0, 60),
        thickness_mm=st.floats(0.05, 20),
    ),
    min_size=1,
    max_size=4,
)


def clear(n: float) -> Layer:
    return Layer(n=n, extinction_per_m=0.0, thickness_mm=4.0)


# Duffie & Beckman, Solar Engineering of Thermal Processes, 4th ed. (2013), index 1.526; the printed
# figures are from memory, held to half their last digit and one more for the book's rounding on the way.
def test_one_surface():
    """Example 5.1.1: reflectance 0.0434 square on, 0.093 at 60°."""
    across, along, _ = surface_mirrors(np.array([1.0, 0.5]), 1.526)
    assert (across + along) / 2 == pytest.approx([0.0434, 0.093], abs=0.0006)


def test_one_cover_that_absorbs_nothing():
    """Section 5.1: (1 − r) ∕ (1 + r) of both surfaces, 0.917 square on."""
    assert stack_optics((clear(1.526),), np.ones(1)).passed == pytest.approx([0.917], abs=0.0006)


def test_two_covers_that_absorb_nothing():
    """Example 5.1.2: 0.85 square on, 0.76 at 60°."""
    passed = stack_optics((clear(1.526),) * 2, np.array([1.0, 0.5])).passed
    assert passed == pytest.approx([0.85, 0.76], abs=0.006)


def test_a_cover_that_absorbs():
    """Example 5.3.1: 2.3 mm of glass, extinction 32 per metre, at 60°: transmittance 0.768."""
    cover = Layer(n=1.526, extinction_per_m=32.0, thickness_mm=2.3)
    assert stack_optics((cover,), np.array([0.5])).passed == pytest.approx([0.768], abs=0.001)


def test_relative_transmittance_is_pvlibs():
    """pvlib.iam.physical: De Soto et al. (2006), light into a cover that leaves it into the cell, without
    reflection at the back. One surface and one pass, so the two agree where little is thrown to and fro."""
    cover = Layer(n=1.526, extinction_per_m=4.0, thickness_mm=2.0)
    ours = _one_surface_and_pass(cover)
    theirs = iam.physical(ANGLES_DEG, n=1.526, K=4.0, L=0.002)
    assert np.abs(ours / ours[0] - theirs).max() < 1e-6


def _one_surface_and_pass(layer: Layer) -> np.ndarray:
    """(1 − mean surface reflectance) × absorption, from the same parts as a stack is made of."""
    across, along, inside = surface_mirrors(COSINES, layer.n)
    return (1 - (across + along) / 2) * left_after_one_pass(layer) ** (1 / inside)


def test_reference_panes(shared):
    """Tabulated to six digits beside the reference houses; two films as one stack."""
    table = pd.read_csv(shared / "reference_transmission" / "pane_angular.csv")
    cosines = np.cos(np.radians(table.incidence_deg.to_numpy(dtype=float)))
    for stack, passed, mirrored in (
        ((GLASS,), "glass_T", "glass_R"),
        ((FILM,), "film_T", "film_R"),
        ((FILM, FILM), "double_film_stack_T", "double_film_stack_R"),
    ):
        optics = stack_optics(stack, cosines)
        assert np.abs(optics.passed - table[passed]).max() < 1e-6
        assert np.abs(optics.mirrored_outside - table[mirrored]).max() < 1e-6
    apart = stack_optics((FILM,), cosines).passed ** 2
    assert np.abs(apart - table.double_film_stack_T).max() > 0.05  # two passes lose the polarisation


def test_an_endless_pane_passes_its_hemispherical_share(shared):
    """Case F of the reference: diffuse light through a level pane without end, traced to 0.1 %."""
    diffuse = pd.read_csv(shared / "reference_transmission" / "diffuse.csv")
    endless = diffuse.query("case == 'F' and sky == 'uniform'").T_total.item()
    floor_returns = diffuse.query("case == 'F_floor' and sky == 'uniform'").T_total.item()
    passed, _, inside = hemispherical((GLASS,))
    assert passed == pytest.approx(endless, abs=0.0002)
    assert passed / (1 - 0.2 * inside) == pytest.approx(floor_returns, abs=0.002)


@given(layers)
def test_no_light_is_made_and_both_ways_pass_alike(found):
    stack = tuple(found)
    ahead, back = stack_optics(stack, COSINES), stack_optics(stack[::-1], COSINES)
    assert np.abs(ahead.passed - back.passed).max() < 1e-12  # reciprocity
    assert np.abs(ahead.mirrored_inside - back.mirrored_outside).max() < 1e-12
    for mirrored in (ahead.mirrored_outside, ahead.mirrored_inside):
        taken = 1 - ahead.passed - mirrored
        assert taken.min() > -1e-12
    assert ahead.passed.min() >= 0


def test_passed_mirrored_and_taken_make_up_the_whole():
    """What one cover takes, by Duffie & Beckman 5.3.2 for each polarisation: (1 − r)(1 − t) ∕ (1 − r t)."""
    layer = Layer(n=1.526, extinction_per_m=32.0, thickness_mm=2.3)
    *both, inside = surface_mirrors(COSINES, layer.n)
    left = left_after_one_pass(layer) ** (1 / inside)
    taken = sum((1 - r) * (1 - left) / (1 - r * left) / 2 for r in both)
    optics = stack_optics((layer,), COSINES)
    assert np.abs(optics.passed + optics.mirrored_outside + taken - 1).max() < 1e-12
    assert np.abs(optics.passed + optics.mirrored_inside + taken - 1).max() < 1e-12


@given(layers)
def test_clear_layers_take_nothing(found):
    stack = tuple(clear(layer.n) for layer in found)
    optics = stack_optics(stack, COSINES)
    assert np.abs(optics.passed + optics.mirrored_outside - 1).max() < 1e-12
    assert np.abs(optics.passed + optics.mirrored_inside - 1).max() < 1e-12


@given(st.floats(1.0, 2.0), st.floats(0.05, 1.0))
def test_normal_transmittance_is_kept(n, share):
    most = 2 * n / (n * n + 1)  # of a layer that absorbs nothing
    layer = Layer(n=n, normal_transmittance=share * most)
    assert stack_optics((layer,), np.ones(1)).passed[0] == pytest.approx(share * most, abs=1e-9)


def test_more_than_the_index_allows_is_refused():
    with pytest.raises(ValueError, match=r"0\.95 is more than a layer of index 1\.52 can pass; give 0\.918"):
        stack_optics((Layer(n=1.52, normal_transmittance=0.95),), COSINES)


def test_no_layers_pass_everything():
    optics = stack_optics((), COSINES)
    assert (optics.passed == 1).all()
    assert (optics.mirrored_inside == 0).all()


def test_quadrature_of_the_dome():
    """Against the rectangle rule in 200,000 steps."""
    cosines = (np.arange(200_000) + 0.5) / 200_000
    by_steps = (stack_optics((FILM, FILM), cosines).passed * 2 * cosines).mean()
    assert hemispherical((FILM, FILM))[0] == pytest.approx(by_steps, abs=2e-6)


def test_webs_take_from_slanting_light_alone():
    """Two walls with webs: the exact sum of what is thrown to and fro through a gap that takes its share."""
    wall = Layer(n=1.586, normal_transmittance=0.9)
    webbed = (replace(wall, webs=0.1), wall)
    angles = np.radians([0.0, 30.0, 60.0, 80.0])
    found = stack_optics(webbed, np.cos(angles))
    left = np.exp(-0.1 * np.tan(angles))
    *surfaces, inside = surface_mirrors(np.cos(angles), wall.n)
    through = left_after_one_pass(wall) ** (1 / inside)
    walls = [(through * (1 - r) ** 2 / (1 - (r * through) ** 2), r) for r in surfaces]
    each = [(t, r * (1 + through * t)) for t, r in walls]
    passed = [t * left * t / (1 - (r * left) ** 2) for t, r in each]
    mirrored = [r + t * left * r * left * t / (1 - (r * left) ** 2) for t, r in each]
    assert found.passed == pytest.approx(np.mean(passed, axis=0))
    assert found.mirrored_outside == pytest.approx(np.mean(mirrored, axis=0))
    assert found.mirrored_inside == pytest.approx(found.mirrored_outside)  # webs see light from both sides
    bare = stack_optics((wall, wall), np.cos(angles)).passed
    assert found.passed[0] == bare[0]
    assert (np.diff(found.passed / bare) < -0.01).all()

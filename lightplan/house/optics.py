"""A glazing's layers → what it passes and mirrors at any angle, from either side.

Each layer is a plane slab of index n in air (Fresnel at both faces, absorption between), layers are
added up with the light thrown to and fro between them, and the two polarisations are carried
apart to the end: two films as one stack pass more than two films one after the other.
Equations: Duffie & Beckman, Solar Engineering of Thermal Processes, 4th ed. (2013), 5.1 to 5.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from lightplan.site.models import Layer

Array = NDArray[np.float64]

GRAZING = 1e-9  # smallest cosine that is told from zero


@dataclass(frozen=True)
class Optics:
    """Shares of unpolarised light; each array has the shape of the cosines asked for.

    passed : the same from either side. mirrored_outside, mirrored_inside : by the side it comes from.
    """

    passed: Array
    mirrored_outside: Array
    mirrored_inside: Array


def surface_mirrors(cos_incidence: Array, n: float) -> tuple[Array, Array, Array]:
    """Share mirrored by one air-to-n surface: (perpendicular, parallel) polarisation, and cos inside.

    Fresnel's equations, Duffie & Beckman 5.1.1 and 5.1.2, Snell's law 5.1.4.
    """
    outside = np.maximum(cos_incidence, GRAZING)
    inside = np.sqrt(1.0 - (1.0 - outside**2) / n**2)
    perpendicular = ((outside - n * inside) / (outside + n * inside)) ** 2
    parallel = ((n * outside - inside) / (n * outside + inside)) ** 2
    return perpendicular, parallel, inside


def left_after_one_pass(layer: Layer) -> float:
    """Share of light left after one way straight through a layer, its surfaces apart.

    From extinction and thickness (Bouguer), or solved from the normal transmittance
    T = t (1 − r)² ∕ (1 − r² t²), Duffie & Beckman 5.3.1.
    Raises ValueError where the index alone mirrors more than the transmittance leaves.
    """
    if layer.normal_transmittance is None:
        return math.exp(-(layer.extinction_per_m or 0.0) * (layer.thickness_mm or 0.0) / 1000)
    r, passed = ((layer.n - 1) / (layer.n + 1)) ** 2, layer.normal_transmittance
    most = (1 - r) / (1 + r)
    if passed > most + 1e-6:
        raise ValueError(
            f"normal transmittance {passed:g} is more than a layer of index {layer.n:g} can pass; "
            f"give {most:.3f} at most"
        )
    clear = (1 - r) ** 2
    return min(1.0, 2 * passed / (clear + math.sqrt(clear**2 + (2 * r * passed) ** 2)))


def webs_leave(webs: float, cos_incidence: Array) -> Array:
    """Share of light that webs between two walls leave on one way across the gap.

    A ray at an angle θ runs tan θ times the gap's depth sideways, so it meets webs in that proportion, and
    each takes the same share of it (Beer's law, as for stems of a crop).
    """
    outside = np.maximum(cos_incidence, GRAZING)
    return np.asarray(np.exp(-webs * np.sqrt(1.0 - np.minimum(outside, 1.0) ** 2) / outside))


def stack_optics(layers: tuple[Layer, ...], cos_incidence: Array) -> Optics:
    """What a stack of layers (outside in) passes and mirrors; no layers pass everything."""
    cosines = np.asarray(cos_incidence, dtype=np.float64)
    both = [_one_polarisation(layers, cosines, which) for which in (0, 1)]
    return Optics(*((first + second) / 2 for first, second in zip(*both, strict=True)))


def _one_polarisation(layers: tuple[Layer, ...], cosines: Array, which: int) -> tuple[Array, Array, Array]:
    passed, outside, inside = np.ones_like(cosines), np.zeros_like(cosines), np.zeros_like(cosines)
    for layer in layers:
        *mirrors, cos_inside = surface_mirrors(cosines, layer.n)
        r = mirrors[which]
        left = left_after_one_pass(layer) ** (1 / cos_inside)
        layer_passed = left * (1 - r) ** 2 / (1 - (r * left) ** 2)
        layer_mirrored = r * (1 + left * layer_passed)
        between = 1 - inside * layer_mirrored
        outside = outside + passed**2 * layer_mirrored / between
        inside = layer_mirrored + layer_passed**2 * inside / between
        passed = passed * layer_passed / between
        if layer.webs:
            left = webs_leave(layer.webs, cosines)
            passed, inside = passed * left, inside * left**2
    return passed, outside, inside


@cache
def _dome() -> tuple[Array, Array]:
    """Cosines and weights that sum a share over all directions of even light: ∫ f(c) 2c dc."""
    nodes, weights = np.polynomial.legendre.leggauss(96)
    cosines = (nodes + 1) / 2
    return cosines, weights * cosines


def hemispherical(layers: tuple[Layer, ...]) -> tuple[float, float, float]:
    """Shares passed, mirrored outside, mirrored inside, of light even from all directions."""
    cosines, weights = _dome()
    optics = stack_optics(layers, cosines)
    shares = (optics.passed, optics.mirrored_outside, optics.mirrored_inside)
    return tuple(float(weights @ share) for share in shares)  # type: ignore[return-value]

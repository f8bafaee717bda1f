"""Several spans against one: every pane that stands in the way of the sun counts, valleys included."""

from __future__ import annotations

import numpy as np
import pytest

from lightplan.house.optics import stack_optics
from lightplan.house.shape import BENCH_HEIGHT_M, section_of
from lightplan.house.transmission import house_light
from lightplan.site.models import House, Shape
from tests.house.houses import house, light_of
from tests.house.straight_only import straight_only

SQUARE_TO_RIDGE_DEG = 180.0  # the ridge of these houses runs to 90
SUNS = np.array([15.0, 40.0, 60.0, 65.0, 71.0, 75.0])  # zenith angles
ALL_PANES, FIRST_PANE = 99, 1


def spans(count: int) -> House:
    return house(Shape.MULTISPAN, spans=count, gutter_m=0.0)


def _by_hand(which: House, zenith_deg: float, panes_counted: int) -> float:
    """Mean straight share with the sun square to the ridge: each ray against every pane of the section
    at once, where the model goes from one pane to the next.
    """
    section = section_of(which)
    zenith = np.radians(zenith_deg)
    way = np.array([np.sin(zenith), np.cos(zenith)])  # right of a ridge to the east is south
    low, high = section.clear_m
    count = 20_000
    x = low + (np.arange(count) + 0.5) / count * (high - low)
    at = np.stack([x, np.full(count, BENCH_HEIGHT_M)], axis=1)
    start, along = section.points[:-1], section.along
    turn = way[0] * along[:, 1] - way[1] * along[:, 0]
    from_here = start[None] - at[:, None]
    reach = (from_here[..., 0] * along[:, 1] - from_here[..., 1] * along[:, 0]) / turn
    where = (from_here[..., 0] * way[1] - from_here[..., 1] * way[0]) / turn
    met = (reach > 0) & (where >= 0) & (where < 1)
    cosines = np.abs(section.inward @ way)
    passed = [
        stack_optics(pane.layers, c[None]).passed[0]
        for pane, c in zip(section.glazings, cosines, strict=True)
    ]
    order = np.argsort(np.argsort(np.where(met, reach, np.inf), axis=1), axis=1)
    return float(np.where(met & (order < panes_counted), passed, 1.0).prod(axis=1).mean())


# Left over are edges of shadow between points of the floor. Points at the same spots of every span would
# miss by 2.4 points at 65 degrees under five.
@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_every_pane_in_the_way_counts(count):
    model = straight_only(spans(count)).beam(SUNS, np.full(len(SUNS), SQUARE_TO_RIDGE_DEG))
    by_hand = [_by_hand(spans(count), zenith, ALL_PANES) for zenith in SUNS]
    assert model == pytest.approx(by_hand, abs=0.006)


def test_a_model_that_stops_at_the_first_pane_is_seen():
    low_sun = _by_hand(spans(5), SUNS[-1], FIRST_PANE) - _by_hand(spans(5), SUNS[-1], ALL_PANES)
    assert low_sun > 0.05


def test_one_span_of_several_is_a_gable():
    one, gable = house_light(spans(1)), light_of(house())
    assert one.beam(SUNS, SUNS * 3) == pytest.approx(gable.beam(SUNS, SUNS * 3), abs=1e-6)
    assert one.diffuse() == pytest.approx(gable.diffuse(), abs=1e-6)


def test_spans_take_from_low_sun_across_but_not_along():
    """In line with the ridge each ray meets one slope or the end, however many spans stand side by side.

    To 0.25 points: the rows of the table nearest to upright stand a degree off, where the outermost
    points of the floor see the side wall.
    """
    single, several = straight_only(spans(1)), straight_only(spans(4))
    along, across = np.full(len(SUNS), 90.0), np.full(len(SUNS), SQUARE_TO_RIDGE_DEG)
    assert several.beam(SUNS, along) == pytest.approx(single.beam(SUNS, along), abs=0.0025)
    assert several.beam(SUNS, across)[-1] < single.beam(SUNS, across)[-1] - 0.1
    assert several.diffuse() < single.diffuse() - 0.005

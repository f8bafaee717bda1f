"""House light with one effect left out: wrong models for tests to catch, and what each effect brings."""

from __future__ import annotations

from unittest.mock import PropertyMock, patch

from lightplan.house import flight, transmission
from lightplan.house.along import Tally
from lightplan.house.mirrored import Caught, mirrored_light
from lightplan.house.nodes import Mirroring
from lightplan.house.shape import Section
from lightplan.house.transmission import HouseLight, house_light
from lightplan.site.models import House

FIRST_MIRROR_LEGS = 3  # down to the pane, through the house, and on from its first mirror


def _straight_sun_only(*given, **named) -> Caught:
    found = mirrored_light(*given, **named)
    floor, nodes = (Tally(tally.places, tally.angles) for tally in (found.floor, found.nodes))
    return Caught(floor, nodes, found.ends)


def without_mirrored_sun(house: House) -> HouseLight:
    with patch.object(transmission, "mirrored_light", _straight_sun_only):
        return house_light(house)


def without_second_mirror(house: House) -> HouseLight:
    with patch.object(flight, "MOST_LEGS", FIRST_MIRROR_LEGS):
        return house_light(house)


def without_neighbours_mirrors(house: House) -> HouseLight:
    """Straight light crosses every pane of every span, but nothing else comes from one span to the next."""
    with patch.object(Section, "is_convex", new_callable=PropertyMock, return_value=True):
        return house_light(house)


def without_floor_return(house: House) -> HouseLight:
    return house_light(house, mirroring=Mirroring(floor=0.0))


def without_ground(house: House) -> HouseLight:
    return house_light(house, mirroring=Mirroring(ground=0.0))


def with_black_walls(house: House) -> HouseLight:
    return house_light(house, mirroring=Mirroring(wall=0.0))

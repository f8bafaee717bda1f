"""Houses → the `houses` JSON: clean geometry and glazing, and the months as the houses stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from lightplan.house.shape import section_of
from lightplan.house.transmission import HouseLight
from lightplan.house_year import HouseMonth
from lightplan.report.json_form import Json, number, site_json
from lightplan.site.models import House, Site
from lightplan.weather.table import Weather

ELEVATIONS_DEG = (10, 15, 20, 30, 45, 60, 75, 89)
QUARTER_DEG = range(0, 91, 15)
ALL_ROUND_DEG = range(0, 360, 15)


def houses_json(
    site: Site,
    year: int,
    *,
    bare: Mapping[str, HouseLight],
    months: Mapping[str, tuple[HouseMonth, ...]],
    weather: Weather,
) -> Json:
    """Every house of a site. bare : by house id, light in the house `without_gutters`; months likewise."""
    return {
        "site": site_json(site),
        "year": year,
        "timezone": site.timezone.key,
        "weather": {
            "source": weather.source,
            "kind": weather.kind.value,
            "attribution": weather.attribution,
            "fallback_reason": weather.fallback_reason,
            "notes": list(weather.notes),
        },
        "houses": [_house(house, bare[house.id], months[house.id]) for house in site.houses],
    }


def without_gutters(house: House) -> House:
    """The house whose glazing alone is told: gutters count with the frame, as something lost."""
    return replace(house, gutter_m=0.0)


def _house(house: House, light: HouseLight, months: tuple[HouseMonth, ...]) -> Json:
    grid = light.floor.grid(light.diffuse_cells).astype(np.float64)
    return {
        "id": house.id,
        "name": house.name,
        "diffuse": number(light.diffuse()),
        "beam": list(_beam(house, light)),
        "uniformity": {
            "diffuse_min_over_mean": number(grid.min() / grid.mean() if grid.mean() > 0 else None),
            "diffuse_standard_deviation_over_mean": number(
                grid.std() / grid.mean() if grid.mean() > 0 else None
            ),
        },
        "monthly": [
            {
                "month": m.month,
                "outdoor_dli": number(m.outdoor_dli),
                "inside_dli": number(m.inside_dli),
                "low": number(m.low),
                "high": number(m.high),
            }
            for m in months
        ],
    }


def _beam(house: House, light: HouseLight) -> Iterator[Json]:
    turns = QUARTER_DEG if _is_symmetric(house) else ALL_ROUND_DEG
    asked = [(elevation, turn) for elevation in ELEVATIONS_DEG for turn in turns]
    elevations, angles = np.array(asked, dtype=float).T
    shares = light.beam(90.0 - elevations, house.ridge_azimuth_deg + angles)
    for (elevation, turn), share in zip(asked, shares, strict=True):
        yield {
            "elevation_deg": elevation,
            "azimuth_from_ridge_deg": turn,
            "transmittance": number(float(share)),
        }


def _is_symmetric(house: House) -> bool:
    """Whether a quarter of the horizon tells the rest: sides alike and ends alike."""
    section = section_of(house)
    return section.is_mirror_image and section.ends[0] == section.ends[1]

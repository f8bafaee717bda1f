"""A calibration as the JSON of `lightplan calibrate`."""

from __future__ import annotations

from dataclasses import asdict

from lightplan.learn.calibration import Calibration, Factor, HouseFound
from lightplan.report.json_form import Json, number, site_json
from lightplan.site.models import Site


def calibrate_json(site: Site, found: Calibration, *, in_use: bool) -> Json:
    """Factors are on what the model reckons; shares of light 0..1; intervals hold 90 %."""
    return {
        "site": site_json(site),
        "date": found.made_on.isoformat(),
        "in_use": in_use,
        "houses": [_house(house) for house in found.houses],
        "lamps": [{"bench": bench, "factor": _factor(factor)} for bench, factor in found.lamps],
        "covers": [{"cover": name, "transmittance": _factor(factor)} for name, factor in found.covers],
        "heat": [
            {
                "id": heat.id,
                "loss": _factor(heat.loss),
                "air_changes": _factor(heat.air),
                "peak_uncertainty_k": number(heat.uncertainty_k),
            }
            for heat in found.heat
        ],
        "weather": [
            {"source": s.source, "days": s.days, "cloud_light": _factor(s.light), "spread": _factor(s.spread)}
            for s in found.sources
        ],
        "outliers": [{"reading": out.number, "why": out.why} for out in found.outliers],
        "next_reading": found.next_reading,
    }


def _factor(factor: Factor) -> Json:
    return {key: number(v) if isinstance(v, float) else v for key, v in asdict(factor).items()}


def _house(house: HouseFound) -> Json:
    def share(factor: float) -> float | None:
        return number(None if house.computed is None else house.computed * factor)

    return {
        "id": house.id,
        "factor": _factor(house.factor),
        "transmission": {
            "computed": number(house.computed),
            "measured": share(house.factor.middle),
            "low": share(house.factor.low),
            "high": share(house.factor.high),
        },
        "dimmed": {
            "share": number(house.dim[0]) if house.dim else None,
            "low": number(house.dim[1]) if house.dim else None,
            "high": number(house.dim[2]) if house.dim else None,
            "surely": house.is_dim,
            "at_once_on": house.jump.isoformat() if house.jump else None,
        },
        "last_reading": house.last_reading.isoformat() if house.last_reading else None,
    }

"""How every JSON answer is written: rounded numbers, never NaN, text that ends with a newline."""

from __future__ import annotations

import json
import math
from typing import Any

from lightplan.site.models import Site

DIGITS = 4  # finer than any figure here is known; keeps sums of rounded parts within 0.0002

Json = dict[str, Any]


def site_json(site: Site) -> Json:
    return {"id": site.id, "name": site.name, "latitude": site.latitude, "longitude": site.longitude}


def json_text(document: Json) -> str:
    """A document as text; ValueError where a NaN has slipped in."""
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def number(value: float | None) -> float | None:
    """A rounded float; None for what is unknown, so that no NaN can reach a reader."""
    return None if value is None or not math.isfinite(value) else round(float(value), DIGITS)

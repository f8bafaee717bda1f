"""A plain value as TOML writes it."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, time


def exact(number: float) -> str:
    return f"{number:.10g}"


def as_toml(value: object, number: Callable[[float], str] = exact) -> str:
    """A value in TOML's spelling; `number` writes the floats in it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)  # JSON strings are TOML strings
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return number(value)
    if isinstance(value, int):
        return str(value) if abs(value) < 10**15 else "a very large number"
    if isinstance(value, dict):
        pairs = ", ".join(f"{key} = {as_toml(item, number)}" for key, item in value.items())
        return f"{{ {pairs} }}" if value else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(as_toml(item, number) for item in value)}]"
    return str(value)

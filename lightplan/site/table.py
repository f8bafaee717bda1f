"""What all tables of the site file share: strict types, no unknown keys, either unit.

A field's `description` is the one place where its meaning is put in words: error sentences,
`lightplan check` and the file that `lightplan start` writes all take it from there.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import BaseModel, ConfigDict, model_validator
from pydantic.fields import FieldInfo

from lightplan.site.quantities import Quantity, Unit, converted


class Table(BaseModel):
    """One table of the file. Fields hold metric values, whichever form the file used."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _to_metric(cls, raw: Any) -> Any:
        if not isinstance(raw, dict):
            return raw
        metric = dict(raw)
        for us_key, (key, quantity) in us_keys(cls).items():
            # with both forms in the file the US one stays, to be refused as a key too many
            if us_key in metric and key not in metric:
                metric[key] = converted(metric.pop(us_key), quantity.to_metric)
        return metric


@cache
def fields(table: type[Table]) -> dict[str, FieldInfo]:
    """Fields by the key that the file uses (`from`, not `from_`)."""
    return {info.alias or name: info for name, info in table.model_fields.items()}


def quantity_of(info: FieldInfo) -> Quantity | None:
    return next((mark for mark in info.metadata if isinstance(mark, Quantity)), None)


def unit_of(info: FieldInfo) -> str:
    """The unit of a field with one form, or empty."""
    return next((mark.name for mark in info.metadata if isinstance(mark, Unit)), "")


@cache
def us_keys(table: type[Table]) -> dict[str, tuple[str, Quantity]]:
    """US customary key → the metric key it stands for, with the quantity."""
    with_quantity = ((key, quantity_of(info)) for key, info in fields(table).items())
    return {quantity.us_key(key): (key, quantity) for key, quantity in with_quantity if quantity is not None}

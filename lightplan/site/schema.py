"""The site file as a whole."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from lightplan.site.schema_bench import BenchTable
from lightplan.site.schema_deliver import DeliverTable
from lightplan.site.schema_house import HouseTable
from lightplan.site.schema_own import CoverTable, GlazingTable, NeedsTable
from lightplan.site.schema_site import PowerTable, SiteTable, WeatherTable
from lightplan.site.table import Table


class SiteFile(Table):
    """Every table that `site.toml` may hold."""

    site: SiteTable = Field(description="the place and the people")
    weather: WeatherTable = Field(
        default_factory=lambda: WeatherTable.model_validate({}), description="where weather comes from"
    )
    power: PowerTable | None = Field(None, description="tariff and capacity")
    deliver: DeliverTable | None = Field(None, description="where the sheet goes when made by itself")
    glazing: dict[str, GlazingTable] = Field({}, description="own glazings")
    cover: dict[str, CoverTable] = Field({}, description="own covers")
    crop: dict[str, dict[str, NeedsTable]] = Field({}, description="own needs of crops")
    house: Annotated[tuple[HouseTable, ...], Field(strict=False, min_length=1)] = Field(
        description="the houses"
    )
    bench: Annotated[tuple[BenchTable, ...], Field(strict=False)] = Field((), description="the benches")

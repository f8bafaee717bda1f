"""Examples for keys of a fresh site file that have no default, and the tables that start out unused."""

from __future__ import annotations

from datetime import date
from typing import Any

from lightplan.site.schema_bench import INSULATED, BatchRow, BenchTable, InsulationTable, PlaceTable
from lightplan.site.schema_deliver import DeliverTable, MailTable
from lightplan.site.schema_house import BarsTable, HouseTable
from lightplan.site.schema_own import CoverTable, GlazingTable, NeedsTable
from lightplan.site.schema_site import PowerTable, SiteTable, WeatherTable
from lightplan.site.table import Table


def examples(year: int) -> dict[type[Table], dict[str, Any]]:
    """Table → key → a value to show, metric."""
    return {
        SiteTable: {"days_off": (date(year, 7, 4),), "horizon": ((90.0, 12.0), (180.0, 4.0))},
        WeatherTable: {
            "then": ("met-norway",),
            "url": "https://weather.example/v1/forecast",
            "ensemble_url": "https://weather.example/v1/ensemble",
            "file": "typical-year.epw",
            "typical": "typical-year.epw",
            "clearness": (0.5, 0.53, 0.57, 0.6, 0.62, 0.64, 0.63, 0.62, 0.6, 0.58, 0.52, 0.48),
            "contact": "grower@weather.example",
            "api_key_env": "WEATHER_KEY",
        },
        DeliverTable: {"printer": "office", "folder": "../shared-sheets", "keep": 400},
        MailTable: {
            "port": 587,
            "user": "grower",
            "password_env": "LIGHTPLAN_MAIL",
            "ca_file": "mail-server.pem",
        },
        HouseTable: {
            "section": ((0.0, 0.0), (0.0, 2.4), (4.5, 4.7), (9.1, 2.4), (9.1, 0.0)),
            "faces_deg": 180.0,
            "bulge_m": 0.5,
            "opaque": ("north",),
            "bars": BarsTable(spacing_m=0.6, width_m=0.03, depth_m=0.05),
            "washed": date(year, 3, 1),
            "overhead": Verbatim(f"[{{ loss = 0.15, from = {year}-03-10, to = {year}-05-20 }}]"),
            "shade": Verbatim(f'[{{ cover = "whitewash-light", from = {year}-05-01, to = {year}-09-15 }}]'),
            "covers": ("shade-cloth-50",),
            "can_heat_kw": 40.0,
        },
        BenchTable: {
            "place": PlaceTable(across_m=(0.5, 2.0), along_m=(3.0, 11.0)),
            "tent": "single-poly",
            "insulation": InsulationTable.model_validate(INSULATED),
            "heat_to_c": 24.0,
            "lamps": Verbatim(LAMPS),
            "covers": ("wet-paper", "white-tarp", "insulation-board"),
        },
        PowerTable: {"rates": Verbatim(RATES)},
        GlazingTable: {"layers": Verbatim("[{ n = 1.52, normal_transmittance = 0.90 }]")},
        CoverTable: {"life_h": 3.0},
        NeedsTable: {
            "minimum": 8.0,
            "target": 12.0,
            "limit": 20.0,
            "limit_ppfd": 500.0,
            "limit_c": 35.0,
            "dark_h": 6.0,
            "most_in_hand": 4.0,
            "most_owed": 4.0,
            "flowering": "hasten",
            "critical_day_h": 13.0,
        },
        BatchRow: {"sown": date(year, 1, 20), "trays": 24},
    }


class Verbatim(str):
    """TOML as it is to be shown."""


RATES = (
    '[{ from = "00:00", to = "24:00", price = 0.14 }, '
    '{ from = "22:00", to = "06:00", price = 0.09, days = "all", months = [1, 2] }]'
)
LAMPS = (
    '{ ppfd = 90, power_kw = 0.6, kind = "led-white", place = "above", switch = "timer", pairs = 2, '
    'usual = [["05:00", "08:00"]], least_run_min = 30, starts = 2, sun_enough_ppfd = 400, cooling_min = 0, '
    "working = 1.0 }"
)


def unused_tables(year: int) -> tuple[tuple[str, Table], ...]:
    """(header, table) of what a fresh file shows commented out as a whole."""
    layer = {"n": 1.52, "normal_transmittance": 0.9}
    batch = {
        "crop": "petunia",
        "stage": "germination",
        "from": date(year, 1, 20),
        "to": date(year, 2, 3),
    }
    mail = {"to": ["crew@mail.example"], "from": "sheets@mail.example", "host": "smtp.mail.example"}
    return (
        ("[power]", PowerTable.model_validate({})),
        ("[deliver]", DeliverTable.model_validate({})),
        ("[deliver.mail]", MailTable.model_validate(mail)),
        ("[glazing.oddments]", GlazingTable.model_validate({"layers": [layer]})),
        ("[cover.tatty]", CoverTable.model_validate({"transmittance": [0.2, 0.5]})),
        ("[crop.petunia.seedling]", NeedsTable.model_validate({})),
        ("[[bench.batch]]", BatchRow.model_validate(batch)),
    )

"""Defaults that depend on other keys, filled in so that every key of a table holds its value."""

from __future__ import annotations

from typing import Any, TypeVar

from lightplan.site.cover_names import DARK_AT_MOST
from lightplan.site.glazings import U_BY_LAYERS, U_MANY_LAYERS
from lightplan.site.outline import GUTTER_M, section_eave, section_width, set_down
from lightplan.site.schema import SiteFile
from lightplan.site.schema_bench import INSULATED, BenchTable, InsulationTable, LampsTable
from lightplan.site.schema_deliver import DeliverTable, MailTable
from lightplan.site.schema_house import HouseTable
from lightplan.site.schema_own import CoverTable, GlazingTable
from lightplan.site.schema_site import SiteTable, WeatherTable
from lightplan.site.table import Table
from lightplan.site.time_zones import letter_paper, us_customary

# Air changes with everything open [1/h]: judgement, except fan: 0.75 to 1 a minute in summer, ASABE EP406.
AIR_CHANGES_OPEN = {
    "none": 2.0,
    "door": 4.0,
    "sides": 20.0,
    "roof": 20.0,
    "roof-and-sides": 40.0,
    "fan": 60.0,
}

AnyTable = TypeVar("AnyTable", bound=Table)


def filled(table: AnyTable, **values: Any) -> AnyTable:
    """The table with `values` where it holds None; what the file itself set stays marked as such."""
    update = {key: value for key, value in values.items() if getattr(table, key) is None}
    copy = table.model_copy(update=update)
    object.__setattr__(copy, "__pydantic_fields_set__", set(table.model_fields_set))
    return copy


def replaced(table: AnyTable, **values: Any) -> AnyTable:
    copy = table.model_copy(update=values)
    object.__setattr__(copy, "__pydantic_fields_set__", set(table.model_fields_set))
    return copy


def settled(file: SiteFile) -> SiteFile:
    """Every dependent default of a file without problems."""
    return replaced(
        file,
        site=settled_site(file.site),
        weather=settled_weather(file.weather),
        deliver=None if file.deliver is None else settled_deliver(file.deliver),
        glazing={name: settled_glazing(table) for name, table in file.glazing.items()},
        cover={name: settled_cover(table) for name, table in file.cover.items()},
        house=tuple(settled_house(house) for house in file.house),
        bench=tuple(settled_bench(bench) for bench in file.bench),
    )


def settled_site(site: SiteTable) -> SiteTable:
    return filled(
        site,
        units="us" if us_customary(site.timezone) else "metric",
        paper="letter" if letter_paper(site.timezone) else "a4",
    )


def settled_weather(weather: WeatherTable) -> WeatherTable:
    """A typical year named under either key will do for a site that lives on one."""
    return filled(weather, file=weather.typical if weather.source == "typical-year" else None)


PORTS = {"starttls": 587, "tls": 465, "none": 25}  # submission and submissions: RFC 8314 section 3; RFC 5321


def settled_deliver(deliver: DeliverTable) -> DeliverTable:
    """A printer that is named is printed on, unless the file says otherwise."""
    mail = None if deliver.mail is None else settled_mail(deliver.mail)
    return filled(replaced(deliver, mail=mail), print=deliver.printer is not None)


def settled_mail(mail: MailTable) -> MailTable:
    return filled(mail, port=PORTS[mail.security])


def settled_glazing(glazing: GlazingTable) -> GlazingTable:
    return filled(glazing, u_w_m2k=U_BY_LAYERS.get(len(glazing.layers), U_MANY_LAYERS))


def settled_cover(cover: CoverTable) -> CoverTable:
    return filled(cover, dark=cover.transmittance[1] <= DARK_AT_MOST)


def settled_house(house: HouseTable) -> HouseTable:
    if house.section is not None:
        points = set_down(house.section)
        house = replaced(house, section=points)
        house = filled(
            house,
            shape="section",
            width_m=section_width(points),
            ridge_m=max(z for _, z in points),
            eave_m=section_eave(points),
        )
    eave_m = 0.0 if house.eave_m is None else house.eave_m  # only a hoop may leave it out
    if house.bars is not None:
        house = replaced(house, frame_loss=0.0)
    return filled(
        house,
        name=house.id,
        eave_m=eave_m,
        ridge_m=eave_m,  # only a flat roof may leave it out
        gutter_m=GUTTER_M if house.shape == "multispan" else 0.0,
        arc="ellipse",
        wall_glazing=house.glazing,
        end_glazing=house.glazing,
        vents_by="automatic" if house.venting == "fan" else "hand",
        air_changes_open=AIR_CHANGES_OPEN[house.venting],
    )


def settled_bench(bench: BenchTable) -> BenchTable:
    insulation = InsulationTable.model_validate(INSULATED) if bench.insulated else None
    return replaced(
        filled(bench, name=bench.id, insulation=insulation, insulated=bench.insulation is not None),
        lamps=None if bench.lamps is None else settled_lamps(bench.lamps, tented=bench.tent is not None),
    )


def settled_lamps(lamps: LampsTable, *, tented: bool) -> LampsTable:
    return filled(lamps, place="in-tent" if tented else "above")

"""Tables without problems → the frozen records that the rest of the program sees."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from lightplan.site.build_parts import (
    a_batch,
    a_delivery,
    a_house_shade,
    a_rate,
    own_need,
    some_lamps,
)
from lightplan.site.crop_names import crop_called
from lightplan.site.faces import opaque_faces
from lightplan.site.materials import Materials
from lightplan.site.models import (
    Bars,
    Bench,
    Cover,
    House,
    Insulation,
    Overhead,
    OwnNeeds,
    Place,
    Power,
    Shape,
    Site,
    SourceName,
    Stage,
    WeatherChoice,
)
from lightplan.site.schema import SiteFile
from lightplan.site.schema_bench import BenchTable
from lightplan.site.schema_house import HouseTable
from lightplan.site.schema_site import PowerTable, WeatherTable


def build(file: SiteFile, folder: Path) -> Site:
    """The site of a settled file."""
    place, materials = file.site, Materials(file)
    return Site(
        id=folder.resolve().name,
        folder=folder,
        name=place.name,
        latitude=place.latitude,
        longitude=place.longitude,
        timezone=ZoneInfo(place.timezone),
        elevation_m=place.elevation_m,
        us_units=place.units == "us",
        paper=place.paper or "a4",
        crew=place.crew,
        days_off=frozenset(place.days_off),
        horizon=tuple(sorted(place.horizon)),
        foot_candles=place.foot_candles,
        weather=_weather(file.weather),
        power=None if file.power is None else _power(file.power),
        houses=tuple(_house(house, materials) for house in file.house),
        benches=tuple(_bench(bench, materials) for bench in file.bench),
        own_needs=_own_needs(file),
        deliver=a_delivery(file.deliver),
    )


def _weather(table: WeatherTable) -> WeatherChoice:
    return WeatherChoice(
        source=SourceName(table.source),
        then=tuple(SourceName(name) for name in table.then),
        url=table.url,
        ensemble_url=table.ensemble_url,
        file=table.file,
        typical=table.typical,
        clearness=table.clearness,
        contact=table.contact,
        api_key_env=table.api_key_env,
    )


def _power(table: PowerTable) -> Power:
    return Power(
        currency=table.currency,
        capacity_kw=table.capacity_kw,
        other_kw=table.other_kw,
        peak_price_per_kw=table.peak_price_per_kw,
        rates=tuple(a_rate(row) for row in table.rates),
    )


def _own_needs(file: SiteFile) -> dict[tuple[str, Stage], OwnNeeds]:
    return {
        (crop_called(name) or name, Stage(stage.replace("_", "-"))): own_need(table)
        for name, stages in file.crop.items()
        for stage, table in stages.items()
    }


def _house(table: HouseTable, materials: Materials) -> House:
    return House(
        id=table.id,
        name=table.name or table.id,
        shape=Shape(table.shape),
        width_m=table.width_m or 0.0,
        length_m=table.length_m,
        eave_m=table.eave_m or 0.0,
        ridge_m=table.ridge_m or 0.0,
        spans=table.spans,
        gutter_m=table.gutter_m or 0.0,
        ridge_azimuth_deg=table.ridge_azimuth_deg,
        faces_deg=table.faces_deg,
        arc=table.arc or "ellipse",
        bulge_m=table.bulge_m,
        section=table.section,
        glazing=materials.glazing(table.glazing),
        wall_glazing=materials.glazing(table.wall_glazing or table.glazing),
        end_glazing=materials.glazing(table.end_glazing or table.glazing),
        opaque=opaque_faces(
            table.opaque,
            ends=table.end_walls == "opaque",
            ridge_azimuth_deg=table.ridge_azimuth_deg,
            faces_deg=table.faces_deg,
        ),
        knee_wall_m=table.knee_wall_m,
        frame_loss=table.frame_loss,
        bars=None
        if table.bars is None
        else Bars(table.bars.spacing_m, table.bars.width_m, table.bars.depth_m),
        dirt_loss=table.dirt_loss,
        washed=table.washed,
        overhead=tuple(Overhead(row.loss, row.from_, row.to) for row in table.overhead),
        shade=tuple(a_house_shade(row, materials.cover(row.cover)) for row in table.shade),
        covers=tuple(_over_house(materials.cover(name)) for name in table.covers),
        heat_to_c=table.heat_to_c,
        can_heat_kw=table.can_heat_kw,
        vent_at_c=table.vent_at_c,
        venting=table.venting,
        vents_by=table.vents_by or "hand",
        air_changes_closed=table.air_changes_closed,
        air_changes_open=table.air_changes_open or 0.0,
    )


def _over_house(cover: Cover) -> Cover:
    return replace(cover, where="house") if cover.where == "bench" else cover


def _bench(table: BenchTable, materials: Materials) -> Bench:
    insulation = table.insulation
    return Bench(
        id=table.id,
        house=table.house,
        name=table.name or table.id,
        area_m2=table.area_m2,
        height_m=table.height_m,
        place=None if table.place is None else Place(table.place.across_m, table.place.along_m),
        tent=None if table.tent is None else materials.glazing(table.tent),
        tent_height_m=table.tent_height_m,
        tent_opens=table.tent_opens,
        insulation=None if insulation is None else Insulation(insulation.where, insulation.r_m2k_w),
        bottom_heat=table.bottom_heat,
        heat_to_c=table.heat_to_c,
        light_for_seed_ppfd_umol_m2_s=table.light_for_seed_ppfd,
        stray_ppfd_umol_m2_s=table.stray_ppfd,
        lamps=None if table.lamps is None else some_lamps(table.lamps),
        lamp_hours=table.lamp_hours,
        covers=tuple(materials.cover(name) for name in table.covers),
        batches=tuple(a_batch(row) for row in table.batch),
    )

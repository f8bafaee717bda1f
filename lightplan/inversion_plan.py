"""`invert` as a recipe: site and weather → the place that `advice.inversion` plans for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from lightplan.advice.inversion import Inversion, NoNight, Place, plan_inversion, unturned
from lightplan.advice.inversion.task import Array, HouseAir, Mask
from lightplan.advice.inversion.weeks import Unturned
from lightplan.advice.lamps.prices import prices
from lightplan.clock import STEP_MIN, Grid
from lightplan.crops.emergence import Seed, bench_sown, seed_of
from lightplan.crops.needs import bench_needs
from lightplan.heat.covers import heats_house
from lightplan.heat.house_air import AUTOMATIC, house_heat
from lightplan.heat.runs import HouseHeat
from lightplan.heat_day import bench_ready, house_ready
from lightplan.house.transmission import HouseLight
from lightplan.light import BenchLight, benches_light
from lightplan.problems import InputError
from lightplan.site.crop_names import ASKED_BACK, crop_called, crop_names, plain
from lightplan.site.models import Batch, Bench, Cover, Site, Span, Stage
from lightplan.site.problems import nearest
from lightplan.sky import Sky, make_sky
from lightplan.sun import SUNRISE_DEG
from lightplan.weather.table import Kind, Weather

HOT_KINDS = ("hps", "metal-halide", "incandescent")  # glow on after they are switched off; common practice


@dataclass(frozen=True)
class Question:
    """A bench and a crop, checked, and the sowing dates asked about."""

    bench: Bench
    crop: str
    first: date
    last: date


def question(site: Site, bench_id: str, crop: str | None, first: date, last: date) -> Question:
    """Raises InputError with one sentence: what is wrong and what would do."""
    ids = [bench.id for bench in site.benches]
    if bench_id not in ids:
        close = nearest(bench_id, ids)
        meant = f'; did you mean "{close}"?' if close else f"; it knows {', '.join(ids)}."
        raise InputError(f'site.toml has no bench "{bench_id}"{meant}')
    bench = next(b for b in site.benches if b.id == bench_id)
    named = f'site.toml: bench "{bench.id}"'
    if bench.lamps is None:
        raise InputError(f"{named} has no lamps, so it can't be lit by night; give it lamps or ask another.")
    if not any(cover.dark and cover.where == "bench" for cover in bench.covers):
        have = ", ".join(cover.name for cover in bench.covers) or "none"
        raise InputError(
            f"{named}: covers holds {have}, and nothing dark; give it a dark one, such as "
            "insulation-board or foil-board."
        )
    lamps = bench.lamps
    if lamps.kind in HOT_KINDS and lamps.place == "in-tent" and lamps.cooling_min == 0:
        raise InputError(
            f"{named}: lamps: {lamps.kind} lamps in the tent are hot when the cover comes, and cooling_min "
            "is 0; give the minutes that they need to cool."
        )
    return Question(bench, _crop(bench, crop, first, last), first, last)


def _crop(bench: Bench, asked: str | None, first: date, last: date) -> str:
    if asked is not None:
        found = crop_called(asked)
        if found is not None:
            return found
        several = ASKED_BACK.get(plain(asked))
        if several:
            raise InputError(f'--crop "{asked}" may be {" or ".join(several)}; give one of them.')
        close = nearest(plain(asked), crop_names())
        meant = f'; did you mean "{close}"?' if close else ": `lightplan check SITE --names` lists them."
        raise InputError(f'--crop "{asked}" is not a crop of the tables{meant}')
    there = sorted({b.crop for b in bench.batches if _germinates(b, first, last)})
    if len(there) == 1:
        return there[0]
    what = f"may be {' or '.join(there)}" if there else "is not told by the site file"
    raise InputError(
        f'What germinates on bench "{bench.id}" from {first} to {last} {what}; name it as --crop.'
    )


def _germinates(batch: Batch, first: date, last: date) -> bool:
    return batch.stage is Stage.GERMINATION and batch.from_date <= last and batch.to_date >= first


def is_known(weather: Weather) -> bool:
    """Whether it is more than a clear sky that stands in for what nobody knows."""
    return weather.fallback_reason is None or weather.kind is not Kind.CLEAR_SKY


def unknown_weather(site: Site, question: Question) -> InputError:
    return InputError(
        f"No weather covers {question.first} to {question.last}: site {site.name} has neither a typical "
        "year nor a weather file that holds these dates; run `lightplan start` on its folder once with a "
        "connection, or name a typical year under [weather]."
    )


def invert(
    site: Site,
    asked: Question,
    weather: Weather,
    *,
    grid: Grid,
    lights: Mapping[str, HouseLight],
    beside: bool = True,
) -> Inversion:
    """The plan. grid : from a day before the first sowing date on. lights : by id, of every house with a
    bench. beside : whether other benches are looked at as another way.

    Raises InputError where no night is left for the lamps.
    """
    sky = make_sky(site, weather.table, grid)
    light = benches_light(site, site.benches, sky, grid=grid, lights=lights)
    crew = usual_crew(site)
    first, last = (grid.dates.index(day) for day in (asked.first, asked.last))
    sunrise = sunrises(sky, grid)

    def place_of(bench: Bench, seed: Seed) -> tuple[Place, float | None]:
        ready, heating_c = heated_for_seed(bench, seed)
        sown = bench_sown(ready, asked.crop, grid.dates[0])
        heat = bench_ready(sown, light[bench.id], sky, grid=grid, steps=len(grid))
        assert heat is not None
        house = house_ready(
            site,
            sky,
            house=site.house(bench.house),
            house_light=lights[bench.house],
            light=light,
            lit={},
            grid=grid,
            steps=len(grid),
        )
        place = Place(
            bench=bench,
            dates=grid.dates,
            day=grid.day,
            minute=grid.minute,
            house_air=house_air_of(house, bench),
            house_covers=site.house(bench.house).covers,
            heat=heat,
            sun_ppfd=tent_off_ppfd(bench, light[bench.id]),
            crew=crew,
            sunrise_min=sunrise,
            price=prices(site.power, grid),
        )
        return place, heating_c

    seed = seed_of(asked.crop, asked.bench, asked.first, site.own_needs)
    place, heating_c = place_of(asked.bench, seed)
    others: list[tuple[Place, Unturned, bool]] = []
    for bench in (b for b in site.benches if beside and b.id != asked.bench.id):
        other, _ = place_of(bench, seed)
        busy = any(b.from_date <= asked.last and b.to_date >= asked.first for b in bench.batches)
        others.append((other, unturned(other, seed), busy))
    try:
        return plan_inversion(
            site,
            place,
            seed,
            first=first,
            last=last,
            wanted_mol=_wanted_mol(site, asked),
            others=others,
            heating_c=heating_c,
            guessed=weather.kind is Kind.CLEAR_SKY,
        )
    except NoNight as why:
        raise InputError(_no_night(asked.bench, crew, str(why))) from why


def heated_for_seed(bench: Bench, seed: Seed) -> tuple[Bench, float | None]:
    """The bench with its heating set so that it does not itself pass the seed's limit."""
    if bench.heat_to_c is None or bench.heat_to_c < seed.limit_c:
        return bench, None
    low = None if seed.optimum_c is None else seed.optimum_c[0]
    return replace(bench, heat_to_c=low), bench.heat_to_c


def house_air_of(house: HouseHeat, bench: Bench) -> HouseAir:
    """House air with vents that follow it, remembered for each way of lighting and drawing."""
    lamps = bench.lamps
    watts = 0.0 if lamps is None else lamps.power_kw * 1000 * lamps.working / house.body.floor_m2
    known: dict[tuple[bytes, str | None, bytes], Array] = {}

    def air(lit: Mask, cover: Cover | None, drawn: Mask) -> Array:
        key = (lit.tobytes(), cover.name if cover else None, drawn.tobytes() if cover else b"")
        if key not in known:
            passes, stays = (1.0, 0.0) if cover is None else heats_house(cover, cover.transmittance[1])
            known[key] = house_heat(
                house.body,
                outdoor_c=house.outdoor_c,
                sun_w_m2=house.sun_w_m2 * np.where(drawn, passes, 1.0),
                dry_w_m2=watts * lit + house.sun_w_m2 * np.where(drawn, stays, 0.0),
                vents=AUTOMATIC,
                evaporated=house.evaporated,
            )
        return known[key]

    return air


def tent_off_ppfd(bench: Bench, light: BenchLight) -> Array:
    return light.untented if bench.tent_opens or bench.tent is None else light.open


def usual_crew(site: Site) -> Span:
    """The hours that most days of the week have, of equally many the longest."""
    each = Counter(hours for hours in site.crew if hours is not None)
    if not each:
        raise InputError("site.toml: crew: nobody comes on any day, so nobody can cover a bench; give hours.")
    return max(each, key=lambda hours: (each[hours], hours[1] - hours[0]))


def sunrises(sky: Sky, grid: Grid) -> tuple[int | None, ...]:
    """Clock minute of each date's first sunrise, the last minute before it; None where it does not rise.

    Between the middles of two quarter hours the sun climbs in a straight line.
    """
    over = sky.elevation_deg - SUNRISE_DEG
    first: list[int | None] = [None] * len(grid.dates)
    for step in np.flatnonzero((over[1:] > 0) & (over[:-1] <= 0))[::-1] + 1:
        since = over[step] / (over[step] - over[step - 1]) * STEP_MIN  # minutes before this step's middle
        first[int(grid.day[step])] = int(max(0.0, grid.minute[step] + STEP_MIN / 2 - since))
    return tuple(first)


def _wanted_mol(site: Site, asked: Question) -> tuple[float, float] | None:
    """Minimum and target of the crop's seedlings."""
    batch = Batch(asked.crop, Stage.SEEDLING, asked.first, asked.last, None, None, True)
    needs = bench_needs(replace(asked.bench, batches=(batch,)), asked.first, site.own_needs).needs
    if needs is None or needs.minimum is None or needs.target is None:
        return None
    return needs.minimum, needs.target


def _no_night(bench: Bench, crew: Span, why: str) -> str:
    named = f'site.toml: bench "{bench.id}"'
    assert bench.lamps is not None
    if why == "lamp_hours":
        return f"{named}: lamp_hours leave under 4 h of night between cover off and cover on; allow more."
    if why == "cooling":
        return (
            f"{named}: lamps: cooling_min is {bench.lamps.cooling_min}, which leaves fewer than 4 h of night "
            "between cover off and lamps off; lamps that cool sooner or hang above the cover would do."
        )
    if why == "hand":
        return f"{named}: lamps: switch is hand, but nobody is there as night begins or ends; use a timer."
    hours = " to ".join(f"{m // 60:02d}:{m % 60:02d}" for m in crew)
    return (
        f"site.toml: crew is there from {hours}, too short to cover and uncover a bench; give longer hours."
    )


def ahead(first: date, last: date, days: int) -> tuple[date, int]:
    """Where a grid over the asked dates begins, and its days: a day to settle, whole weeks, `days` after."""
    return first - timedelta(days=1), (last - first).days + 1 + 1 + days


__all__ = ["Question", "ahead", "invert", "is_known", "question", "unknown_weather", "usual_crew"]

"""A calibration as a page: what readings say of each house, lamp, cover and of heat, and what is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

import lightplan
from lightplan.learn.calibration import Calibration, Factor
from lightplan.report.calibrate_words import dim_words, factor_words, sentence
from lightplan.report.drawing import DARK, INK, RULE, box, line, svg
from lightplan.report.html import filled
from lightplan.report.names import cover_name
from lightplan.report.units import capital, day_month, figure, short_day
from lightplan.site.models import Site

WIDTH, HEIGHT = 170.0, 15.0


@dataclass(frozen=True)
class FactorRow:
    """drawing : the interval before any reading, and after. used : in words, or what is missing."""

    name: str
    words: str
    drawing: Markup
    figure: str
    range: str
    readings: str
    used: str


@dataclass(frozen=True)
class FactorTable:
    title: str
    key: str
    heading: str
    scale: tuple[str, str, str]
    rows: tuple[FactorRow, ...]


@dataclass(frozen=True)
class CalibrateView:
    title: str
    site: str
    date: str
    paper: str
    sentence: str
    facts: tuple[str, ...]
    tables: tuple[FactorTable, ...]
    dim: tuple[str, ...]
    outliers: tuple[str, ...]
    next_reading: str | None
    footer: str


def calibrate_html(site: Site, found: Calibration, *, in_use: bool) -> str:
    view = calibrate_view(site, found, in_use=in_use)
    return filled("calibrate.html.j2", footer=view.footer, page=view)


def calibrate_view(site: Site, found: Calibration, *, in_use: bool) -> CalibrateView:
    date = f"{day_month(found.made_on)} {found.made_on.year}"
    return CalibrateView(
        title=f"What readings say, {site.name}, {date}",
        site=site.name,
        date=date,
        paper=site.paper,
        sentence=sentence(site, found),
        facts=(
            "Every sheet and every command uses these factors from now on; lightplan calibrate SITE --undo "
            "takes them back."
            if in_use
            else "A trial: nothing of this is used yet.",
            "A factor of 1 is what the site file and the tables make of it; the true value lies within the "
            "range 9 times in 10.",
        ),
        tables=tuple(_tables(site, found)),
        dim=tuple(words for h in found.houses if (words := dim_words(site.house(h.id).name, h))),
        outliers=tuple(f"Reading {out.number}: {out.why}." for out in found.outliers),
        next_reading=found.next_reading,
        footer=f"lightplan {lightplan.__version__}, {site.name}, {date}",
    )


def _tables(site: Site, found: Calibration) -> Iterator[FactorTable]:
    names = {bench.id: bench.name for bench in site.benches}
    houses = []
    for house in found.houses:
        parts = [] if house.computed is None else [f"{figure(100 * house.computed)} % reckoned"]
        if house.computed is not None and house.last_reading is not None:
            parts.append(f"{figure(100 * house.computed * house.factor.middle)} % measured")
        if house.last_reading is not None:
            parts.append(f"last read {short_day(house.last_reading)}")
        words = ", ".join(parts)
        houses.append(_row(site.house(house.id).name, words, house.factor, 0.7, 1.3))
    yield _table("Light that each house lets in", "of an evenly grey sky, over the floor", houses, 0.7, 1.3)
    lamps = [_row(names[bench], "", factor, 0.6, 1.4) for bench, factor in found.lamps if bench in names]
    if lamps:
        yield _table("Lamps", "against the light that site.toml gives", lamps, 0.6, 1.4)
    if found.covers:
        covers = [
            _row(capital(cover_name(name).removeprefix("the ")), "", factor, 0.0, 1.0)
            for name, factor in found.covers
        ]
        yield _table("Covers", "share of the light they pass", covers, 0.0, 1.0, heading="Share")
    heat = []
    for one in (one for one in found.heat if one.loss.readings):
        name = site.house(one.id).name
        give = f"peaks ±{figure(one.uncertainty_k)} K"
        heat.append(_row(f"{name}: heat lost", give, one.loss, 0.0, 2.0))
        heat.append(_row(f"{name}: air changed", "", one.air, 0.0, 2.0))
    if heat:
        yield _table("Heat", "against what glazing and venting kind make of it", heat, 0.0, 2.0)
    weather = []
    for source in found.sources:
        weather.append(_row(f"{source.source}: width of its range", "", source.spread, 0.0, 2.0))
        if source.light.why_not != "it gives light itself":
            weather.append(_row(f"{source.source}: light of its cloud", "", source.light, 0.0, 2.0))
    if weather:
        yield _table("Forecasts", "by the days that were scored", weather, 0.0, 2.0)


def _table(
    title: str, key: str, rows: list[FactorRow], low: float, high: float, *, heading: str = "Factor"
) -> FactorTable:
    middle = 1.0 if low < 1.0 < high else (low + high) / 2
    return FactorTable(title, key, heading, (figure(low, 1), figure(middle, 1), figure(high, 1)), tuple(rows))


def _row(name: str, words: str, factor: Factor, low: float, high: float) -> FactorRow:
    return FactorRow(
        name=name,
        words=words,
        drawing=_drawing(factor, low, high, name),
        figure=figure(factor.middle, 2) if factor.readings else "–",
        range=f"{figure(factor.low, 2)}–{figure(factor.high, 2)}",
        readings=figure(factor.readings),
        used=_used(factor),
    )


def _used(factor: Factor) -> str:
    if factor.used:
        return "used"
    return str(factor.why_not) if not factor.readings else f"not used: {factor.why_not}"


def _drawing(factor: Factor, low: float, high: float, name: str) -> Markup:
    """The range before any reading in grey, after in ink, the middle a tick; 1 a thin line."""

    def x(value: float) -> float:
        return WIDTH * min(max((value - low) / (high - low), 0.0), 1.0)

    mid = HEIGHT / 2
    at_one = [line(x(1.0), 0, x(1.0), HEIGHT, width=0.5, stroke=RULE)] if low < 1.0 < high else []
    parts = [
        box(x(factor.prior_low), 2.5, x(factor.prior_high) - x(factor.prior_low), HEIGHT - 5, fill=DARK),
        *at_one,
    ]
    if factor.readings:
        parts.append(line(x(factor.low), mid, x(factor.high), mid, width=3.2, stroke=INK))
        parts.append(line(x(factor.middle), 1, x(factor.middle), HEIGHT - 1, width=2.0, stroke=INK))
    return svg(WIDTH, HEIGHT, parts, f"{name}: {factor_words(factor)}")

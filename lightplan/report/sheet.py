"""DayPlan → SheetView: every string, figure and drawing of the morning sheet, finished."""

from __future__ import annotations

from dataclasses import replace

from lightplan.changes import SecondLook
from lightplan.dayplan import DayPlan
from lightplan.report.bench_rows import bench_block
from lightplan.report.cautions import caution_words
from lightplan.report.change_words import dropped_words, look_words
from lightplan.report.density import density, fit_beside, height_pt, room_pt
from lightplan.report.head import head
from lightplan.report.house_strips import strip_block
from lightplan.report.learned_words import below_words, meter_words
from lightplan.report.order_rows import (
    all_by_rule_of_thumb,
    already_set,
    bands,
    no_work,
    rests_on_rule_of_thumb,
    set_from,
    set_heading,
)
from lightplan.report.reasons import ALL_BY_RULE_OF_THUMB, RULE_OF_THUMB_NOTE
from lightplan.report.units import clock, day_month, units_of, weekday
from lightplan.report.view import Band, SheetView
from lightplan.report.week_rows import emergence_lines, week_block

AHEAD = "00:00"  # the clock of sheets for another date than today's: nobody made them then


RECKONED_OVER_PT = 25.0  # by which heights are reckoned too large on crowded sheets, as measured
TWO_PAGES = 1.9  # of one page's height: what does not part is left over at the first one's end


def sheet_view(plan: DayPlan, look: SecondLook | None = None) -> SheetView:
    """The morning sheet of a plan, ready to be laid out.

    look : what changed since the day's first plan, where this is a later one.
    """
    units = units_of(plan.site)
    found = bands(plan, units, look)
    emerging = emergence_lines(plan)
    cautions = tuple(caution_words(slug, us=plan.site.us_units) for slug in plan.cautions)
    beside = fit_beside(emerging, cautions)
    date = f"{weekday(plan.day)} {day_month(plan.day)} {plan.day.year}"
    made = clock(plan.generated_at, plan.site, plan.generated_at.astimezone(plan.site.timezone).date())
    made = "" if made == AHEAD else f". Made {made}"
    widest = SheetView(
        title=f"{plan.site.name}, {date}",
        paper=plan.site.paper,
        density="roomy",
        head=head(plan, units),
        bands=found,
        second_look=look_words(plan, look),
        dropped=dropped_words(plan, look),
        no_orders=_no_orders(plan, found),
        rule_of_thumb=_rule_of_thumb(plan),
        no_work=no_work(plan, units, look),
        already_set=already_set(plan),
        set_heading=set_heading(plan),
        set_from=set_from(plan),
        benches=bench_block(plan, units),
        strips=strip_block(plan, units, "roomy"),
        week=week_block(plan),
        emergence=emerging,
        cautions_beside=beside,
        cautions_below=tuple(words for words in cautions if words not in beside),
        below=below_words(plan, units),
        meter=meter_words(plan),
        light_unit="fc" if units.foot_candles else "μmol",
        temperature_unit=units.degree,
        footer=f"{plan.site.name}, {date}{made}",
    )
    name = density(widest)
    if height_pt(widest, name) <= room_pt(widest):
        return replace(widest, density=name, strips=strip_block(plan, units, name))
    # rather one page than the lamps' power drawn, and then than each order's house and a line for its reason
    plain = replace(widest, density=name, strips=strip_block(plan, units, name, power=False))
    if height_pt(plain, name) <= room_pt(plain):
        return plain
    names = [bench.name for bench in plan.site.benches]
    packed = replace(
        plain,
        density="packed",
        bands=tuple(_without_houses(band) for band in plain.bands),
        strips=strip_block(plan, units, "packed", power=False),
    )
    if len(set(names)) == len(names) and height_pt(packed, "packed") <= room_pt(packed) + RECKONED_OVER_PT:
        return packed
    name = next(
        (n for n in ("snug", "tight") if height_pt(widest, n) <= TWO_PAGES * room_pt(widest)), "tight"
    )
    return replace(widest, density=name, strips=strip_block(plan, units, name))


def _without_houses(band: Band) -> Band:
    return replace(
        band,
        orders=tuple(
            replace(row, places=tuple(replace(at, house="") for at in row.places)) for row in band.orders
        ),
    )


def _rule_of_thumb(plan: DayPlan) -> str | None:
    if all_by_rule_of_thumb(plan):
        return ALL_BY_RULE_OF_THUMB
    return RULE_OF_THUMB_NOTE if any(rests_on_rule_of_thumb(o, plan) for o in plan.orders) else None


def _no_orders(plan: DayPlan, found: tuple[Band, ...]) -> str | None:
    if plan.window is None:
        return "Nobody comes today, so nothing is ordered."
    return None if found else "Nothing to do: leave everything as it is."

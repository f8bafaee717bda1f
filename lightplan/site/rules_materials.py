"""Rules of own glazings, own covers and own needs: values that can be."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from lightplan.site.cover_names import DARK_AT_MOST
from lightplan.site.glazings import most_passed
from lightplan.site.problems import Problem
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_own import CoverTable, LayerRow, NeedsTable

ROUNDED = 0.0005  # a maker's figure is rounded to three places at best


@rule(LayerRow, "normal_transmittance", "extinction_per_m", "thickness_mm")
def one_way_to_say_it(row: Row, around: Around) -> Iterator[Problem]:
    passed, extinction, thickness = (
        row[key] for key in ("normal_transmittance", "extinction_per_m", "thickness_mm")
    )
    if passed is None and (extinction is None or thickness is None):
        missing = "normal_transmittance is missing; give it, or extinction_per_m and thickness_mm together"
        yield row.problem("normal_transmittance", missing, "missing-key")
    if passed is not None and (extinction is not None or thickness is not None):
        twice = "normal_transmittance stands beside extinction_per_m or thickness_mm; give one or the other"
        yield row.problem("normal_transmittance", twice, "twice")


@rule(LayerRow, "n", "normal_transmittance")
def no_more_than_its_index_allows(row: Row, around: Around) -> Iterator[Problem]:
    passed, most = row["normal_transmittance"], most_passed(row["n"])
    if passed is not None and passed > most + ROUNDED:
        told = f", more than a layer of n {row['n']:g} can pass; give {most:.3f} at most, or a smaller n"
        yield wrong(row, "normal_transmittance", told, "above-index")


@rule(CoverTable, "transmittance")
def dark_end_first(row: Row, around: Around) -> Iterator[Problem]:
    dark_end, bright_end = row["transmittance"]
    if dark_end > bright_end:
        yield wrong(row, "transmittance", "; give the dark end first", "reversed")


@rule(CoverTable, "transmittance", "dark")
def dark_is_dark(row: Row, around: Around) -> Iterator[Problem]:
    bright_end = max(row["transmittance"])
    if row["dark"] and bright_end > DARK_AT_MOST:
        told = f", but transmittance reaches {bright_end:g}; a dark cover passes {DARK_AT_MOST:g} at most"
        yield wrong(row, "dark", told, "not-dark")


@rule(NeedsTable, "minimum", "target", "limit")
def needs_rise(row: Row, around: Around) -> Iterator[Problem]:
    given = [key for key in ("minimum", "target", "limit") if row[key] is not None]
    for lower, upper in pairwise(given):
        if row[upper] < row[lower]:
            yield wrong(row, upper, f", below {row.told(lower)}; give {lower} at most {upper}", "reversed")


RULES = (one_way_to_say_it, no_more_than_its_index_allows, dark_end_first, dark_is_dark, needs_rise)

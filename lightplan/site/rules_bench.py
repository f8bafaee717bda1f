"""Rules of a bench: it must fit its house, and its parts must fit it."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.house_outline import outline_of
from lightplan.site.outline import clear_at, section_width
from lightplan.site.problems import Problem
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_bench import BenchTable, LampsTable, PlaceTable

SLACK_M = 0.15  # a bench measured along the floor may poke so far into a curved skin (judgement)


@rule(BenchTable, "house", "height_m")
def stands_under_the_roof(row: Row, around: Around) -> Iterator[Problem]:
    house = around.house(row["house"])
    points = outline_of(house) if house is not None else None
    if house is None or points is None:
        return
    top, height = max(z for _, z in points), row["height_m"]
    where = f'of house "{row["house"]}"'
    told = row.told("height_m")
    if height >= top:
        most = f"the ridge {where} is at {row.in_unit('height_m', top)}"
        yield row.problem(
            "height_m", f"{told} is not below the roof: {most}; give the height of the trays", "too-high"
        )
    elif clear_at(points, height) is None:
        yield row.problem(
            "height_m", f"{told} leaves no clear floor inside the skin {where}; give less", "too-high"
        )
    elif row.has("tent", "tent_height_m") and row["tent"] and height + row["tent_height_m"] >= top:
        told = f"{row.told('tent_height_m')} reaches the ridge {where}; give the height above the trays"
        yield row.problem("tent_height_m", told, "too-high")


@rule(PlaceTable, "across_m")
def across_in_order(row: Row, around: Around) -> Iterator[Problem]:
    yield from _in_order(row, "across_m")


@rule(PlaceTable, "along_m")
def along_in_order(row: Row, around: Around) -> Iterator[Problem]:
    yield from _in_order(row, "along_m")


def _in_order(row: Row, key: str) -> Iterator[Problem]:
    start, end = row[key]
    if start >= end or start < 0:
        what = "from the left wall" if key == "across_m" else "from the end behind you"
        yield wrong(row, key, f"; give the smaller distance {what} first, 0 or more", "reversed")


@rule(BenchTable, "house", "place", "height_m")
def stands_in_its_house(row: Row, around: Around) -> Iterator[Problem]:
    house = around.house(row["house"])
    if house is None or row["place"] is None:
        return
    place = row.children["place"][0]
    across, along = row["place"].across_m, row["place"].along_m
    if house.has("length_m") and along[1] > house["length_m"] + SLACK_M:
        length = place.in_unit("along_m", house["length_m"])
        yield wrong(place, "along_m", f', outside house "{row["house"]}", which is {length} long', "outside")
    points = outline_of(house)
    if points is None:
        return
    width = section_width(points)
    clear = clear_at(points, row["height_m"])
    if across[1] > width + SLACK_M:
        wide = place.in_unit("across_m", width)
        yield wrong(place, "across_m", f', outside house "{row["house"]}", which is {wide} wide', "outside")
    elif clear is not None and (across[0] < clear[0] - SLACK_M or across[1] > clear[1] + SLACK_M):
        span = " to ".join(place.in_unit("across_m", x) for x in clear)
        high = row.in_unit("height_m", row["height_m"])
        told = f', outside house "{row["house"]}": {high} up, its skin leaves {span} clear'
        yield wrong(place, "across_m", told, "outside")


@rule(BenchTable, "house", "area_m2")
def fits_the_floor(row: Row, around: Around) -> Iterator[Problem]:
    house = around.house(row["house"])
    points = outline_of(house) if house is not None else None
    if house is None or points is None or not house.has("length_m"):
        return
    floor = section_width(points) * house["length_m"]
    if row["area_m2"] > floor:
        told = f', more than the floor of house "{row["house"]}", {row.in_unit("area_m2", floor)}'
        yield wrong(row, "area_m2", f"{told}; give the growing area of this bench", "too-large")


@rule(BenchTable, "insulation", "insulated")
def insulated_once(row: Row, around: Around) -> Iterator[Problem]:
    if row["insulated"] is False and row["insulation"] is not None:
        yield wrong(row, "insulated", ", but insulation is given; keep one of the two", "twice")


@rule(BenchTable, "tent", "lamps")
def lamps_in_a_tent(row: Row, around: Around) -> Iterator[Problem]:
    if row["lamps"] is not None and row["lamps"].place == "in-tent" and row["tent"] is None:
        lamps = row.children["lamps"][0]
        told = ', but the bench has no tent; give tent = "…" on the bench, or place = "above"'
        yield wrong(lamps, "place", told, "no-tent")


@rule(LampsTable, "starts", "pairs", "switch")
def timer_holds_the_starts(row: Row, around: Around) -> Iterator[Problem]:
    if row["switch"] == "timer" and row.gave("starts") and row["starts"] > row["pairs"]:
        yield wrong(
            row,
            "starts",
            f", more than the timer's {row.told('pairs')}; give {row['pairs']} at most",
            "starts",
        )


RULES = (
    stands_under_the_roof,
    across_in_order,
    along_in_order,
    stands_in_its_house,
    fits_the_floor,
    insulated_once,
    lamps_in_a_tent,
    timer_holds_the_starts,
)

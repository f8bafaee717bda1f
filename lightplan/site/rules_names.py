"""Rules of names: glazings, covers, lamps, ids."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lightplan.site.cover_names import PAINTED, cover_key
from lightplan.site.crop_names import plain
from lightplan.site.glazings import glazing_key
from lightplan.site.lamp_kinds import ROWS as LAMPS
from lightplan.site.lamp_kinds import lamp_key
from lightplan.site.problems import Problem, a_list, held, nearest
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_bench import BenchTable, LampsTable
from lightplan.site.schema_house import HouseTable, ShadeRow
from lightplan.site.schema_own import CoverTable, GlazingTable

SEE_NAMES = "lightplan check --names lists them all"


def near_name(name: str, known: Iterable[str]) -> str:
    near = nearest(name, known)
    return f'the nearest is "{near}"' if near else SEE_NAMES


@rule(HouseTable)
def known_house_glazings(row: Row, around: Around) -> Iterator[Problem]:
    yield from _unknown_glazings(row, ("glazing", "wall_glazing", "end_glazing"), around)


@rule(BenchTable)
def known_tent(row: Row, around: Around) -> Iterator[Problem]:
    yield from _unknown_glazings(row, ("tent",), around)


def _unknown_glazings(row: Row, keys: tuple[str, ...], around: Around) -> Iterator[Problem]:
    for key in keys:
        if row.has(key) and row[key] and glazing_key(row[key]) not in around.glazings:
            yield wrong(
                row,
                key,
                f", which is no glazing; {near_name(row[key], around.glazings.values())}",
                "unknown-name",
            )


@rule(HouseTable, "covers")
def known_house_covers(row: Row, around: Around) -> Iterator[Problem]:
    yield from _wrong_covers(row, around)


@rule(BenchTable, "covers")
def known_bench_covers(row: Row, around: Around) -> Iterator[Problem]:
    yield from _wrong_covers(row, around)


def _wrong_covers(row: Row, around: Around) -> Iterator[Problem]:
    keys = [cover_key(name) for name in row["covers"]]
    for number, (key, name) in enumerate(zip(keys, row["covers"], strict=True)):
        if key not in around.covers:
            near = near_name(name, around.covers.values())
            yield row.problem(
                "covers", f"covers holds {held(name)}, which is no cover; {near}", "unknown-name"
            )
        elif key in keys[:number]:
            yield row.problem("covers", f"covers holds {held(name)} twice; take one out", "twice")
        elif key in PAINTED:
            paint = "is painted on for a season; put it under the house's shade"
            yield row.problem("covers", f"covers holds {held(name)}, which {paint}", "painted")


@rule(ShadeRow, "cover")
def known_shade(row: Row, around: Around) -> Iterator[Problem]:
    if cover_key(row["cover"]) not in around.covers:
        yield wrong(
            row,
            "cover",
            f", which is no cover; {near_name(row['cover'], around.covers.values())}",
            "unknown-name",
        )


@rule(LampsTable, "kind")
def known_lamp(row: Row, around: Around) -> Iterator[Problem]:
    if lamp_key(row["kind"]) not in LAMPS:
        yield wrong(row, "kind", f", which is no kind of lamp; choose {a_list(LAMPS)}", "unknown-name")


@rule(HouseTable, "id")
def one_house_of_a_name(row: Row, around: Around) -> Iterator[Problem]:
    yield from _id_taken(row, around.houses)


@rule(BenchTable, "id")
def one_bench_of_a_name(row: Row, around: Around) -> Iterator[Problem]:
    yield from _id_taken(row, around.benches)


def _id_taken(row: Row, rows: tuple[Row, ...]) -> Iterator[Problem]:
    mine = int(row.path[-1])
    first = next((other for other in rows if other.raw.get("id") == row["id"]), row)
    if int(first.path[-1]) < mine:
        told = f", the id of {row.path[0]} number {int(first.path[-1]) + 1} already; give each its own"
        yield wrong(row, "id", told, "duplicate-id")


@rule(BenchTable, "house")
def known_house(row: Row, around: Around) -> Iterator[Problem]:
    ids = [house.raw["id"] for house in around.houses if isinstance(house.raw.get("id"), str)]
    if ids and row["house"] not in ids:
        near = nearest(row["house"], ids)
        hint = f'the nearest is "{near}"' if near else f"the houses are {a_list(dict.fromkeys(ids), 'and')}"
        yield wrong(row, "house", f", which is no house here; {hint}", "unknown-house")


@rule(GlazingTable)
def one_glazing_of_a_name(row: Row, around: Around) -> Iterator[Problem]:
    yield from _name_taken(row, around.root.children.get("glazing", ()))


@rule(CoverTable)
def one_cover_of_a_name(row: Row, around: Around) -> Iterator[Problem]:
    yield from _name_taken(row, around.root.children.get("cover", ()))


def _name_taken(row: Row, rows: tuple[Row, ...]) -> Iterator[Problem]:
    name = str(row.path[-1])
    earlier = rows[: rows.index(row)]
    same = next((str(other.path[-1]) for other in earlier if plain(str(other.path[-1])) == plain(name)), None)
    if same is not None:
        yield row.problem("", f"{name} is the same name as {same}, given above; keep one", "duplicate-id")


RULES = (
    known_house_glazings,
    known_tent,
    known_house_covers,
    known_bench_covers,
    known_shade,
    known_lamp,
    one_house_of_a_name,
    one_bench_of_a_name,
    known_house,
    one_glazing_of_a_name,
    one_cover_of_a_name,
)

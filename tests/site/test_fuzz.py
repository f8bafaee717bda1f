"""Whatever stands in a site file, reading it gives a Site or a SiteError, never anything else."""

from __future__ import annotations

import copy
import tomllib
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from lightplan.site import read
from lightplan.site.describe import describe
from lightplan.site.problems import Problem, SiteError
from lightplan.site.row_tree import rows_of
from lightplan.site.schema import SiteFile

HERE = Path(__file__).parent
GOOD = tomllib.loads((HERE / "full" / "site.toml").read_text(encoding="utf-8"))

VALUES = st.one_of(
    st.sampled_from(
        [0, -1, 1, 2, 1e308, -1e308, float("inf"), float("nan"), 10**400, True, False, "", " ", "x"]
    ),
    st.integers(-(10**6), 10**6),
    st.floats(),
    st.text(max_size=12),
    st.dates().map(lambda day: day),
    st.just(datetime(2026, 1, 1, 8)),
    st.just(time(6, 30)),
    st.sampled_from(
        ["petunia", "marigold", "single-glass", "fleece", "glass", "germ", "06:30", "24:00", "section"]
    ),
    st.just([]),
    st.just({}),
    st.lists(
        st.one_of(st.integers(-5, 50), st.text(max_size=5), st.lists(st.floats(-5, 50), max_size=3)),
        max_size=4,
    ),
    st.dictionaries(st.sampled_from(["from", "to", "id", "x", "ppfd", "n"]), st.integers(-3, 3), max_size=3),
)


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every value of the document."""
    found = [path] if path else []
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        found += spots(item, (*path, key))
    return found


SPOTS = spots(GOOD)


def mutated(changes: list[tuple[tuple[Any, ...], Any]]) -> dict[str, Any]:
    document = copy.deepcopy(GOOD)
    for path, value in changes:
        at: Any = document
        try:
            for key in path[:-1]:
                at = at[key]
            at[path[-1]] = value
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took the place away
    return document


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.sampled_from(SPOTS), VALUES), min_size=1, max_size=4))
def test_any_change_gives_a_site_or_a_site_error(changes: list[tuple[tuple[Any, ...], Any]]) -> None:
    document = mutated(changes)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read, "parsed", lambda text: document)
        try:
            loaded = read.load_text("", HERE / "full")
        except SiteError as error:
            assert error.problems
            assert all(isinstance(problem, Problem) and str(problem) for problem in error.problems)
        else:
            assert describe(loaded)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
@example("[site]\nname = 3")
@example("\x00")
@example("[[house]]\n[house]")
@example("house = [[1]]")
@example("site.crew.mon = []")
@example("[crop]\npetunia = {}")
@example("[crop.petunia]\nseedling = []")
def test_any_text_gives_a_site_error(text: str) -> None:
    with pytest.raises(SiteError):
        read.load_text(text, HERE)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(SPOTS), st.sampled_from(["remove", "twice"]))
def test_any_key_left_out_or_doubled(path: tuple[Any, ...], how: str) -> None:
    document = copy.deepcopy(GOOD)
    at: Any = document
    for key in path[:-1]:
        at = at[key]
    if how == "remove":
        del at[path[-1]]
    elif isinstance(at, list):
        at.append(copy.deepcopy(at[path[-1]]))
    else:
        at[f"{path[-1]}_2"] = at[path[-1]]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read, "parsed", lambda text: document)
        try:
            read.load_text("", HERE / "full")
        except SiteError as error:
            assert str(error)


def test_rows_cover_every_table_of_the_full_file() -> None:
    """One row a table, each with a place of its own."""
    rows = list(rows_of(SiteFile, GOOD, frozenset()).everyone())
    places = [row.place for row in rows]
    assert len(places) == len(set(places))
    assert all(row.table is not None for row in rows)
    assert date(2026, 7, 1) in [row["from"] for row in rows if row.place.startswith('bench "germ", batch 1')]

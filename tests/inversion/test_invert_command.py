"""`lightplan invert` from the command line: the contract's JSON, exit codes, bad input, and the page."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from lightplan.advice.inversion.task import Advice
from lightplan.cli import Exit, main
from lightplan.clock import grid_over
from lightplan.inversion_plan import sunrises
from lightplan.inversion_told import Told, tell_inversion
from lightplan.report.inversion_page import inversion_html, inversion_view
from lightplan.report.pdf import PdfUnavailable, document, make_pdf
from lightplan.site.read import load_site
from lightplan.sky import make_sky
from lightplan.sun import sun_times
from lightplan.weather.year import year_weather
from tests.inversion.hot_site import HOT, beside, other
from tests.report.test_pdf import boxes_of, squeezed, strings

MAY = ("--bench", "dark", "--from", "2026-05-13", "--to", "2026-05-19")

# the contract of `invert`, key by key
WAY = {"peak_c": float, "hours_over": float, "days_over": int}
CONTRACT = {
    "bench": str,
    "crop": str,
    "advice": str,
    "needed": bool,
    "enough": bool,
    "weeks": [{"week_start": str, "open": WAY, "shaded": WAY, "inverted": WAY}],
    "schedule": {
        "cover_on": str,
        "cover_off": str,
        "lamps_on": str,
        "lamps_off": str,
        "dark_h": float,
        "light_h": float,
    },
    "before_emergence": {"lamps": str},
    "dli_mol": float,
    "kwh_per_night": float,
    "cost_per_night": float,
    "emergence": {"first": str, "most": str, "last": str},
    "calendar": [{"date": str, "what": str}],
    "turn_back": [{"date": str, "cover_on": str, "cover_off": str, "lamps_on": str, "lamps_off": str}],
    "alternatives": list,
    "conflicts": list,
}
ADVICE = {"not-needed", "shade-is-enough", "invert", "too-hot-either-way"}


def keep_to(contract: object, held: object, way: str = "") -> None:
    if isinstance(contract, dict):
        assert isinstance(held, dict) and list(held) == list(contract), way
        for key, inner in contract.items():
            keep_to(inner, held[key], f"{way}.{key}")
    elif isinstance(contract, list):
        assert isinstance(held, list) and held, way
        for number, one in enumerate(held):
            keep_to(contract[0], one, f"{way}[{number}]")
    else:
        assert held is None or isinstance(held, contract), f"{way}: {held!r}"


def answer(folder: Path, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert main(["invert", str(folder), *words, "--format", "json", "--out", "-"]) == Exit.DONE
    return json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def celery(hot: Path) -> Told:
    return tell_inversion(
        load_site(hot).site, "dark", "celery", first=date(2026, 5, 13), last=date(2026, 5, 19)
    )


def test_the_json_keeps_its_contract(hot, capsys):
    held = answer(hot, capsys, *MAY, "--crop", "celery")
    keep_to(CONTRACT, held)
    assert held["advice"] in ADVICE
    assert held["conflicts"] and all(isinstance(one, str) for one in held["conflicts"])
    assert (
        held["needed"] and held["weeks"][0]["open"]["days_over"] > held["weeks"][0]["inverted"]["days_over"]
    )
    schedule = held["schedule"]
    assert held["kwh_per_night"] == pytest.approx(schedule["light_h"] * 0.9)
    assert held["dli_mol"] == pytest.approx(schedule["light_h"] * 3600 * 150e-6)
    assert 0.09 * held["kwh_per_night"] <= held["cost_per_night"] < 0.14 * held["kwh_per_night"]
    assert any("Celery" in one and "18 May" in one for one in held["conflicts"]), "the batch that is there"
    assert any("short-day" in one for one in held["conflicts"]), "what neighbours suffer"


def test_a_contract_that_is_broken_is_seen(celery):
    for broken in (
        {key: value for key, value in celery.document.items() if key != "before_emergence"},
        celery.document | {"dli_mol": "6"},
        celery.document | {"weeks": []},
    ):
        with pytest.raises(AssertionError):
            keep_to(CONTRACT, broken)


def test_tomato_in_february_needs_none(hot, capsys):
    words = ("--bench", "dark", "--from", "2026-02-01", "--to", "2026-02-14", "--crop", "tomato")
    held = answer(hot, capsys, *words)
    assert (held["advice"], held["needed"]) == ("not-needed", False)
    assert len(held["weeks"]) == 2 and held["schedule"]["cover_on"], "the schedule is always given"
    assert held["before_emergence"]["lamps"] == "none" and held["alternatives"] == []


def test_the_bench_tells_its_crop(hot, capsys):
    words = ("--bench", "dark", "--from", "2026-05-18", "--to", "2026-05-18")
    assert answer(hot, capsys, *words)["crop"] == "celery"


def test_without_rates_the_cost_is_unknown(tmp_path, hot, capsys):
    head, _, houses = HOT.partition("[power]")
    folder = beside(hot, tmp_path, head + "[[house]]" + houses.partition("[[house]]")[2])
    assert answer(folder, capsys, *MAY, "--crop", "celery")["cost_per_night"] is None


ASKED = ("--bench", "dark", "--crop", "celery")


BAD = [
    (("--bench", "drak"), HOT, 'has no bench "drak"; did you mean "dark"?'),
    (("--bench", "mums"), HOT, 'bench "mums" has no lamps'),
    (("--bench", "cooler"), HOT, "nothing dark"),
    (("--bench", "dark", "--crop", "cellery"), HOT, 'did you mean "celery"?'),
    (("--bench", "dark", "--crop", "salvia"), HOT, "salvia_farinacea"),
    (("--bench", "dark"), other(("2026-05-18", "2026-06-01")), "name it as --crop"),
    (ASKED, other(('kind = "led-white", place = "above"', 'kind = "hps", place = "in-tent"')), "cooling_min"),
    (ASKED, other(('place = "above"', 'place = "above", cooling_min = 720')), "cooling_min is 720"),
    (ASKED, other(("insulation = {", 'lamp_hours = ["21:00", "23:00"]\ninsulation = {')), "lamp_hours"),
    (ASKED, other(('place = "above"', 'place = "above", switch = "hand"'), ("19:30", "17:00")), None),
    (ASKED, other(('source = "typical-year"\nfile = "pvlib:723170TYA.CSV"', 'source = "nws"')), "No weather"),
    (ASKED, other(('crew = ["06:00", "19:30"]', 'crew = ["07:00", "07:45"]')), "crew is there"),
]


@pytest.mark.parametrize(("words", "text", "told"), BAD)
def test_bad_input_is_one_sentence_and_says_what_would_do(tmp_path, hot, capsys, words, text, told):
    folder = beside(hot, tmp_path, text)
    dates = ("--from", "2026-05-13", "--to", "2026-05-19", "--format", "json", "--out", "-")
    assert main(["invert", str(folder), *words, *dates]) == (Exit.DONE if told is None else Exit.WRONG_INPUT)
    if told is None:
        return
    out = capsys.readouterr()
    problem = [line for line in out.err.splitlines() if not line.startswith("Warning")]
    assert out.out == "" and len(problem) == 1, problem
    assert told in problem[0] and problem[0][-1] in ".?"


def test_a_weather_file_of_those_weeks_is_enough_and_no_more_is_asked_of_it(tmp_path, hot, capsys):
    """Two months of invented hours: dates in them are told, dates past them are refused."""
    words = ('source = "typical-year"\nfile = "pvlib:723170TYA.CSV"', 'source = "file"\nfile = "hours.csv"')
    folder = beside(hot, tmp_path, other(words))
    hours = pd.date_range("2026-05-01", "2026-06-30 23:00", freq="h", tz="America/New_York")
    sun = np.clip(np.sin((hours.hour + 0.5 - 6) / 14 * np.pi), 0, None)
    table = pd.DataFrame(
        {"time": [h.isoformat() for h in hours], "ghi_w_m2": 700 * sun, "temp_air_c": 15 + 15 * sun}
    )
    table.to_csv(folder / "hours.csv", index=False)
    held = answer(folder, capsys, *MAY, "--crop", "celery")
    assert held["needed"] and len(held["weeks"]) == 1
    late = ["--bench", "dark", "--crop", "celery", "--from", "2026-09-01", "--to", "2026-09-07"]
    assert main(["invert", str(folder), *late, "--format", "json", "--out", "-"]) == Exit.WRONG_INPUT
    assert "No weather covers 2026-09-01 to 2026-09-07" in capsys.readouterr().err


def test_weeks_with_a_clock_change_are_told(hot, capsys):
    """1 November 2026 has 25 hours in New York: the day's 100 steps count, and hours stay hours."""
    words = ("--bench", "dark", "--from", "2026-10-28", "--to", "2026-11-02", "--crop", "lettuce")
    (week,) = answer(hot, capsys, *words)["weeks"]
    assert 0 <= week["inverted"]["hours_over"] <= week["open"]["hours_over"] <= 169


@pytest.mark.parametrize(
    "words", [("--from", "2026-05-20", "--to", "2026-05-19"), ("--from", "2026-02-30", "--to", "2026-03-19")]
)
def test_wrong_usage_is_2(hot, words, capsys):
    assert main(["invert", str(hot), "--bench", "dark", *words]) == Exit.WRONG_USAGE
    assert "Error" in capsys.readouterr().err


def test_files_are_written_for_every_format(hot, tmp_path, capsys):
    words = ["invert", str(hot), *MAY, "--crop", "celery", "--format", "html,json", "--out", str(tmp_path)]
    assert main(words) == Exit.DONE
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".html", ".json"]
    assert all(path.name.startswith("invert-20") for path in tmp_path.iterdir())


@pytest.fixture(scope="module")
def page(celery: Told, hot: Path):
    site = load_site(hot).site
    return inversion_view(celery.plan, site, celery.weather), inversion_html(
        celery.plan, site, celery.weather
    )


def test_every_string_of_the_page_is_printed_inside_it(page):
    pypdf = pytest.importorskip("pypdf")
    view, html = page
    try:
        pdf = make_pdf(html)
        laid_out = document(html)
    except PdfUnavailable as reason:
        pytest.skip(str(reason))
    pages = pypdf.PdfReader(io.BytesIO(pdf.content)).pages
    text = squeezed("".join(one.extract_text() for one in pages))
    asked = replace(view, title="", paper="")
    assert [s for s in strings(asked) if squeezed(s) not in text] == []
    assert pdf.complaints == () and len(pages) == 2
    for one in laid_out.pages:
        for _, words, right, low in boxes_of(one, margins=True):
            assert right <= one.width and low <= one.height, words


def test_the_page_tells_the_plan_and_its_cautions(page, celery):
    view, _ = page
    assert [step.time for step in view.steps] == [
        celery.document["schedule"][key] for key in ("lamps_off", "cover_on", "cover_off", "lamps_on")
    ]
    assert len(view.calendar) == len(celery.document["calendar"])
    assert any("fire" in words for words in view.cautions)
    assert "noon" not in " ".join(step.what for step in (*view.steps, *view.calendar)).lower()


def test_the_plan_does_not_depend_on_dates_asked_after_it(hot, celery):
    """A longer question has the shorter one's first week in it."""
    more = tell_inversion(
        load_site(hot).site, "dark", "celery", first=date(2026, 5, 13), last=date(2026, 5, 19) + timedelta(14)
    )
    for name in ("open", "shaded"):
        assert more.document["weeks"][0][name] == celery.document["weeks"][0][name]


def test_what_is_not_advised_comes_after_why_and_what_instead(hot, celery, page):
    """Nobody is to set timers by a plan that the page advises against."""
    assert celery.plan.verdict.advice is Advice.TOO_HOT
    view, against = page
    assert not view.turn_it and "sow from" in view.sentence
    site = load_site(hot).site
    told = tell_inversion(site, "dark", "petunia", first=date(2026, 5, 13), last=date(2026, 5, 13))
    assert told.plan.verdict.advice is Advice.INVERT
    advised = inversion_html(told.plan, site, told.weather)
    order = ("Every day", "Does it need it?", "Other ways", 'class="pinned')
    at = {
        name: [html.index(words) for words in order]
        for name, html in (("for", advised), ("against", against))
    }
    assert sorted(range(4), key=at["for"].__getitem__) == [0, 1, 3, 2]
    assert sorted(range(4), key=at["against"].__getitem__) == [1, 2, 0, 3]


def test_sunrise_is_the_suns_own_to_the_minute(hot):
    """Against the site's sun times, which are held against an outside almanac; polar days have none."""
    site = load_site(hot).site
    for latitude, longitude, zone in ((36.1, -79.95, "America/New_York"), (-46.1, 168.9, "Pacific/Auckland"),
                                      (69.6, 19.0, "Europe/Oslo")):  # fmt: skip
        here = replace(site, latitude=latitude, longitude=longitude, timezone=ZoneInfo(zone))
        for first in (date(2026, 3, 27), date(2026, 6, 20), date(2026, 9, 25)):
            grid = grid_over(first, 4, here.timezone)
            sky = make_sky(here, year_weather(here, grid).table, grid)
            found = sunrises(sky, grid)
            for day, minute in list(zip(grid.dates, found, strict=True))[1:]:
                rises = sun_times(here, day).sunrise
                assert (rises is None) == (minute is None), (latitude, day)
                if rises is not None:
                    exact = rises.hour * 60 + rises.minute + rises.second / 60
                    assert exact - 2 <= minute <= exact + 0.5, (latitude, day)

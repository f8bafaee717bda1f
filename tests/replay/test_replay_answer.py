"""The `replay` JSON keeps to its contract, and the page says the same."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from lightplan.replay.replay import Quality, Replay, forecast_of, replay
from lightplan.report import replay_chart
from lightplan.report.json_form import json_text
from lightplan.report.pdf import PdfUnavailable, make_pdf
from lightplan.report.replay_json import replay_json
from lightplan.report.replay_page import replay_html, replay_view, sentence
from tests.replay.seasons import FLAT, bench, season, site_of

SUN = np.random.default_rng(8).lognormal(2.2, 0.4, 5).round(2)
POLICIES = ["advice", "fixed-16h", "threshold", "same-day"]
NUMBER, NUMBER_OR_NONE = (int, float), (int, float, type(None))
TOP = {
    "site": dict, "from": str, "to": str, "forecast": str, "seed": (int, type(None)), "weather": dict,
    "bound_kwh": NUMBER, "bound_cost": NUMBER_OR_NONE, "bound_mean_shortfall_mol": NUMBER_OR_NONE,
    "policies": list,
}  # fmt: skip
POLICY = {
    "name": str, "kwh": NUMBER, "cost": NUMBER_OR_NONE, "over_bound": NUMBER_OR_NONE,
    "days_at_minimum": NUMBER_OR_NONE, "mean_shortfall_mol": NUMBER_OR_NONE, "starts_max": int,
    "solver_gap": NUMBER_OR_NONE, "short_gap": NUMBER_OR_NONE, "days": list,
}  # fmt: skip
DAY = {
    "date": str,
    "bench": str,
    "sun_dli": NUMBER,
    "lamp_mol": NUMBER,
    "dli": NUMBER,
    "account": NUMBER_OR_NONE,
}


def done(power: str = "", *benches: str, quality: Quality = Quality.MODEL) -> Replay:
    found = season(site_of(*benches, **({"power": power} if power else {})), SUN)
    return replay(found, forecast_of(found, quality, 2), quality=quality, seed=2)


@pytest.fixture(scope="module")
def two() -> Replay:
    return done("", bench(), bench("germ", stage="germination"))


def keep_to(form: dict[str, Any], held: dict[str, Any]) -> None:
    assert set(held) == set(form)
    for key, kinds in form.items():
        assert isinstance(held[key], kinds), key
        assert not isinstance(held[key], float) or math.isfinite(held[key])


def test_every_key_is_there_and_of_its_kind(two):
    held = json.loads(json_text(replay_json(two)))
    keep_to(TOP, held)
    assert (held["forecast"], held["seed"], held["from"], held["to"]) == (
        "model",
        2,
        "2026-01-12",
        "2026-01-16",
    )
    assert [policy["name"] for policy in held["policies"]] == POLICIES
    for policy in held["policies"]:
        keep_to(POLICY, policy)
        assert 0 <= policy["days_at_minimum"] <= 1
        assert len(policy["days"]) == 2 * 5
        for day in policy["days"]:
            keep_to(DAY, day)
            assert day["dli"] == pytest.approx(day["sun_dli"] + day["lamp_mol"], abs=2e-4)
            assert (day["account"] is None) == (day["bench"] == "germ")
        lit_h = sum(day["lamp_mol"] for day in policy["days"]) / (75 * 3600 / 1e6)
        assert policy["kwh"] == pytest.approx(0.6 * lit_h, abs=0.05)


def test_without_prices_cost_is_null_and_the_page_still_stands():
    found = done("[power]\ncapacity_kw = 50\nother_kw = 0", quality=Quality.PERFECT)
    held = replay_json(found)
    assert (held["bound_cost"], held["seed"]) == (None, None)
    assert {policy["cost"] for policy in held["policies"]} == {None}
    assert "Cost, " not in replay_html(found)


def test_a_site_without_lamps_has_a_page_that_says_so():
    found = replace(season(site_of(), SUN), benches=())
    empty = replay(found, forecast_of(found, Quality.MODEL, 0), quality=Quality.MODEL, seed=0)
    keep_to(TOP, json.loads(json_text(replay_json(empty))))
    assert "No bench of this site has lamps" in replay_html(empty)


def test_what_leaves_the_drawing_at_the_top_is_named(two):
    assert set(replay_chart.leaving(two)) <= {"fixed-16h", "threshold"}
    assert "fixed-16h" in replay_chart.leaving(two)
    assert "16 hours every day" in (replay_view(two).energy_note or "")


def test_every_line_of_the_drawing_looks_otherwise():
    assert len(set(replay_chart.STYLES.values())) == len(replay_chart.STYLES) == len(POLICIES) + 1


def test_all_words_and_figures_are_printed(two):
    pypdf = pytest.importorskip("pypdf")
    try:
        pdf = make_pdf(replay_html(two))
    except PdfUnavailable as reason:
        pytest.skip(str(reason))
    assert pdf.complaints == ()
    pages = pypdf.PdfReader(io.BytesIO(pdf.content)).pages
    assert len(pages) == 1
    text = re.sub(r"\s+", "", pages[0].extract_text())
    view = replay_view(two)
    wanted = [view.site, view.dates, view.sentence, *view.facts, *(b.name for b in view.benches)]
    for row in view.rows:
        wanted += [
            row.name,
            row.words,
            row.kwh,
            row.cost,
            row.over,
            row.at_minimum,
            row.shortfall,
            row.starts,
        ]
    assert [words for words in wanted if re.sub(r"\s+", "", words) not in text] == []


FREE = '[power]\nrates = [{ from = "00:00", to = "24:00", price = 0 }]'
TOO_SMALL = FLAT.replace("capacity_kw = 50", "capacity_kw = 0.5")  # 0.4 kW for lamps of 0.6


@pytest.mark.parametrize(
    ("power", "days", "words"),
    [
        (FREE, [6.0] * 4, "the least there is would cost nothing"),
        (TOO_SMALL, [6.0] * 4, "No lamps were needed or could be lit in all this time"),
        (FLAT, [30.0] * 4, "No lamps were needed or could be lit in all this time"),
        (FLAT, [11.0] * 4, "The sheets lit nothing, and owe light"),  # 4 mol after four days, as may be
        (FLAT, [8.5, 8.5, 8.5, 8.5, 16.0, 16.0], "more than the least there is"),
    ],
)
def test_the_sentence_says_what_came_of_it(power: str, days: list[float], words: str) -> None:
    found = season(site_of(power=power), days)
    done = replay(found, forecast_of(found, Quality.MODEL, 3), quality=Quality.MODEL, seed=3)
    assert words in sentence(done)
    assert "100 %" not in sentence(done)


def test_what_the_proofs_left_open_is_said(two: Replay) -> None:
    advice, *others = two.policies
    loose = replace(two, policies=(replace(advice, gap=0.012, short_gap=0.034), *others))
    said = " ".join(replay_view(loose).facts)
    assert "proved within 1.2 % of its own least cost" in said
    assert "up to 3.4 % might still have been found" in said
    assert "might still" not in " ".join(replay_view(two).facts)
    assert replay_json(loose)["policies"][0]["short_gap"] == pytest.approx(0.034)

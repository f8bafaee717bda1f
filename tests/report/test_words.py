"""Words and figures of the sheet."""

from __future__ import annotations

import re
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from lightplan.advice.lamps import reason
from lightplan.dayplan import Action, Certainty, Note, Reason
from lightplan.report.cautions import CAUTIONS, caution_words
from lightplan.report.names import COVERS, STAGES, cover_name, crop_name
from lightplan.report.notes import HINDRANCES, NOTES, bench_lines, note_words
from lightplan.report.order_words import ACTIONS
from lightplan.report.reasons import CERTAINTY, REASONS, certainty_words, reason_words
from lightplan.report.units import (
    Units,
    clock,
    figure,
    hours,
    joined,
    listing,
    short,
    span,
    sun_ppfd_per_foot_candle,
)
from lightplan.site.models import Stage
from lightplan.tables import read_table
from tests.report.sites import range_of

METRIC, US = Units(us=False, foot_candles=False), Units(us=True, foot_candles=True)
DAY = date(2026, 11, 1)
SITE = range_of(1, DAY)
ZONE = ZoneInfo("America/New_York")

VALUES = {
    "total": 6.2,
    "target": 10.0,
    "minimum": 8.0,
    "because": "lamp-hours",
    "hours": 15.5,
    "wanted": 24.0,
    "crops": ("petunia", "pansy_viola"),
    "crop": "marigold_african",
    "other": "impatiens",
    "limit": 12.0,
    "peak": 640.0,
    "minutes": 75,
    "ppfd": 45.0,
    "critical": 13.0,
    "days": 3,
    "share": 0.75,
    "cost": 2.3,
    "bare": 540,
    "ordered": 60,
    "short": 1.2,
    "at": datetime(2026, 1, 15, 12, 0, tzinfo=ZONE),
    "until": datetime(2026, 1, 15, 16, 30, tzinfo=ZONE),
    "where": "leaf",
    "house": "Glasshouse",
    "mark": "judgement",
    "shut": 41.0,
    "vented": 28.0,
    "vent_at": 24.0,
    "low": 1.5,
    "heat_to": 12.0,
    "after": 1140,
    "why": 'site.toml: bench "germ" has no lamps; give it lamps.',
    "own": 38.0,
    "second": 43.0,
    "kill": 40.0,
    "flowers": True,
    "cause": "spill",
    "natural": 11.2,
    "by": "Plugs",
    "help": "cover",
    "kept_open": "lit",
    "for_bench": "Plugs",
    "reach": 9.0,
    "leak": 0.8,
    "turns": 6.0,
    "cover": (420, 1140),
    "back": 2,
    "of": 4,
}


def at(hour: int, minute: int = 0, *, day: int = 1, fold: int = 0) -> datetime:
    return datetime(2026, 11, day, hour, minute, fold=fold, tzinfo=ZONE)


def test_every_action_certainty_and_stage_has_words() -> None:
    assert set(ACTIONS) == set(Action)
    assert set(CERTAINTY) == set(Certainty)
    assert set(STAGES) == set(Stage)


@pytest.mark.parametrize("rule", REASONS)
def test_reason_holds_its_two_numbers(rule: str) -> None:
    unit, _ = REASONS[rule]
    if unit is None:
        assert reason_words(Reason(rule), METRIC)
        return
    words = reason_words(Reason(rule, 5.1, 10.0, unit), METRIC)
    assert any(figure in words for figure in ("5.1", "5", "−5.1")), words
    assert "10" in words or rule in {"clock-change", "water"}, words


def test_every_reason_that_lamp_planning_gives_has_words() -> None:
    source = Path(reason.__file__).read_text()
    given = set(re.findall(r'Why\(\s*"([a-z-]+)"', source))
    assert len(given) > 8
    assert given <= set(REASONS)


def test_reasons_as_the_grower_reads_them() -> None:
    assert reason_words(Reason("dli-short", 5.12, 10.0, "mol"), METRIC) == "expected sun 5.1 of 10 mol wanted"
    hot = Reason("temperature-limit", 38.0, 32.0, "c")
    assert reason_words(hot, METRIC) == "would reach 38 °C, 32 °C is the limit"
    assert reason_words(hot, US) == "would reach 100 °F, 90 °F is the limit"
    bright = Reason("ppfd-limit", 640.0, 500.0, "umol")
    # 640 / 0.1993 = 3,211 and 500 / 0.1993 = 2,509 foot-candles (Thimijan & Heins 1983), to the ten
    assert reason_words(bright, US) == "sun reaches 640 μmol (3,210 fc), 500 μmol (2,510 fc) is the limit"


def test_unknown_slugs_are_refused() -> None:
    for refuse in (
        lambda: reason_words(Reason("no-such-rule"), METRIC),
        lambda: note_words(Note("no-such-note"), METRIC),
        lambda: caution_words("no-such-caution", us=True),
    ):
        with pytest.raises(KeyError):
            refuse()


def test_reason_without_its_numbers_or_in_another_unit_is_refused() -> None:
    for why in (Reason("dli-short", 5.1, None, "mol"), Reason("dli-short", 5.1, 10.0, "h")):
        with pytest.raises(ValueError, match="dli-short must carry value, limit and unit 'mol'"):
            reason_words(why, METRIC)


@pytest.mark.parametrize("slug", NOTES)
def test_note_is_one_sentence(slug: str) -> None:
    words = note_words(Note(slug, tuple(VALUES.items())), METRIC)
    assert words[0].isupper() and words.endswith(".") and "_" not in words


@pytest.mark.parametrize("because", HINDRANCES)
def test_hindrance_reads_after_because_of(because: str) -> None:
    note = Note("minimum-missed", (("total", 6.2), ("minimum", 8.0), ("because", because)))
    assert note_words(note, METRIC).startswith("Ends 1.8 mol under its minimum of 8 because of ")


@pytest.mark.parametrize("slug", CAUTIONS)
def test_caution_names_what_it_defers_to(slug: str) -> None:
    """Every reference of the table's row stands on the sheet of one country or the other."""
    here, elsewhere = caution_words(slug, us=True), caution_words(slug, us=False)
    defer = {row["caution_id"]: row["defer_to"] for row in read_table("safety")}
    for words in (here, elsewhere):
        assert words.endswith(".")
        assert "()" not in words
    for row in CAUTIONS[slug].rows:
        assert all(part in here or part in elsewhere for part in defer[row].split("; ")), row


def test_codes_are_those_of_the_growers_country() -> None:
    assert "NFPA 70 article 410.184" in caution_words("wet-electrics", us=True)
    assert "IEC 60364-7-705" not in caution_words("wet-electrics", us=True)
    assert "IEC 60364-7-705" in caution_words("wet-electrics", us=False)
    american = re.compile(r"NFPA|OSHA|UL \d|CFR|NEMA")
    assert not [slug for slug in CAUTIONS if american.search(caution_words(slug, us=False))]
    assert "(local code)" in caution_words("continuous-load", us=False)


def test_what_lamps_have_given_when_they_go_off() -> None:
    part = Reason("lamps-enough", 1.0, 1.4, "mol")
    assert reason_words(part, METRIC) == "they have given 1 of the 1.4 mol wanted of them"
    whole = Reason("lamps-enough", 1.4, 1.4, "mol")
    assert reason_words(whole, METRIC) == "they have given the 1.4 mol wanted of them"


def test_poor_day_and_expected_day_are_told_apart() -> None:
    values = (("total", 6.4), ("minimum", 8.0), ("because", "lamp-light"))
    surely = [("Left", Note("minimum-missed", (*values, ("expected", 7.2))))]
    assert bench_lines(surely, METRIC) == (
        "Under the minimum because of the strength of the lamps:"
        " Left by 0.8 of 8 mol, 1.6 if the day turns out poor.",
    )
    perhaps = [("Left", Note("minimum-missed", (*values, ("expected", 11.2))))]
    assert bench_lines(perhaps, METRIC) == (
        "Under the minimum if the day turns out poor, because of the strength of the lamps:"
        " Left by 1.6 of 8 mol.",
    )
    assert note_words(perhaps[0][1], METRIC) == (
        "If the day turns out poor, ends 1.6 mol (expected enough) under its minimum of 8"
        " because of the strength of the lamps."
    )


def test_odds_are_told_in_tenths_unless_sure() -> None:
    assert certainty_words(Certainty.SURE, 0.93) == "sure"
    assert certainty_words(Certainty.LIKELY, 0.65) == "likely, 6 in 10"
    assert certainty_words(Certainty.STAND_BY, 0.31) == "stand by, 3 in 10"


def test_figures() -> None:
    assert figure(1234.5) == "1,234"
    assert figure(-0.4) == "0"
    assert figure(-3.26, 1) == "−3.3"
    assert (short(10.0), short(10.04), short(9.96), short(0.0)) == ("10", "10", "10", "0")
    assert (hours(9.93), hours(12.0), hours(0.5), hours(9.999)) == ("9 h 56 min", "12 h", "30 min", "10 h")
    assert listing(["a"]) == "a" and listing(["a", "b", "c"]) == "a, b and c" and listing([]) == ""


def test_foot_candle_is_the_tables() -> None:
    # Thimijan & Heins (1983), sunlight: 54 lx per µmol m⁻² s⁻¹; a foot-candle is 10.764 lx (1 / 0.3048²)
    assert sun_ppfd_per_foot_candle() == pytest.approx(10.764 / 54, rel=1e-3)


def test_clock_shows_what_the_wall_shows() -> None:
    assert clock(at(6, 30), SITE, DAY) == "06:30"
    assert clock(at(0, day=2), SITE, DAY, ends=True) == "24:00"
    assert clock(at(0, day=2), SITE, DAY) == "00:00 Mon"
    assert clock(at(6, 30, day=2), SITE, DAY, ends=True) == "06:30 Mon"


def test_hour_that_comes_twice_carries_its_zone() -> None:
    # Daylight saving time of 2026 ends on 1 November at 02:00 (US Energy Policy Act of 2005, sec. 110)
    assert clock(at(1, 30), SITE, DAY) == "01:30 EDT"
    assert clock(at(1, 30, fold=1), SITE, DAY) == "01:30 EST"
    assert clock(at(2, 30), SITE, DAY) == "02:30"


def test_spans_name_another_day_once() -> None:
    assert span((at(15, 30), at(21)), SITE, DAY) == "15:30–21:00"
    assert span((at(4, 45, day=2), at(6, 30, day=2)), SITE, DAY) == "Mon 04:45–06:30"
    assert span((at(21), at(6, 30, day=2)), SITE, DAY) == "21:00–06:30 Mon"


def test_intervals_that_touch_are_one() -> None:
    halves = ((at(20), at(0, day=2)), (at(0, day=2), at(6, day=2)))
    assert joined(halves) == ((at(20), at(6, day=2)),)
    # 01:00 and 01:00 again are an hour apart on the wall clock's second round
    assert len(joined(((at(0), at(1)), (at(1, fold=1), at(2))))) == 2


def test_names_in_plain_words() -> None:
    assert crop_name("marigold_african") == "African marigold"
    assert crop_name("salvia_splendens") == "salvia splendens"
    assert cover_name("shade-cloth-50") == "the 50 % shade cloth"
    assert cover_name("wet_paper") == COVERS["wet-paper"]
    assert cover_name("tatty-rug") == "the tatty rug"


def test_hours_too_hot_are_told_once():
    """With the limit where its minutes are those as ordered; by themselves where another step is passed."""
    over = Note(
        "temperature-over-limit", (("where", "air"), ("limit", 35.0), ("minutes", 60), ("mark", "page"))
    )
    saved = Note("heat-saved", (("bare", 300), ("ordered", 60)))
    assert bench_lines([("Left", over), ("Left", saved), ("Right", over)], METRIC) == (
        "Over the temperature limit: Left air 35 °C for 60 min, 5 h with nothing done and"
        " Right air 35 °C for 60 min.",
    )
    other = Note("heat-saved", (("bare", 300), ("ordered", 90)))
    assert bench_lines([("Left", over), ("Left", other)], METRIC) == (
        "Over the temperature limit: Left air 35 °C for 60 min.",
        "Hours too hot, as ordered: Left 5 h becomes 1 h 30 min.",
    )


def test_what_is_not_held_says_whether_anything_is_ordered():
    said = [note_words(Note("limit-not-held", (("ordered", done),)), METRIC) for done in (True, False)]
    assert "is ordered" in said[0] and "ordered" not in said[1]

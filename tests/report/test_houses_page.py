"""The year's pages: every word printed inside its page, one order everywhere, figures those of the answer."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lightplan.cli import Exit, main
from lightplan.report.houses_fit import move_words
from lightplan.report.houses_page import houses_html, houses_view
from lightplan.report.houses_plan import EDGES, GREYS, compass, grey_of, plan
from lightplan.report.html import filled
from lightplan.report.pdf import PdfUnavailable, make_pdf
from lightplan.year.beside import what_if
from lightplan.year.fit import Move
from lightplan.year.season import Need
from tests.report.test_pdf import boxes_of, squeezed, strings
from tests.year.conftest import answer, quillfen  # noqa: F401  (fixtures)

pypdf = pytest.importorskip("pypdf")
NOT_PRINTED = {"title"}


@pytest.fixture(scope="module")
def full(answer):  # noqa: F811
    """The answer with a change beside today: the block's light four fifths of what it was."""
    year = answer.answer.year
    block, *others = year.houses
    dim = replace(block, light=replace(block.light, inside_mol=block.light.inside_mol * 0.8))
    beside = what_if(("house.block.dirt_loss=0.3",), year, replace(year, houses=(dim, *others)))
    return replace(answer.answer, what_if=beside)


@pytest.fixture(scope="module")
def laid_out(full):
    from lightplan.report.pdf import document

    try:
        return document(houses_html(full))
    except PdfUnavailable as reason:
        pytest.skip(str(reason))


def test_every_string_of_the_view_is_printed(full):
    try:
        pdf = make_pdf(houses_html(full))
    except PdfUnavailable as reason:
        pytest.skip(str(reason))
    import io

    pages = pypdf.PdfReader(io.BytesIO(pdf.content)).pages
    text = squeezed("".join(page.extract_text() for page in pages))
    assert [s for s in strings(houses_view(full)) if squeezed(s) not in text] == []
    assert pdf.complaints == ()


def test_every_text_lies_within_its_page(laid_out):
    seen = 0
    for page in laid_out.pages:
        for _, text, right, low in boxes_of(page, margins=True):
            seen += 1
            assert right <= page.width and low <= page.height, text
    assert seen > 300


def test_a_page_with_a_lost_word_is_seen(full):
    """The check above against a page whose last house's name is cut off."""
    view = houses_view(full)
    html = filled("houses.html.j2", footer=view.footer, page=replace(view, houses=view.houses[:-1]))
    assert html.count("Cold frame") < houses_html(full).count("Cold frame")


def test_no_letters_under_nine_points_but_in_the_footer(laid_out):
    for page in laid_out.pages:
        boxes = [page._page_box]
        for box in boxes:
            inner = getattr(box, "children", ())
            boxes.extend(b for b in inner if type(b).__name__ != "MarginBox")
            if getattr(box, "text", "").strip():
                assert box.style["font_size"] >= 9 * 96 / 72 - 1e-6, box.text


def test_houses_and_benches_come_in_one_order_everywhere(full):
    view, site = houses_view(full), full.year.site
    names = [house.name for house in site.houses]
    assert [row.name for row in view.houses] == names
    assert [row.name for row in view.light_table.rows[1:]] == names
    assert all([row.name for row in table.rows] == names for table in view.share_tables)
    assert [row.name for row in view.plans] == names
    assert [name for table in view.fit for name in table.houses] == names
    numbered = [f"{n} {bench.name}" for n, bench in enumerate(site.benches, 1)]
    assert [row.name for row in view.benches] == numbered
    assert [row.name for row in view.lamp_rows[: len(numbered)]] == numbered


def test_the_tables_hold_the_answers_figures(full):
    view = houses_view(full)
    block = full.year.houses[0].light
    june = full.year.months[5].days
    assert view.light_table.rows[1].cells[5] == f"{block.inside_mol[june].mean():.0f}"
    share = 100 * block.inside_mol[june].sum() / block.outdoor_mol[june].sum()
    assert view.share_tables[0].rows[0].cells[5] == f"{share:.0f}"
    today, then = view.what_if.table.rows[:2]
    assert float(then.cells[5]) == pytest.approx(0.8 * float(today.cells[5]), abs=0.06)
    assert "Uncalibrated" in view.what_if.uncalibrated
    assert view.lamp_rows[-1].cells[1] == f"{full.year.lamps.kwh:,.0f}"


def test_a_plan_names_its_sides_and_tells_the_dark_month_first(full):
    """The block's ridge runs north: left is west, on top. The wall house's runs east: north is on top."""
    block, wall, frame = houses_view(full).plans
    assert block.sides == "Top edge: west side. Bottom: east. Left: south end. Right: north end."
    assert wall.sides.startswith("Top edge: north side.")
    assert [month.title.split(",")[0] for month in block.months] == ["December", "June"]
    assert all(words.endswith("m from west") for words in block.months[0].words[:2])
    assert all(words.endswith("m from north") for words in wall.months[0].words[:2])
    assert frame.benches == ("No place given: 5 Hardening frame.",)


def test_the_season_is_told_in_one_line_and_row_by_row(full):
    """Crops that want the same day share a row; the one line holds what any bench needs."""
    view = houses_view(full)
    assert view.one_line.lanes == ("lamps", "tents, covers", "fixed shade", "day turned round")
    names = [row.name for row in view.calendar]
    assert "Day turned round, Seed bench" in names
    assert "Long days, lobelia, pansy and viola and petunia" in names
    assert "Short days, cosmos bipinnatus and dahlia" in names
    idle = np.zeros(len(full.year.weeks), dtype=bool)
    none = Need(idle, None, None)
    dates = replace(full.dates, lamps=none, seed_lamps=none, tents=none, covers=none, shades=(), turned=())
    assert houses_view(replace(full, dates=dates)).one_line is None


def test_a_move_says_what_is_gained_and_how_the_air_differs(full):
    fit = next(f for f in full.fits if f.crop == "petunia" and f.bench is not None)
    here, there = (
        replace(h, short_mol=mol, over_mol=0.0) for h, mol in zip(fit.houses[:2], (90.0, 30.0), strict=True)
    )
    move = Move(replace(fit, houses=(here, there)), there, 60.0, -3.2, 7.6)
    words = move_words(move, full.year)
    assert "60 mol less missing" in words and "3 °C cooler on average, 8 °C at the coldest" in words
    over = replace(here, short_mol=0.0, over_mol=90.0)
    hot = Move(replace(fit, houses=(over, there)), there, 60.0, 2.0, 7.6)
    assert "60 mol less over the limit" in move_words(hot, full.year)
    assert "2 °C warmer" in move_words(hot, full.year)


def test_darker_cells_are_darker_greys_and_print_apart():
    shades = [grey_of(share) for share in (0.5, 0.85, 0.93, 1.0, 1.07, 1.3)]
    assert shades == list(GREYS)
    levels = [int(grey[1:3], 16) for grey in GREYS]
    assert all(b - a >= 15 for a, b in pairwise(levels))
    assert len(GREYS) == len(EDGES) + 1


def test_a_plan_is_to_scale_with_its_benches(full):
    year = full.year
    block = year.houses[0]
    bench = next(one.bench for one in year.benches if one.bench.id == "plugs")
    drawn = str(plan(block.house, block.floor[0], {2: bench}, points_a_metre=5.0))
    outline = re.search(r'<rect x="3" y="3" width="([\d.]+)" height="([\d.]+)" fill="none"', drawn)
    wide = 3 * block.house.width_m + 2 * block.house.gutter_m
    assert [float(size) for size in outline.groups()] == pytest.approx(
        [5 * block.house.length_m, 5 * wide], abs=0.01
    )
    middle = re.search(r'<circle cx="([\d.]+)" cy="([\d.]+)"', drawn)
    assert [float(at) for at in middle.groups()] == pytest.approx([3 + 5 * 6.0, 3 + 5 * 9.25], abs=0.01)
    assert drawn.count('stroke-dasharray="6 3"') == 3  # a ridge a span
    assert ">2</text>" in drawn


@pytest.mark.parametrize(("ridge", "tip"), [(90.0, (13, 3)), (0.0, (23, 13)), (45.0, (20.07, 5.93))])
def test_the_arrow_points_north(full, ridge, tip):
    """Looking along the ridge the left wall is on top: a ridge to the east leaves north on top."""
    house = replace(full.year.houses[0].house, ridge_azimuth_deg=ridge)
    line = re.search(r'x2="([\d.]+)" y2="([\d.]+)"', str(compass(house)))
    assert [float(at) for at in line.groups()] == pytest.approx(tip, abs=0.01)


def test_the_command_writes_all_three(quillfen, tmp_path, capsys):  # noqa: F811
    words = ["houses", str(quillfen), "--year", "2026", "--crop", "basil:seedling", "--out", str(tmp_path)]
    code = main(words)
    assert code in (Exit.DONE, Exit.STAND_IN)
    found = {path.suffix for path in tmp_path.iterdir()}
    assert {".html", ".json"} <= found
    document = json.loads(next(tmp_path.glob("*.json")).read_text(encoding="utf-8"))
    assert document["fit"][-1]["crop"] == "basil"
    assert document["what_if"] is None
    assert {"transmission", "beam_share", "weekly", "floor"} <= set(document["houses"][0])
    assert [b["id"] for b in document["benches"]] == ["seed", "plugs", "middle", "shelf", "harden"]

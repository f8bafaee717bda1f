"""How close the lines of a sheet stand: the widest setting in which it keeps to its pages.

Heights are reckoned, not measured, so that paper and screen agree and a page is laid out once. The
figures follow `page.css`: change both together (a test compares them with the laid-out page).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lightplan.report.view import Band, BenchRow, Head, HouseStrip, OrderRow, SheetView

PAPER_HEIGHT_PT = {"letter": 792.0, "a4": 841.9}
MARGINS_PT = 59.6  # 9 mm and 12 mm, page.css
PACKED_MARGINS_PT = 48.2  # 7 mm and 10 mm, morning.html.j2
LINE_LETTERS = 118  # of 9 pt across the page
HALF_LETTERS = 56
# of a bench and what stands on it, by the number of columns more
NAME_LETTERS = {"more-0": 38, "more-1": 33, "more-2": 27, "more-3": 25}
PEAK_LETTERS = 15  # of a bench's peak with its limit and foot-candles
STRIP_LETTERS = 28  # of a house and its figures
SAFETY_PT = 4.0  # names wider than letters are on average
BETWEEN_LETTERS = 5  # gap between two sentences that run on
HEADING_LETTERS = 12  # of the bold words before them
ROUTINE_LETTERS, BOX_LETTERS = 100, 8  # of the daily round's line; of a box with its number
AXIS_PT = 15.0  # hours and crew above the strips
WEEK_LINES = 8  # six days ahead and their headings
SENTENCE_LETTERS = {"roomy": 36, "snug": 44, "tight": 50, "packed": 57}


@dataclass(frozen=True)
class Heights:
    """Points that each piece takes in one setting."""

    sentence: float  # a line of the one sentence
    date: float  # the date's column at least
    text: float  # a line of small print
    band: float
    one: float  # an order by itself
    group: float  # the head of orders alike
    reason: float  # their shared reason
    pair: float  # two places, without their own reasons
    pair_reason: float
    bench: float
    strip: float
    lane: float
    gap: float  # between blocks
    readings: float
    routine: float = 13.6  # a line of the daily round


HEIGHTS = {
    "roomy": Heights(23, 58, 11.8, 19.4, 39.9, 27.3, 12.1, 27.3, 12.1, 21.6, 31.4, 11, 14, 45),
    "snug": Heights(18.4, 48, 10.7, 15.4, 27.4, 16.2, 10.9, 15, 10.4, 14.6, 23, 10.6, 4, 29),
    "tight": Heights(16.1, 40, 10.7, 14.9, 24.7, 14.2, 10.9, 14.6, 10.4, 11.2, 14, 10.6, 3, 29),
}

# as tight, but that an order's reason runs on in its line
SETTINGS = tuple(HEIGHTS)
HEIGHTS["packed"] = replace(HEIGHTS["tight"], sentence=14.0, one=14.7)
ORDER_LINE_PT, LARGE_PT, SMALL_PT = 352.0, 6.2, 4.6  # of an order's words: room, and a letter of 12 and 9 pt


def density(sheet: SheetView) -> str:
    """roomy, snug or tight: the widest in which the sheet takes one page; tight if it takes more."""
    room = room_pt(sheet)
    return next((name for name in SETTINGS if height_pt(sheet, name) <= room), "tight")


def room_pt(sheet: SheetView) -> float:
    """Height of what one page takes [pt]."""
    return PAPER_HEIGHT_PT[sheet.paper] - (PACKED_MARGINS_PT if sheet.density == "packed" else MARGINS_PT)


def height_pt(sheet: SheetView, name: str) -> float:
    """Reckoned height [pt] of all that stands on the sheet in one setting."""
    h = HEIGHTS[name]
    set_before = [sheet.set_heading, *(f"{row.place}: {row.words}." for row in sheet.already_set)]
    set_before.append(sheet.set_from or "")
    blocks = (
        _head(sheet.head, h, SENTENCE_LETTERS[name]),
        _look(sheet, h),
        sum(_band(band, h) for band in sheet.bands),
        24.0 if sheet.no_orders else 0.0,
        8.0 + _lines(set_before, h) if sheet.already_set else 0.0,
        8.0 + _lines(("Nothing to do.", *sheet.no_work), h) if sheet.no_work else 0.0,
        _benches(sheet, h),
        _strips(sheet, h),
        _foot(sheet, h) + h.gap,
        sum(_lines(line, h) for line in sheet.below),
        h.readings + (h.text if sheet.meter else 0.0),
    )
    return sum(blocks) + SAFETY_PT


def fit_beside(emerging: Sequence[str], cautions: Sequence[str]) -> tuple[str, ...]:
    """The cautions that find room, below what is to come up, in the half page beside the days ahead."""
    letters = (WEEK_LINES - _half_lines(emerging)) * HALF_LETTERS - HEADING_LETTERS
    found = []
    for words in cautions:
        if len(words) + BETWEEN_LETTERS <= letters:
            found.append(words)
            letters -= len(words) + BETWEEN_LETTERS
    return tuple(found)


def _head(head: Head, h: Heights, letters: int) -> float:
    beside = h.text + (1 + len(head.sentence) // letters) * h.sentence + (15 if head.stand_in else 0)
    return max(h.date, beside) + h.text * len(head.facts) + 10 + (20 if head.fallback else 0)


def _look(sheet: SheetView, h: Heights) -> float:
    return _lines((sheet.second_look, "No longer:", *sheet.dropped), h) + 8.0 if sheet.second_look else 0.0


def _band(band: Band, h: Heights) -> float:
    letters = sum(
        len(row.time) + len(row.words) + sum(len(name) + BOX_LETTERS for _, name in row.places)
        for row in band.routine
    )
    return h.band + sum(_order(row, h) for row in band.orders) + h.routine * -(-letters // ROUTINE_LETTERS)


def _order(row: OrderRow, h: Heights) -> float:
    if len(row.places) == 1:
        small = len(row.now + (row.reason or "") + row.sure)
        large = len(row.verb + row.thing) + sum(BOX_LETTERS + len(a.verb + a.thing) for a in row.also)
        if h is HEIGHTS["packed"]:
            return h.one * (1 + int((LARGE_PT * large + SMALL_PT * small) // ORDER_LINE_PT))
        line = h.one - h.reason
        return line * (1 + int(LARGE_PT * large // ORDER_LINE_PT)) + (h.reason if small else 0.0)
    pairs = len(row.pairs)
    shared = h.reason if row.reason or row.now else 0.0
    own = h.pair_reason if any(place.reason for place in row.places) else 0.0
    return h.group + shared + pairs * (h.pair + own)


def _benches(sheet: SheetView, h: Heights) -> float:
    if sheet.benches is None:
        return 0.0
    notes = (*sheet.benches.notes, sheet.rule_of_thumb or "")
    rows = sum(h.bench + h.text * (_row_lines(row, sheet.benches.more) - 1) for row in sheet.benches.rows)
    heading = ("Light at each bench today, mol", sheet.benches.key)
    headings = 1 if sheet.benches.more == "more-0" else 2  # lines over the columns
    return headings * h.text + _lines(heading, h) + rows + _lines(notes, h) + h.gap


def _row_lines(row: BenchRow, more: str) -> int:
    """Lines that the bench's name and its peak take in their columns."""
    name = -(-(len(row.name) + 1 + len(row.stands)) // NAME_LETTERS[more])
    return max(1, name, 1 + (len(row.peak_ppfd) > PEAK_LETTERS and " " in row.peak_ppfd))


def _strips(sheet: SheetView, h: Heights) -> float:
    if sheet.strips is None:
        return 0.0
    heading = ("Each house through the day", sheet.strips.key)
    return AXIS_PT + _lines(heading, h) + sum(_strip(house, h) for house in sheet.strips.houses) + h.gap


def _strip(house: HouseStrip, h: Heights) -> float:
    label = h.text * (1 + (len(house.name) + len(house.figures)) // STRIP_LETTERS)
    return max(h.strip, label) + h.lane * len(house.lanes)


def _foot(sheet: SheetView, h: Heights) -> float:
    week = 2 + len(sheet.week.rows) if sheet.week else 0
    half = WEEK_LINES if sheet.cautions_beside else _half_lines(sheet.emergence)
    return h.text * max(week, half) + _lines(sheet.cautions_below, h)


def _half_lines(emerging: Sequence[str]) -> int:
    return sum(1 + len(words) // HALF_LETTERS for words in emerging) + bool(emerging)


def _lines(words: Sequence[str], h: Heights) -> float:
    """Sentences that run on in one paragraph across the page."""
    letters = sum(len(each) + BETWEEN_LETTERS for each in words)
    return h.text * -(-letters // LINE_LETTERS)

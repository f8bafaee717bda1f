"""What gathers on a house between washes, and how its light is written as a sum of terms.

A house's log factor on a day = its level + extra dirt × how far it has gathered + ageing × years + soil, a
walk of fortnightly steps that a wash ends. The walk is what lets a house that dims on its own be noticed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from lightplan.house.losses import DAYS_PER_YEAR, gathered
from lightplan.learn.regression import Term
from lightplan.site.models import House

# Prior spreads of log factors.
LEVEL_SD = 0.12  # frame, glazing and geometry as given in a site file against the real house; judgement
# extra dirt at its fullest, beside `dirt_loss`: half of the tables' range (dirt_glass 0.02 to 0.10,
# dirt_plastic_film 0.05 to 0.20) taken as 10 to 90 %, widened by half for dust and soot (judgement)
DIRT_SD_GLASS, DIRT_SD_FILM = 0.05, 0.09
AGEING_SD_PER_YEAR = 0.02  # none found in five years (tantau_2012, glazing.csv); films may; judgement
RATE_SD, RATE_DAYS = 0.10, 120  # of a steady loss between two washes, beside what is reckoned; judgement
SOIL_SD, SOIL_DAYS = 0.02, 14  # of one step of the walk, 7 % in half a year; judgement
LONGEST_WALK_DAYS = 365  # after that it stands still
JUMP_SD = 0.3  # something laid, sprayed or broken at once; judgement


@dataclass(frozen=True)
class HouseDates:
    """When a house was washed, oldest first; from when its readings count and until when.

    jump : from when on its light is something else at once, where readings say so.
    """

    washes: tuple[date, ...]
    since: date
    until: date
    jump: date | None = None

    def washed_before(self, day: date) -> date | None:
        return max((w for w in self.washes if w <= day), default=None)

    def clean_at(self, day: date) -> date:
        """From when on soil gathers that lies there on a day."""
        return self.washed_before(day) or self.since


def level(house: str) -> str:
    return f"house {house}: level"


def dirt(house: str) -> str:
    return f"house {house}: dirt"


def ageing(house: str) -> str:
    return f"house {house}: per year"


def jump(house: str) -> str:
    return f"house {house}: jump"


def rate(house: str, start: date) -> str:
    return f"house {house}: rate from {start}"


def house_terms(house: House, dates: HouseDates) -> Sequence[Term]:
    """The prior: as the site file says, with how far such files are off."""
    found = [Term(level(house.id), 0.0, LEVEL_SD), Term(ageing(house.id), 0.0, AGEING_SD_PER_YEAR)]
    if dates.washes:
        found.append(Term(dirt(house.id), 0.0, DIRT_SD_FILM if house.glazing.is_film else DIRT_SD_GLASS))
    if dates.jump is not None:
        found.append(Term(jump(house.id), 0.0, JUMP_SD))
    starts = sorted(
        {dates.clean_at(dates.since), *(w for w in dates.washes if dates.since < w <= dates.until)}
    )
    ends = [*starts[1:], dates.until]
    for start, end in zip(starts, ends, strict=True):
        found.append(Term(rate(house.id, start), 0.0, RATE_SD))
        found += [Term(name, 0.0, SOIL_SD) for name, _ in _walk(house.id, start, end)]
    return found


def _walk(house: str, start: date, day: date) -> Iterator[tuple[str, float]]:
    """Steps since a wash, the last one in part."""
    left = min((day - start).days, LONGEST_WALK_DAYS)
    step = 0
    while left > 0:
        yield f"house {house}: soil {start} {step}", min(left / SOIL_DAYS, 1.0)
        left -= SOIL_DAYS
        step += 1


def soil_weights(house: str, dates: HouseDates, day: date) -> dict[str, float]:
    """What lies on a house beside the dirt that is reckoned, and what befell it at once."""
    start = dates.clean_at(day)
    found = dict(_walk(house, start, day))
    found[rate(house, start)] = min(max((day - start).days, 0), LONGEST_WALK_DAYS) / RATE_DAYS
    if dates.jump is not None and day >= dates.jump and dates.clean_at(day) <= dates.jump:
        found[jump(house)] = 1.0
    return found


def house_weights(house: str, dates: HouseDates, day: date) -> Mapping[str, float]:
    """The house's log factor on a date as weights of its terms."""
    found = {level(house): 1.0, ageing(house): max((day - dates.since).days, 0) / DAYS_PER_YEAR}
    if dates.washes:
        found[dirt(house)] = gathered(dates.washed_before(day), day)
    return found | soil_weights(house, dates, day)

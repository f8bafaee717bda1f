"""What a calibration says, in sentences."""

from __future__ import annotations

from datetime import date

from lightplan.learn.calibration import Calibration, Factor, HouseFound
from lightplan.report.units import capital, figure, listing, short_day
from lightplan.site.models import Site

AS_RECKONED = 0.015  # a factor this near 1 is told as none
TOLD = 2  # factors in the one sentence; the tables hold all


def factor_words(factor: Factor) -> str:
    return f"{figure(factor.middle, 2)} ({figure(factor.low, 2)} to {figure(factor.high, 2)})"


def percent_off(factor: float) -> str:
    """`9 % less`, `4 % more`, `as reckoned`."""
    if abs(factor - 1) < AS_RECKONED:
        return "as reckoned"
    return f"{figure(100 * abs(factor - 1))} % {'more' if factor > 1 else 'less'}"


def sentence(site: Site, found: Calibration) -> str:
    """The page in one or two sentences."""
    known = [h for h in found.houses if h.factor.used]
    parts = [_lets_in(site.house(h.id).name, h.factor) for h in known]
    names = {b.id: b.name for b in site.benches}
    lamps = [(names[b], f) for b, f in found.lamps if f.used and b in names]
    parts += [
        f"lamps of {name} give {percent_off(factor.middle)}"
        + ("" if abs(factor.middle - 1) < AS_RECKONED else " than site.toml says")
        for name, factor in lamps
    ]
    if not parts:
        return "Too little is read yet to correct anything."
    return f"{capital(listing(parts[:TOLD]))}."


def _lets_in(name: str, factor: Factor) -> str:
    words = percent_off(factor.middle)
    than = "" if words == "as reckoned" else " than reckoned"
    half = 50 * (factor.high - factor.low) / factor.middle
    return f"{name} lets in {words}{than} (±{figure(half)} %)"


def dim_words(name: str, house: HouseFound) -> str | None:
    """That a house has gone dim against its own past, where that is sure."""
    return f"{dim_sentence(name, house.dim, house.jump)}." if house.is_dim and house.dim else None


def dim_sentence(name: str, lost: tuple[float, float, float], at_once: date | None) -> str:
    """lost : share of its light since it was clean, with its range. at_once : since when, where it was so."""
    share, low, high = (figure(100 * each) for each in lost)
    if at_once is not None:
        when = f"by {short_day(at_once)}"
        return f"{name} lost {share} % of its light at once {when} ({low} to {high} %): look at its roof"
    return f"{name} has lost {share} % of its light since it was clean ({low} to {high} %): wash it"

"""What lamp planning is given and what it gives back. Numbers only; words are made in `report`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.usual_sun import Usual
from lightplan.clock import STEP_S
from lightplan.crops.needs import Needs
from lightplan.site.models import Lamps, Span

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Numbers = NDArray[np.int64]
Interval = tuple[datetime, datetime]


@dataclass(frozen=True)
class LongDay:
    """A long day that lamps are to make. natural_h, wanted_h : of day without and with them. crop : whose."""

    natural_h: float
    wanted_h: float
    crop: str


@dataclass(frozen=True)
class LampTask:
    """One bench with lamps. Arrays (steps,) lie on the grid that starts at the sheet's midnight.

    sun_ppfd, sun_ppfd_low : sun at the bench after covers, the middle of the forecast and the 10 % point
        of each day's light [µmol m⁻² s⁻¹].
    daylight : share [0..1] of each step in which plants see day (sun above −4°, −6° for short-day crops;
        0 under a dark cover).
    needs : one per civil day of the grid; None = no batch.
    allowed : when lamps may run: `lamp_hours`, and what heat or a cover forbids.
    already : what the lamps do before the window, as set yesterday.
    account_mol : light in hand (+) or owed (−) this morning.
    yesterday : clock times of yesterday's plan, so that equal plans keep them.
    long_day : what the nights that begin in the window are to be drawn in to by lamps; None = no matter.
    night_break : lamps ordered on in the middle of the night for a long-day crop.
    break_share : share of that time that they burn (lit some minutes in every half hour).
    usual : the sun that is usual at the bench on the days ahead; None = not known.
    """

    bench_id: str
    lamps: Lamps
    sun_ppfd: Array
    sun_ppfd_low: Array
    daylight: Array
    needs: tuple[Needs | None, ...]
    allowed: Mask
    already: Mask
    account_mol: float = 0.0
    yesterday: tuple[Span, ...] = ()
    night_break: Mask | None = None
    break_share: float = 1.0
    long_day: LongDay | None = None
    usual: Usual | None = None

    @property
    def step_mol(self) -> float:
        """Light of one lit step [mol m⁻²]."""
        return self.lamps.ppfd_now_umol_m2_s * STEP_S / 1e6

    @property
    def draw_kw(self) -> float:
        """Power drawn by the fixtures that work."""
        return self.lamps.power_kw * self.lamps.working


@dataclass(frozen=True)
class Why:
    """The rule that decided, the value that met it and the limit it met.

    day : number of the day whose light decided. bright : number of a later day whose sun makes up what this
        one leaves short, None where nothing is left short or no day does.
    """

    rule: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    day: int = 0
    bright: int | None = None


@dataclass(frozen=True)
class Unmet:
    """A need that can't be met on one civil day (its number on the grid), and what stands in the way.

    rule : "seed-light-missed" [h], "minimum-missed" (on a poor day), "target-missed" (the account can't be
        held, and this day stays under its target) [mol].
    because : "capacity", "dark", "dli-limit", "lamp-hours", "lamp-light", "starts", "sun-enough",
        "switching" or "window".
    """

    day: int
    rule: str
    value: float
    limit: float
    because: str


@dataclass(frozen=True)
class NoonCut:
    """When the afternoon's lamps may be left out: the sun reads at least `ppfd` at the bench around noon.

    factor : how many times the expected sun that is. intervals : the lamp times that fall away.
    """

    at: datetime
    ppfd_umol_m2_s: float
    factor: float
    intervals: tuple[Interval, ...]


@dataclass(frozen=True)
class BenchLamps:
    """Lamp hours of one bench.

    on : (steps,) already set and ordered; past the window's end as far as dawn, where it ends by night.
    intervals, hours, mol, kwh, cost : inside the window; cost is energy alone, None without prices.
    earlier : lit before the window on the sheet's date.
    account_mol : after the sheet's date, if the sun is as expected.
    share : (steps,) of each lit step that they burn, for a night that is lit by turns; None = all of it.
    sun_mol, target_mol : of each day that was looked at, for the reason in words; no target: None.
    """

    bench_id: str
    on: Mask
    intervals: tuple[Interval, ...]
    earlier: tuple[Interval, ...]
    hours: float
    mol: float
    kwh: float
    cost: float | None
    account_mol: float
    sun_mol: tuple[float, ...]
    target_mol: tuple[float | None, ...]
    why: Why
    unmet: tuple[Unmet, ...] = ()
    noon: NoonCut | None = None
    share: Array | None = None

    @property
    def burnt(self) -> Array:
        """(steps,) share of each step that they burn."""
        return np.asarray(self.on * (1.0 if self.share is None else self.share), dtype=float)


@dataclass(frozen=True)
class LampPlan:
    """All benches of the site.

    power_kw : (steps,) drawn by all lamps together; most_kw : what they may draw, None = no bound.
    peak_cost : what the highest power in the window adds to the month's peak charge; None without prices.
    solver_gap : how far the plan's cost may lie above that of any plan that leaves no more light short, as
        proved (0.005 = half a percent).
    short_gap : what share of the light that is short another plan might still bring; 0 where none is.
    needed_first : benches that fall short without their lamps, worst first, with the mol they would lack of
        the day's minimum on a poor day: where to carry spare lamps if some fail.
    """

    benches: tuple[BenchLamps, ...]
    power_kw: Array
    most_kw: float | None
    peak_cost: float | None
    solver_gap: float
    needed_first: tuple[tuple[str, float], ...]
    short_gap: float = 0.0

    def bench(self, bench_id: str) -> BenchLamps:
        return next(b for b in self.benches if b.bench_id == bench_id)

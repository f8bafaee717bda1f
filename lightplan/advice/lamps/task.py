"""What lamp planning is given and what it gives back. Numbers only; words are made in `report`."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP_S
from lightplan.crops.needs import Needs
from lightplan.site.models import Lamps, Span

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Interval = tuple[datetime, datetime]


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
    night_break : lamps ordered on in the middle of the night for a long-day crop.
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
    """The rule that decided, the value that met it and the limit it met."""

    rule: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    day: int = 0  # number of the day whose light decided


@dataclass(frozen=True)
class Unmet:
    """A need that can't be met on one civil day (its number on the grid), and what stands in the way.

    rule : "seed-light-missed" [h], "minimum-missed", "target-missed" [mol].
    because : "lamp-hours", "dark", "capacity", "lamp-light", "stage", "window", "starts", ...
    """

    day: int
    rule: str
    value: float
    limit: float
    because: str


@dataclass(frozen=True)
class BenchLamps:
    """Lamp hours of one bench.

    on : (steps,) already set, ordered, and, after the window, what is expected to be ordered later.
    intervals, hours, mol, kwh, cost : inside the window; cost is energy alone, None without prices.
    earlier : lit before the window on the sheet's date. lamp_mol : (days,) lamp light of each civil day.
    account : after each civil day that was planned.
    """

    bench_id: str
    on: Mask
    intervals: tuple[Interval, ...]
    earlier: tuple[Interval, ...]
    hours: float
    mol: float
    kwh: float
    cost: float | None
    lamp_mol: Array
    account: tuple[float, ...]
    why: Why
    unmet: tuple[Unmet, ...] = ()


@dataclass(frozen=True)
class LampPlan:
    """All benches of the site. power_kw : (steps,) drawn by all lamps together."""

    benches: tuple[BenchLamps, ...]
    power_kw: Array
    solver_gap: float = 0.0
    notes: tuple[str, ...] = field(default=())

    def bench(self, bench_id: str) -> BenchLamps:
        return next(b for b in self.benches if b.bench_id == bench_id)

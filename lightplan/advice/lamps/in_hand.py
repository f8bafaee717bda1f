"""A bench as the value of light in hand sees it: what is known of three days, and of those after."""

from __future__ import annotations

from lightplan.advice.lamps.horizon import HORIZON_DAYS, Horizon, most_steps
from lightplan.advice.lamps.nights import within_reach
from lightplan.advice.lamps.usual_sun import error_sd, seen_this_morning
from lightplan.advice.lamps.worth import Keeping, wanted_mol


def wanted_of(horizon: Horizon) -> tuple[float, float] | None:
    """Lamp light [mol m⁻²] that is worth taking today and tomorrow.

    None where that can't be told: nothing is known of what is usual, one setting serves several days, or no
    account is kept or lamps are barred on one of the days.
    """
    usual = horizon.task.usual
    if usual is None or horizon.account_days != HORIZON_DAYS or horizon.days < HORIZON_DAYS:
        return None
    keeping = [_keeping(horizon, day) for day in range(HORIZON_DAYS)]
    if any(kept is None for kept in keeping) or not horizon.low_mol[0] > 0:
        return None
    lit = float(horizon.past[horizon.day == 0].sum()) * horizon.task.step_mol
    days = [
        seen_this_morning(float(sun), float(low), usual, 0.0 if day else lit)
        for day, (sun, low) in enumerate(zip(horizon.sun_mol, horizon.low_mol, strict=True))
    ]
    return wanted_mol(
        horizon.task.account_mol,
        (days[0], days[1], days[2]),
        (keeping[0], keeping[1], keeping[2]),  # type: ignore[arg-type]
        usual,
        error=error_sd(float(horizon.low_mol[0] / horizon.sun_mol[0])),
    )


def _keeping(horizon: Horizon, day: int) -> Keeping | None:
    needs = horizon.needs[day]
    if needs is None or needs.target is None or not needs.lamps_allowed:
        return None
    reach, most = within_reach(horizon, day, dark=True), most_steps(horizon)[day]
    return Keeping(
        minimum=needs.minimum or 0.0,
        target=needs.target,
        most_in_hand=needs.most_in_hand,
        most_owed=needs.most_owed,
        most_lamps=min(reach, reach if most is None else most) * horizon.task.step_mol,
    )

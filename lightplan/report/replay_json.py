"""The `replay` JSON: a season's policies beside their bound."""

from __future__ import annotations

from typing import Any

from lightplan.replay.lit import PolicyRun
from lightplan.replay.replay import Replay
from lightplan.report.json_form import number

Json = dict[str, Any]


def replay_json(replay: Replay) -> Json:
    """Only benches with lamps; accounts are null on days that keep none."""
    site, dates = replay.season.site, replay.season.dates
    return {
        "site": {"id": site.id, "name": site.name, "latitude": site.latitude, "longitude": site.longitude},
        "from": dates[0].isoformat(),
        "to": dates[-1].isoformat(),
        "forecast": replay.quality.value,
        "seed": replay.seed,
        "weather": {
            "source": replay.season.weather.source,
            "kind": replay.season.weather.kind.value,
            "fallback_reason": replay.season.weather.fallback_reason,
        },
        "bound_kwh": number(replay.bound.kwh),
        "bound_cost": number(replay.bound.cost),
        "bound_mean_shortfall_mol": number(replay.bound.mean_shortfall_mol),
        "policies": [_policy(replay, run) for run in replay.policies],
    }


def _policy(replay: Replay, run: PolicyRun) -> Json:
    return {
        "name": run.name,
        "kwh": number(run.kwh),
        "cost": number(run.cost),
        "over_bound": number(replay.over_bound(run)),
        "days_at_minimum": number(run.days_at_minimum),
        "mean_shortfall_mol": number(run.mean_shortfall_mol),
        "starts_max": run.starts_max,
        "solver_gap": number(run.gap),
        "short_gap": number(run.short_gap),
        "days": [
            {
                "date": day.isoformat(),
                "bench": bench.bench_id,
                "sun_dli": number(bench.sun_mol[n]),
                "lamp_mol": number(bench.lamp_mol[n]),
                "dli": number(bench.dli[n]),
                "account": number(bench.account_mol[n]),
            }
            for n, day in enumerate(replay.season.dates)
            for bench in run.benches
        ],
    }

"""Benches and batches for the tests of needs and limits."""

from __future__ import annotations

from datetime import date, timedelta

from lightplan.site.models import Batch, Bench, Stage

START = date(2026, 3, 1)


def bench_with(*batches: Batch) -> Bench:
    return Bench(
        id="b",
        house="h",
        name="Bench",
        area_m2=10,
        height_m=0.8,
        place=None,
        tent=None,
        tent_height_m=0.45,
        tent_opens=True,
        insulation=None,
        bottom_heat=True,
        heat_to_c=None,
        light_for_seed_ppfd_umol_m2_s=20.0,
        stray_ppfd_umol_m2_s=0.0,
        lamps=None,
        lamp_hours=((0, 1440),),
        covers=(),
        batches=batches,
    )


def batch_of(crop: str, stage: Stage, days: int = 30, sown: date | None = None) -> Batch:
    return Batch(crop, stage, START, START + timedelta(days=days - 1), sown, None, False)

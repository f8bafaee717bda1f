"""The light account: light in hand (+) or owed (−) from past days [mol m⁻²]."""

from __future__ import annotations

from lightplan.crops.needs import Needs

SLIGHT_MOL = 0.05  # less light than this is printed as nothing and not worth a word


def account_after(before_mol: float, dli_mol_m2_d: float, needs: Needs | None) -> float:
    """Account at the end of a day: what the day brought above or below target, never above the most in hand.

    A day without a target (no batch, germination) leaves it as it was.
    """
    if needs is None or needs.target is None:
        return before_mol
    return min(needs.most_in_hand, before_mol + dli_mol_m2_d - needs.target)

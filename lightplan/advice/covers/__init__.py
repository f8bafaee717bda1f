"""What to open, what to lay on, from when to when: the least that keeps a bench within its limits."""

from lightplan.advice.covers.already import comes_off
from lightplan.advice.covers.choose import plan_cover
from lightplan.advice.covers.task import Climate, CoverPlan, CoverTask, Remedy, States, Tent

__all__ = ["Climate", "CoverPlan", "CoverTask", "Remedy", "States", "Tent", "comes_off", "plan_cover"]

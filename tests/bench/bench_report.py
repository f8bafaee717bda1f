"""Seconds for the sheet of eight benches, step by step. Run: python -m tests.bench.bench_report"""

from __future__ import annotations

import time
from collections.abc import Callable

from lightplan.report.html import sheet_html
from lightplan.report.json_morning import morning_json
from lightplan.report.pdf import make_pdf
from lightplan.report.sheet import sheet_view
from tests.report.samples import SAMPLES


def seconds(work: Callable[[], object], *, times: int = 5) -> tuple[float, float]:
    """First run, and the best of those after it."""
    taken = []
    for _ in range(times + 1):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return taken[0], min(taken[1:])


def main() -> None:
    for name in ("dull", "thirty"):
        plan = SAMPLES[name]()
        view = sheet_view(plan)
        html = sheet_html(view)
        steps: dict[str, Callable[[], object]] = {
            "json": lambda plan=plan: morning_json(plan, steps=True),  # type: ignore[misc]
            "view": lambda plan=plan: sheet_view(plan),  # type: ignore[misc]
            "html": lambda view=view: sheet_html(view),  # type: ignore[misc]
            "pdf": lambda html=html: make_pdf(html),  # type: ignore[misc]
        }
        for step, work in steps.items():
            first, best = seconds(work)
            print(f"{name:8} {step:5} first {first:6.3f} s, then {best:6.3f} s")


if __name__ == "__main__":
    main()

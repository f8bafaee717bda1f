"""A clock time on the command line."""

from __future__ import annotations

import re

import click


class ClockTime(click.ParamType[int]):
    """Minutes after midnight."""

    name = "HH:MM"

    def convert(self, value: str | int, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        parts = re.fullmatch(r"(\d{1,2}):(\d{2})", value.strip())
        if parts is None or int(parts[1]) > 23 or int(parts[2]) > 59:
            self.fail(f"{value} is not a clock time; write it like 05:15", param, ctx)
        return int(parts[1]) * 60 + int(parts[2])

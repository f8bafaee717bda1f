"""The commands, one module each: read its words, call, return the exit code."""

from lightplan.commands import (
    calibrate,
    check,
    due,
    houses,
    invert,
    morning,
    reading,
    reading_file,
    replay,
    rounds,
    schedule,
    start,
)

__all__ = [
    "calibrate",
    "check",
    "due",
    "houses",
    "invert",
    "morning",
    "reading",
    "reading_file",
    "replay",
    "rounds",
    "schedule",
    "start",
]

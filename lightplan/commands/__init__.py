"""The commands, one module each: read its words, call, return the exit code."""

from lightplan.commands import (
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

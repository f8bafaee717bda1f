"""The commands, one module each: read its words, call, return the exit code."""

from lightplan.commands import check, houses, invert, morning, replay, start

__all__ = ["check", "houses", "invert", "morning", "replay", "start"]

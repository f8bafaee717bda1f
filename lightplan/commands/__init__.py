"""The commands, one module each: read its words, call, return the exit code."""

from lightplan.commands import check, houses, morning, replay, start

__all__ = ["check", "houses", "morning", "replay", "start"]

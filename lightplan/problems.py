"""What every complaint about input has in common."""

from __future__ import annotations


class InputError(Exception):
    """The input is wrong: one clear sentence (or one a line) that says what would do. Exit code 1."""

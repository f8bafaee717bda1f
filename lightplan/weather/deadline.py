"""Time that may be spent on asking, and a way to walk away from a call that knows no end."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from lightplan.weather.table import SourceFault

Result = TypeVar("Result")


@dataclass(frozen=True)
class Patience:
    """How long to wait for services: under half of the 60 s within which a sheet is due."""

    whole_s: float = 25.0  # all services together, with every retry and pause
    connect_s: float = 5.0
    read_s: float = 8.0  # between two pieces of an answer
    tries: int = 3
    pauses_s: tuple[float, ...] = (1.0, 3.0)  # before the second try, the third, ...


USUAL_PATIENCE = Patience()

DUE_S, MARGIN_S = 60.0, 5.0  # within which a sheet is due; what is kept of it for a disk that is slow
STILL_TO_DO = 1.5  # planning and page over loading, both in this machine's seconds; judgement
LEAST_S = 4.0  # enough for one quick answer


def patience_left(loading_s: float, running_s: float) -> Patience:
    """The usual patience, or what a slow or busy machine leaves of it so that the sheet is in time.

    loading_s : what the command took to load what it needs, which tells how fast the machine is.
    running_s : how long it has run by now, waiting for another run included.
    """
    left_s = DUE_S - MARGIN_S - running_s - STILL_TO_DO * loading_s
    return replace(USUAL_PATIENCE, whole_s=min(USUAL_PATIENCE.whole_s, max(LEAST_S, left_s)))


class Deadline:
    """A moment on the machine's stopwatch; setting the clock does not move it."""

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + seconds

    @property
    def left_s(self) -> float:
        return max(0.0, self._end - time.monotonic())

    def share(self, of: int) -> Deadline:
        """A deadline of its own for one of `of` that are still to come."""
        return Deadline(self.left_s / max(1, of))

    def wait(self, seconds: float) -> bool:
        """Sleep, unless that would pass the end; whether it was done."""
        if seconds >= self.left_s:
            return False
        time.sleep(seconds)
        return True


class _Box(Generic[Result]):
    value: Result
    error: BaseException | None = None
    done = False


def within(deadline: Deadline, job: Callable[[], Result]) -> Result:
    """The job's result, or SourceFault once the time is over.

    Looking up a name and reading a header that drips have no time-out that holds, so the job runs in a
    thread of its own that is left behind; it dies with the program.
    """
    box: _Box[Result] = _Box()

    def run() -> None:
        try:
            box.value = job()
        except BaseException as error:  # handed over to the thread that waits
            box.error = error
        box.done = True

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(deadline.left_s)
    if box.error is not None:
        raise box.error
    if not box.done:
        raise SourceFault("took too long")
    return box.value

"""Sites by processes of this computer. One that dies takes at most one site with it, and that is said."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
from collections import deque
from collections.abc import Generator, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.connection import wait as wait_for

from lightplan.cli import Exit
from lightplan.rounds.job import Outcome, Round

TASKS_OF_A_PROCESS = 200  # then it gives way to a fresh one, so that what libraries hoard is bounded
AHEAD = 2  # sites handed out for each process; the rest wait here, whatever their number
LOOK_S = 5.0  # between looks whether anybody is at work at all
DIED = "the process that worked at it died twice (out of memory?)"


def local_outcomes(round_: Round, folders: tuple[str, ...], workers: int) -> Iterator[Outcome]:
    """Outcomes as they come. One at which processes die is tried alone, and given up at its second death."""
    todo = deque(folders)
    while todo:
        suspects = deque((yield from _together(round_, todo, workers, AHEAD)))
        once = set[str]()
        while suspects:  # one by one, so that a death tells whose it was
            for folder in (yield from _together(round_, suspects, 1, 1)):
                if folder in once:
                    yield Outcome(folder, folder.rpartition("/")[2], Exit.OUR_FAULT, DIED)
                else:
                    once.add(folder)
                    suspects.append(folder)


def _together(
    round_: Round, todo: deque[str], workers: int, ahead: int
) -> Generator[Outcome, None, list[str]]:
    """Work at sites of `todo` until it is empty or a process dies; gives those at work at that moment.

    ahead : sites handed out for each process.
    """
    at_work: dict[Future[Outcome], str] = {}
    pool = ProcessPoolExecutor(
        max_workers=min(workers, len(todo)),
        mp_context=multiprocessing.get_context(
            "spawn"
        ),  # the same on every system; a fork would copy threads
        initializer=_begin,
        max_tasks_per_child=TASKS_OF_A_PROCESS,
    )
    try:
        while todo or at_work:
            while todo and len(at_work) < ahead * workers:
                try:
                    at_work[pool.submit(_one, round_, todo[0])] = todo[0]
                except OSError:  # a process that is killed at its birth, or no room for another
                    _stop_all()
                    return [*at_work.values(), todo.popleft()]
                todo.popleft()
            done, _ = wait(at_work, timeout=LOOK_S, return_when=FIRST_COMPLETED)
            if not done and not multiprocessing.active_children():
                return list(at_work.values())  # the pool was lost in the very act of being handed a site
            for future in done:
                outcome = future.result()
                del at_work[future]
                yield outcome
    except BrokenProcessPool:
        for future in [f for f in at_work if f.done() and f.exception() is None]:
            yield future.result()
            del at_work[future]
        return list(at_work.values())
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    return []


def _stop_all() -> None:
    """Processes that are at work still, so that no site is made by two at once."""
    for process in multiprocessing.active_children():
        process.terminate()


def _one(round_: Round, folder: str) -> Outcome:
    from lightplan.rounds.one import make_one

    return make_one(round_, folder)


def _begin() -> None:
    """A worker's first act: it says nothing, takes one core, and goes when its parent is gone."""
    sys.stdout = sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            wait_for([parent.sentinel])
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()

"""Sites by the workers of a Dask cluster (extra `cluster`) that see the same folder as this computer."""

from __future__ import annotations

import queue
import secrets
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import lightplan
from lightplan.cli import Exit
from lightplan.problems import InputError
from lightplan.rounds.job import Outcome, Round

CALL_S = 20  # for the scheduler to answer, and for a first worker
ALONE_S = 120.0  # without any worker, and nothing coming in: then the round is broken off
LOOK_S = 5.0
AHEAD = 2


class ClusterError(InputError):
    """The cluster can't be used; the sentence says why."""


def cluster_outcomes(round_: Round, folders: tuple[str, ...], address: str) -> Iterator[Outcome]:
    """Outcomes as they come. The scheduler gives a dead worker's sites to others, some times.

    Raises ClusterError.
    """
    try:
        import distributed
    except ImportError:
        raise ClusterError('--cluster needs Dask: pip install "lightplan[cluster]"') from None
    try:
        client: Any = distributed.Client(  # type: ignore[no-untyped-call,unused-ignore]
            address, timeout=CALL_S, set_as_default=False
        )
        client.wait_for_workers(1, timeout=CALL_S)
    except (OSError, TimeoutError, ValueError) as error:
        raise ClusterError(
            f"the cluster at {address} does not answer, or has no worker ({error})."
        ) from error
    try:
        _check(client, round_.base)
        yield from _outcomes(client, round_, folders, address)
    finally:
        with suppress(Exception):  # a scheduler that is gone can't be taken leave of
            client.close(timeout=CALL_S)


def _outcomes(client: Any, round_: Round, folders: tuple[str, ...], address: str) -> Iterator[Outcome]:
    todo, at_work = deque(folders), dict[str, Any]()  # a future that is let go is forgotten by the cluster
    came: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
    quiet_s = 0.0
    while todo or at_work:
        while todo and len(at_work) < AHEAD * max(1, _workers(client)):
            folder = todo.popleft()
            future = client.submit(_one, round_, folder, key=f"{folder}-{secrets.token_hex(6)}", pure=False)
            at_work[folder] = future
            future.add_done_callback(lambda f, folder=folder: came.put((folder, f)))
        try:
            folder, future = came.get(timeout=LOOK_S)
        except queue.Empty:
            quiet_s = 0.0 if _workers(client) else quiet_s + LOOK_S
            if client.status != "running" or quiet_s >= ALONE_S:
                raise ClusterError(
                    f"the cluster at {address} is gone; what is made stays, run it again for the rest."
                ) from None
            continue
        quiet_s = 0.0
        if at_work.pop(folder, None) is None:
            continue
        yield _result(future, folder)


def _result(future: Any, folder: str) -> Outcome:
    name = folder.rpartition("/")[2]
    if future.status == "finished":
        found: Outcome = future.result()
        return found
    if future.status == "error":
        error = future.exception()
        return Outcome(folder, name, Exit.OUR_FAULT, f"its workers died or failed ({type(error).__name__})")
    return Outcome(folder, name, Exit.OUR_FAULT, f"the cluster let it go ({future.status})")


def _workers(client: Any) -> int:
    try:
        return len(client.scheduler_info(n_workers=-1)["workers"])
    except TypeError:  # an older one takes no number
        return len(client.scheduler_info()["workers"])
    except (KeyError, OSError):
        return 0


def _one(round_: Round, folder: str) -> Outcome:
    from lightplan.rounds.one import make_one
    from lightplan.schedule.environment import take_environment

    if round_.deliver:  # the worker's computer has a file of its own
        take_environment()
    return make_one(round_, folder)


def _check(client: Any, base: Path) -> None:
    """Every worker must have this lightplan and see this folder. Raises ClusterError."""
    sign = base / f".lightplan-round-{secrets.token_hex(6)}"
    try:
        sign.touch()
        facts = client.run(_facts, str(sign))
    except OSError as error:
        raise ClusterError(f"{base} can't be written to ({error.strerror or error}).") from error
    except Exception as error:  # a worker without lightplan can't even read the question
        raise ClusterError(
            f"the cluster's workers can't run lightplan ({type(error).__name__}: {error}); install it there."
        ) from error
    finally:
        sign.unlink(missing_ok=True)
    for worker, (version, sees) in facts.items():
        if version != lightplan.__version__:
            raise ClusterError(f"worker {worker} has lightplan {version}, this is {lightplan.__version__}.")
        if not sees:
            raise ClusterError(
                f"worker {worker} does not see {base}; put the sites on a disk that all share."
            )


def _facts(sign: str) -> tuple[str, bool]:
    return lightplan.__version__, Path(sign).exists()

"""Many equal pieces of work: in threads of this machine, or on a dask cluster; the results are the same.

On a cluster the workers read the frames themselves: their folder must have the same name there.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

from planner.errors import InputError

__all__ = ["run_tasks"]

Result = TypeVar("Result")
CONNECT_S = 10
IN_FLIGHT = 2
"""Pieces sent to a cluster at a time, for each of its threads: no more are held in memory."""


def run_tasks(
    function: Callable[..., Result], arguments: Sequence[tuple[Any, ...]], *, scheduler: str | None = None
) -> Iterator[tuple[int, Result]]:
    """Call a function with each tuple of arguments; yields numbers and results in the order of the arguments.

    Parameters
    ----------
    function : callable
        At module level, so that workers can import it.
    arguments : sequence of tuple
    scheduler : str, optional
        Address of a dask scheduler such as ``tcp://host:8786``; left out, this machine's own threads.

    Raises
    ------
    InputError
        If the scheduler does not answer or has no workers.
    """
    return _here(function, arguments) if scheduler is None else _on_cluster(function, arguments, scheduler)


def _here(
    function: Callable[..., Result], arguments: Sequence[tuple[Any, ...]]
) -> Iterator[tuple[int, Result]]:
    """As many pieces at a time as there are cores."""
    import dask

    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    for start in range(0, len(arguments), cores):
        batch = [dask.delayed(function, pure=False)(*each) for each in arguments[start : start + cores]]
        results = dask.compute(*batch, scheduler="threads", num_workers=cores)
        yield from enumerate(results, start=start)


def _on_cluster(
    function: Callable[..., Result], arguments: Sequence[tuple[Any, ...]], scheduler: str
) -> Iterator[tuple[int, Result]]:
    from distributed import Client

    try:
        client = Client(scheduler, timeout=CONNECT_S, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise InputError(
            f"the dask scheduler {scheduler} does not answer ({error}); give the address that it told first"
        ) from error
    with client:
        threads = sum(client.nthreads().values())
        if not threads:
            raise InputError(f"the dask scheduler {scheduler} has no workers; start some first")
        ahead = IN_FLIGHT * threads
        waiting = [client.submit(function, *each, pure=False) for each in arguments[:ahead]]
        for number in range(len(arguments)):
            future = waiting.pop(0)
            result = future.result()
            future.release()
            if number + ahead < len(arguments):
                waiting.append(client.submit(function, *arguments[number + ahead], pure=False))
            yield number, result

"""Many equal pieces of work: in threads of this machine, or on a dask cluster; the results are the same.

On a cluster the workers read the frames themselves: their folder must have the same name there. The planner's own
code is sent along; the libraries must be there.
"""

from __future__ import annotations

import contextlib
import importlib.util
import os
import re
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from planner.errors import InputError, PlannerError

if TYPE_CHECKING:
    from distributed import Client

__all__ = ["check_address", "run_tasks"]

Result = TypeVar("Result")
CONNECT_S = 10
ADDRESS = re.compile(r"[a-z][a-z+]*://[^\s/]+(:\d+|/\S+)")
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


def check_address(scheduler: str) -> None:
    """Refuse what is no address of a dask scheduler.

    Raises
    ------
    InputError
        If it has no protocol, host and port.
    """
    if not ADDRESS.fullmatch(scheduler):
        raise InputError(
            f"the scheduler must be an address such as tcp://host:8786, got {scheduler!r}; correct it"
        )


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
    with _connected(scheduler) as client:
        threads = sum(client.nthreads().values())
        if not threads:
            raise InputError(f"the dask scheduler {scheduler} has no workers; start some first")
        _bring_code(client, function.__module__)
        ahead = IN_FLIGHT * threads
        waiting = [client.submit(function, *each, pure=False) for each in arguments[:ahead]]
        for number in range(len(arguments)):
            future = waiting.pop(0)
            result = future.result()
            future.release()
            if number + ahead < len(arguments):
                waiting.append(client.submit(function, *arguments[number + ahead], pure=False))
            yield number, result


@contextlib.contextmanager
def _connected(scheduler: str) -> Iterator[Client]:
    """Client of a cluster; whatever goes wrong there becomes one sentence."""
    check_address(scheduler)
    from distributed import Client

    try:
        client = Client(scheduler, timeout=CONNECT_S, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise InputError(
            f"the dask scheduler {scheduler} does not answer ({_short(error)}); give the address that it told first"
        ) from error
    with client:
        try:
            yield client
        except PlannerError:
            raise
        except Exception as error:  # whatever workers raise comes through here
            raise InputError(
                f"the dask cluster at {scheduler} failed ({_short(error)}); "
                "give its workers the packages of requirements.txt and the frames' folder"
            ) from error


def _short(error: Exception) -> str:
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return lines[0].rstrip(".") if lines else type(error).__name__


def _bring_code(client: Client, module: str) -> None:
    """Send this package to a cluster that does not have it."""
    package = module.split(".", maxsplit=1)[0]
    everywhere = [client.run_on_scheduler(importlib.util.find_spec, package)]
    everywhere += client.run(importlib.util.find_spec, package).values()
    if all(everywhere):
        return
    root = Path(str(sys.modules[package].__file__)).parent
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{package}.zip"
        with zipfile.ZipFile(path, "w") as packed:
            for source in sorted(root.rglob("*.py")):
                packed.write(source, source.relative_to(root.parent))
        client.upload_file(str(path))

"""Who does the work of a long search: processes here, or the workers of a cluster by its address."""

from __future__ import annotations

from concurrent.futures import Executor, ProcessPoolExecutor
from multiprocessing import get_context

from halfshaft.errors import HalfshaftError

PROCESSES = 2


def workers(cluster: str | None) -> Executor:
    """Processes of this machine, begun afresh so that they are the same on every system; or the workers of a Dask scheduler.

    Raises HalfshaftError where the package for that is not installed or nobody answers.
    """
    if cluster is None:
        return ProcessPoolExecutor(max_workers=PROCESSES, mp_context=get_context("spawn"))
    try:
        from distributed import Client
    except ImportError:
        raise HalfshaftError("--cluster wants the package `distributed`: pip install 'halfshaft[cluster]'") from None
    try:
        # Not pure: what is asked for twice is worked out twice, as here.
        executor: Executor = Client(cluster, timeout="4s", set_as_default=False).get_executor(pure=False)
    except (OSError, ValueError) as error:
        raise HalfshaftError(f"no scheduler answers at {cluster}: {error}") from None
    return executor

"""Workers on several machines, through Dask's own executor; needs the cluster extra."""

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from reporter import __version__
from reporter.batch.workers import ExecutorWorkers
from reporter.errors import ExtraMissingError, InputRefusedError, Problem

ANSWER_SECONDS = 10.0


@contextmanager
def cluster_workers(address: str) -> Iterator[ExecutorWorkers]:
    """Yield the workers of a running cluster.

    Parameters
    ----------
    address : str
        Of its scheduler, such as ``tcp://192.0.2.7:8786``.

    Raises
    ------
    ExtraMissingError
        If the cluster extra is not installed.
    InputRefusedError
        If nobody answers, there is no worker, or a worker runs another version of the program or
        of Python: its handouts would not be byte for byte ours.
    """
    try:
        from distributed import Client
    except ImportError:
        extra, purpose = "cluster", "building on a cluster"
        raise ExtraMissingError(extra, purpose) from None
    silent = ""
    try:
        client: Any = Client(  # type: ignore[no-untyped-call]
            address, timeout=ANSWER_SECONDS, set_as_default=False
        )
    except (OSError, ValueError, TimeoutError) as error:
        silent = type(error).__name__
    if silent:
        # The half-made client goes now: within the making of the next one it would wait for ever.
        gc.collect()
        message = f"no cluster answers at {address} ({silent})"
        raise _refused(message)
    with client:
        versions = client.run(worker_version)
        if not versions:
            message = f"the cluster at {address} has no workers; start one"
            raise _refused(message)
        ours = worker_version()
        for worker, theirs in sorted(versions.items()):
            if theirs != ours:
                message = (
                    f"the worker {worker} runs {theirs}, this machine {ours}; make them the same"
                )
                raise _refused(message)
        threads = sum(client.nthreads().values())
        yield ExecutorWorkers(client.get_executor(pure=False), threads)


def worker_version() -> str:
    """Return what must be equal on all machines."""
    return f"lesson-reporter {__version__} on Python {sys.version_info[0]}.{sys.version_info[1]}"


def _refused(message: str) -> InputRefusedError:
    return InputRefusedError([Problem("command line", 0, 0, "cluster", message)])

"""Where orders are worked on: processes of this machine, or another executor; one way to wait."""

import concurrent.futures
import multiprocessing
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import Any, Protocol

from reporter.batch.work import Order, Outcome, prepare_worker
from reporter.errors import CannotWriteError, ExitCode

Work = Callable[[Order], Outcome]
LESSONS_A_WORKER = 200
"""A worker is replaced after so many lessons: whatever a library keeps goes with it."""
WAITING_A_WORKER = 4
ONE_THREAD = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "OPENCV_FOR_THREADS_NUM",
    "NUMBA_NUM_THREADS",
)


class Workers(Protocol):
    """Whoever takes orders; `count` of them are worked on at once."""

    count: int

    def submit(self, work: Work, order: Order) -> Future[Outcome]:
        """Take an order; the future holds the outcome, or why there is none."""


class ProcessWorkers:
    """Worker processes of this machine, each fresh, limited and replaced from time to time.

    A lesson that takes too long, or brings its worker down, costs that worker only.
    """

    def __init__(self, count: int, *, seconds: float, memory_bytes: int | None) -> None:
        import pebble

        self.count = count
        self._seconds = seconds
        method = (
            "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
        )
        context = multiprocessing.get_context(method)
        if method == "forkserver":
            # Imported once in the server, which has no threads: its children begin warm.
            context.set_forkserver_preload([prepare_worker.__module__])
        self._pool: Any = pebble.ProcessPool(
            max_workers=count,
            max_tasks=LESSONS_A_WORKER,
            initializer=prepare_worker,
            initargs=(memory_bytes,),
            context=context,
        )

    def submit(self, work: Work, order: Order) -> Future[Outcome]:
        """Take an order; the first one starts the processes.

        Raises
        ------
        CannotWriteError
            If they cannot be started: what they share with this one needs a little room.
        """
        try:
            future: Future[Outcome] = self._pool.schedule(
                work, args=(order,), timeout=self._seconds
            )
        except OSError as error:
            shared = " (what they share lies in /dev/shm)" if sys.platform == "linux" else ""
            message = f"worker processes cannot be started: {error.strerror or error}{shared}"
            raise CannotWriteError(message) from error
        return future

    def stop(self) -> None:
        """End all workers, whatever they are doing."""
        self._pool.stop()
        self._pool.join()

    def end(self) -> None:
        """End the workers once they are idle."""
        self._pool.close()
        self._pool.join()


class ExecutorWorkers:
    """Any ``concurrent.futures.Executor``, such as one that spans several machines.

    Time and memory are limited by whoever runs its workers; a lost worker's order is its own to
    give to another.
    """

    def __init__(self, executor: concurrent.futures.Executor, count: int) -> None:
        self.count = count
        self._executor = executor

    def submit(self, work: Work, order: Order) -> Future[Outcome]:
        """Take an order."""
        return self._executor.submit(work, order)


@contextmanager
def process_workers(
    count: int, *, seconds: float, memory_bytes: int | None
) -> Iterator[ProcessWorkers]:
    """Yield worker processes; they are gone after the block, at once if it ends by an exception."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    workers = ProcessWorkers(count, seconds=seconds, memory_bytes=memory_bytes)
    try:
        yield workers
    except BaseException:
        workers.stop()
        raise
    else:
        workers.end()
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def outcomes(
    workers: Workers, work: Work, orders: Iterable[Order | Outcome], *, seconds: float
) -> Iterator[Outcome]:
    """Yield the outcome of every order, as they come; a few wait with the workers at a time.

    Parameters
    ----------
    workers : Workers
        Who works.
    work : callable
        `check_order` or `build_order`.
    orders : iterable of Order or Outcome
        What is to be done; the outcome of a lesson that cannot even be handed out goes through.
    seconds : float
        The time one lesson may take, for the words of an outcome.
    """
    running: dict[Future[Outcome], Order] = {}
    waiting = iter(orders)
    while True:
        for order in waiting:
            if isinstance(order, Outcome):
                yield order
                continue
            running[workers.submit(work, order)] = order
            if len(running) >= WAITING_A_WORKER * workers.count:
                break
        if not running:
            return
        done, _ = concurrent.futures.wait(running, return_when=concurrent.futures.FIRST_COMPLETED)
        for future in done:
            outcome = _outcome(running.pop(future), future, seconds)
            if outcome.stops:
                waiting = iter(())  # what was begun is still waited for, so that it is listed
            yield outcome


def _outcome(order: Order, future: Future[Outcome], seconds: float) -> Outcome:
    """Return the outcome of an order, or why its worker did not give one."""
    try:
        return future.result()
    except concurrent.futures.TimeoutError:
        reason = f"took longer than {seconds:g} seconds and was ended"
    except concurrent.futures.CancelledError:
        reason = "was not begun"
    except Exception as error:  # how a worker is lost depends on who runs it
        code = getattr(error, "exitcode", None)
        ended = f" with code {code}" if code is not None else ""
        reason = f"its worker process ended{ended} ({type(error).__name__})"
    return Outcome(order.name, "failed", ExitCode.LIMIT, (reason,))

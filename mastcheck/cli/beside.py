"""One piece of work on another core, in a process that gets ready while this one computes."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from importlib import import_module
from types import TracebackType
from typing import TYPE_CHECKING, ParamSpec, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import Future
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

P = ParamSpec("P")
T = TypeVar("T")


class Beside:
    """Another process for one function, or this one where no other can be had.

    Used as a context manager: the process starts with it, imports what the work needs, and ends with
    it. Whatever goes wrong over there is done here instead, so that a result, or an error, is the same.

    Args:
        modules: what to import ahead.
        wanted: whether there will be work at all; if not, nothing is started.
    """

    def __init__(self, *modules: str, wanted: bool = True) -> None:
        self._modules = modules
        self._wanted = wanted and cores() > 1
        self._process: SpawnProcess | None = None
        self._connection: Connection | None = None

    def __enter__(self) -> Beside:
        """Start the process."""
        if self._wanted:
            try:
                self._begin()
            except (ImportError, OSError):
                self._connection = None
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End the process at once, whether its work is done or not."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
        if self._connection is not None:
            self._connection.close()

    def start(self, function: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> Callable[[], T]:
        """Begin a function of a module with arguments that can be pickled; once.

        Returns:
            What waits for the result: call it when the result is needed.
        """
        if self._connection is None:
            return lambda: function(*args, **kwargs)
        from concurrent.futures import ThreadPoolExecutor

        connection = self._connection

        def ask() -> T:
            connection.send((function, args, kwargs))
            result: T = connection.recv()
            return result

        # In a thread, since a large message waits until the process is ready to read it.
        thread = ThreadPoolExecutor(max_workers=1)
        answer: Future[T] = thread.submit(ask)
        thread.shutdown(wait=False)

        def result() -> T:
            try:
                return answer.result()
            except Exception:  # whatever it was, doing it here gives the result or the true error
                return function(*args, **kwargs)

        return result

    def _begin(self) -> None:
        from multiprocessing import get_context

        from mastcheck.search.quiet import quiet_start

        spawn = get_context("spawn")
        self._connection, theirs = spawn.Pipe()
        process = spawn.Process(target=_work, args=(theirs, self._modules), daemon=True)
        with quiet_start():
            process.start()
        self._process = process
        # Held by the process alone, so that its death ends what is read from it.
        theirs.close()


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _work(connection: Connection, modules: tuple[str, ...]) -> None:
    """The other process: it gets ready, does its work, and says nothing when that fails."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to answer
    try:
        for module in modules:
            import_module(module)
        function, args, kwargs = connection.recv()
        connection.send(function(*args, **kwargs))
    except Exception:  # the parent sees the closed pipe, and does the work itself
        connection.close()

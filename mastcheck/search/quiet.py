"""How a process of our own is started: in one thread of sums, and deaf to Ctrl-C."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager

_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "BLIS_NUM_THREADS")


def one_thread() -> None:
    """Let this process do its sums in one thread; to be called before numpy is imported.

    Two add in another order than one, and the last digits of a result would be others.
    """
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))


@contextmanager
def quiet_start() -> Iterator[None]:
    """A process started within sums in one thread, and is deaf to Ctrl-C from its first moment."""
    before = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    mask = _deaf()
    try:
        yield
    finally:
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _deaf() -> set[int] | None:
    """Hold back Ctrl-C in this thread, where the system can; what was held back before."""
    if not hasattr(signal, "pthread_sigmask"):
        return None
    from multiprocessing import resource_tracker

    # It lets Ctrl-C through again when it first starts, so it must be there before.
    resource_tracker.ensure_running()
    return set(signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}))

"""One mutant against the tests of its module, in a process of its own that never writes the change.

The process is forked from one that has the large libraries in memory, and takes the changed text in
place of the module's own when it is imported: no file of the tree is touched, and trials may run beside
one another and beside other work.
"""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import sys
import time
from collections.abc import Sequence
from enum import StrEnum
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import ModuleType

from tests.mutation.mutants import ROOT

_MEMORY = 4 * 2**30


class Outcome(StrEnum):
    """What became of a mutant."""

    KILLED = "killed"
    TIMED_OUT = "timed out"
    SURVIVED = "survived"


class _Changed(MetaPathFinder, Loader):
    """Gives one module a text of its own."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self.name, self.path, self.text = name, path, text

    def find_spec(
        self, fullname: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Only the one module is found here."""
        del path, target
        return spec_from_loader(fullname, self, origin=str(self.path)) if fullname == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed text as the module."""
        module.__file__ = str(self.path)
        exec(compile(self.text, str(self.path), "exec"), module.__dict__)


def prepare() -> None:
    """Import what every trial needs and no mutant is in, once; never the package itself."""
    import hypothesis.strategies  # noqa: F401
    import pytest  # noqa: F401
    import scipy.integrate
    import scipy.linalg
    import scipy.optimize
    import scipy.sparse.linalg
    import scipy.spatial  # noqa: F401
    import sectionproperties.analysis  # noqa: F401
    import shapely.ops  # noqa: F401

    if any(name.partition(".")[0] == "mastcheck" for name in sys.modules):
        raise RuntimeError("the package is in memory already: a mutant of it would not be seen")


def trial(path: str, text: str | None, tests: Sequence[str], seconds: float) -> tuple[Outcome, float]:
    """Whether the tests notice the text in place of a module's own (None: its own), and the time."""
    start = time.monotonic()
    child = os.fork()
    if child == 0:
        _child(path, text, tests)
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        took = time.monotonic() - start
        if ended:
            return (Outcome.SURVIVED if status == 0 else Outcome.KILLED), took
        if took > seconds:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return Outcome.TIMED_OUT, took
        time.sleep(0.02)


def _child(path: str, text: str | None, tests: Sequence[str]) -> None:
    """Run the tests and end the process with their status; what they print is not kept."""
    status = 99
    with contextlib.suppress(BaseException):
        os.setpgid(0, 0)
        resource.setrlimit(resource.RLIMIT_DATA, (_MEMORY, _MEMORY))
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        os.chdir(ROOT)
        if text is not None:
            name = path.removesuffix(".py").replace("/", ".")
            sys.meta_path.insert(0, _Changed(name, ROOT / path, text))
        import pytest

        # Plainly, without what plugins and rewritten assertions cost at every start.
        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
        plain = [
            "-q",
            "-x",
            "--assert=plain",
            "-p",
            "no:cacheprovider",
            "-o",
            "addopts=--doctest-modules",
        ]
        status = int(pytest.main([*plain, *tests]))
    os._exit(status)

"""No file outside the paths named, no network, and nothing that runs what a file says."""

from __future__ import annotations

import ast
import shutil
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

import pytest

import mastcheck
from mastcheck.cli.main import main
from tests.fuzz.readers import OUTLINES, PROFILES

MAST = "aluminium-75-section-file.toml"
SOURCES = sorted(Path(mastcheck.__file__).parent.rglob("*.py"))
UNSAFE_CALLS = {"eval", "exec", "compile", "__import__"}
UNSAFE_MODULES = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "yaml"}
ONLINE_MODULES = {"socket", "urllib", "http", "requests", "ftplib", "smtplib", "ssl"}


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder beside one with a mast and its outlines; sockets cannot be opened."""

    def closed(*_given: object, **_named: object) -> NoReturn:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", closed)
    monkeypatch.setattr(socket, "create_connection", closed)
    monkeypatch.setattr(socket, "getaddrinfo", closed)
    (tmp_path / "masts").mkdir()
    (tmp_path / "here").mkdir()
    (tmp_path / "cache").mkdir()
    for file in (MAST, *OUTLINES):
        shutil.copy(PROFILES / file, tmp_path / "masts" / file)
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("MASTCHECK_CACHE", str(tmp_path / "cache"))
    # The figure library keeps its list of fonts in a cache of its own.
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("MPLCONFIGDIR", str(tmp_path / "cache"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "scratch"))
    (tmp_path / "scratch").mkdir()
    return tmp_path


def _files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but those of the cache, with what is in it."""
    found = {str(p.relative_to(folder)): p for p in folder.rglob("*") if p.is_file()}
    return {name: p.read_bytes() for name, p in found.items() if not name.startswith("cache")}


@pytest.mark.parametrize(
    "words",
    [
        ["check", "--case", "carve", "--json", "{out}/result.json"],
        ["section", "--json", "{out}/result.json"],
        ["check", "--json", "{out}/result.json", "--length", "9 km"],
    ],
)
def test_a_command_writes_what_it_is_told_and_nothing_else(home: Path, words: list[str]) -> None:
    before = _files(home)
    file = str(home / "masts" / MAST)
    status = main([words[0], file, *(w.format(out=home / "out") for w in words[1:])])
    after = _files(home)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == ({"out/result.json"} if status < 2 else set())


def _parts(path: Path) -> Iterator[tuple[str, str]]:
    """Calls of plain names, and modules imported."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            yield "call", node.func.id
        elif isinstance(node, ast.Import):
            yield from (("module", name.name.split(".")[0]) for name in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield "module", (node.module or "").split(".")[0]


def test_no_source_runs_what_a_file_says_or_goes_online() -> None:
    assert len(SOURCES) > 100
    for path in SOURCES:
        found = set(_parts(path))
        assert not {("call", name) for name in UNSAFE_CALLS} & found, path
        assert not {("module", name) for name in UNSAFE_MODULES | ONLINE_MODULES} & found, path


def test_arrays_are_loaded_without_objects() -> None:
    loads = [
        node
        for path in SOURCES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("np.load", "numpy.load")
    ]
    assert loads
    for node in loads:
        named = {k.arg: ast.unparse(k.value) for k in node.keywords}
        assert named.get("allow_pickle") == "False", ast.unparse(node)

"""Writes ``licences.md``: the licence of every package that mastcheck installs, as each states it.

Run ``python docs/licences.py`` in an environment with the extras ``test`` and ``solid``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from itertools import chain
from pathlib import Path

from packaging.requirements import Requirement

PAGE = Path(__file__).with_name("licences.md")
PROJECT = Path(__file__).parents[1] / "pyproject.toml"

HEAD = """# Licences of what mastcheck installs

Made by `python docs/licences.py` from what each installed package states of itself: its licence
expression, else its classifiers, else its licence field, else the first line of its licence file. It is
a list, not legal advice; the files in each package are what holds.

Three to know of:

- **cytriangle**, the mesher, wraps a triangle mesher whose own licence restricts commercial
  redistribution. Using it is free; read that licence before mastcheck goes into something that is sold.
- **gmsh**, and CalculiX, a program and no package, are GPL. Only tests run them, and nothing of theirs
  is in mastcheck.
- **noto-cjk-sans-jp-regular** is a font under the SIL Open Font License. The letters that a report shows
  in it are embedded in that report.

## Known vulnerabilities

`pip-audit -r constraints.txt --no-deps --disable-pip` asks a public database about every version. Where
this list was made that database could not be reached, so no audit is claimed. Run it where the network
allows, before a release.
"""


def closure(stated: Iterable[str]) -> dict[str, Distribution]:
    """What is needed, and what that needs in turn, as far as it is installed: by plain name."""
    found: dict[str, Distribution] = {}
    todo, seen = [Requirement(text) for text in stated], set()
    while todo:
        need = todo.pop()
        key = plain_name(need.name), frozenset(need.extras)
        if key in seen:
            continue
        seen.add(key)
        try:
            here = distribution(need.name)
        except PackageNotFoundError:
            continue  # for another system, or an extra that is not installed
        found[key[0]] = here
        for further in map(Requirement, here.requires or ()):
            extras = need.extras or {""}
            if further.marker is None or any(further.marker.evaluate({"extra": e}) for e in extras):
                todo.append(further)
    return found


def plain_name(name: str) -> str:
    """A package's name as indexes compare it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def licence(package: Distribution) -> str:
    """What a package states of its licence, on one line."""
    said = package.metadata
    if expression := said.get("License-Expression"):
        return expression
    classes = [c.split(" :: ")[-1] for c in said.get_all("Classifier") or () if c.startswith("License")]
    if classes and classes != ["OSI Approved"]:
        return "; ".join(classes)
    field = (said.get("License") or "").strip()
    if field and field != "UNKNOWN":
        return field.splitlines()[0][:60]
    return next(_first_lines(package), "not stated")


def _first_lines(package: Distribution) -> Iterator[str]:
    """The first line of each licence file."""
    for file in package.files or ():
        if re.match(r"(?i)(licen[cs]e|copying)", file.name):
            text = file.read_text().strip()
            if text:
                yield text.splitlines()[0].strip("# *")[:60]


def table(packages: dict[str, Distribution]) -> str:
    """A table of packages by name."""
    rows = [
        f"| {name} | {here.version} | {licence(here).replace('|', '/')} |"
        for name, here in sorted(packages.items())
    ]
    return "\n".join(["| package | version | licence |", "| --- | --- | --- |", *rows])


def page() -> str:
    """The whole page."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    base = closure(project["dependencies"])
    extras = closure(chain.from_iterable(project["optional-dependencies"].values()))
    beside = {name: here for name, here in extras.items() if name not in base}
    return (
        f"{HEAD}\n## With `pip install mastcheck`\n\n{table(base)}\n\n"
        f"## With the extras for tests, clusters and tables\n\n{table(beside)}\n"
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")

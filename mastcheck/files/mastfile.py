"""Mast files: read into a Job, and begun.

The pydantic types are imported when first needed, so that importing this module is cheap.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mastcheck.errors import InputError, Problem, escaped
from mastcheck.files import limits
from mastcheck.files.limits import MAST_BYTES, MOST_FAULTS, MOST_PARTS, dotted
from mastcheck.files.materials import DATA, laminas, library
from mastcheck.files.options import apply as apply
from mastcheck.job import Job
from mastcheck.material import Material
from mastcheck.whole import unbroken

if TYPE_CHECKING:
    from mastcheck.files.outline_files import Folder, OutlineFiles
    from mastcheck.files.problems import Fault
    from mastcheck.files.schema import MastFile


def load(path: Path | str, *, allow_outside: bool = False) -> Job:
    """Read a mast file, and the outline files it names.

    Args:
        path: the TOML file; outline files are named relative to its folder.
        allow_outside: read outline files that lie outside that folder too. Symbolic links and ``..``
            are followed before it is decided where a file lies.

    Returns: the job in SI units, with the file's name and hash. ``input_sha256`` is the SHA-256 of
    the file's bytes; with outline files it is that of the bytes followed by the hexadecimal SHA-256
    of each, in order of first use (the section's, then the stations' from base to tip).

    Raises: InputError with every problem of the file and of its outline files.
    """
    from mastcheck.files import build
    from mastcheck.files.outline_files import Folder, combined_sha256

    file = _printable(str(path))
    content = _bytes(Path(path), file)
    text = _text(content, file)
    raw = _toml(text, file)
    if excess := list(limits.faults(raw)):
        raise InputError(tuple(_told(excess, raw, text, file)))
    materials = _known_materials(raw)
    folder = Folder(Path(path).parent, closed=not allow_outside)
    model, outlines = _validated(raw, text, file, folder, materials)
    sha256 = combined_sha256(content, outlines.hashes)
    return build.job(model, outlines, materials, file=file, sha256=sha256)


def write_starter(path: Path) -> None:
    """Write a commented mast file to start from.

    Raises: InputError where something is in the way or the folder cannot be written.
    """
    content = (DATA / "starter.toml").read_text(encoding="utf-8")
    file = _printable(str(path))
    try:
        with unbroken(), path.open("x", encoding="utf-8", newline="\n") as out:
            try:
                out.write(content)
                out.flush()
            except OSError:
                path.unlink()  # whole or not at all
                raise
    except FileExistsError:
        raise _refusal(file, "a file of this name exists", "choose another name") from None
    except (OSError, ValueError) as error:
        remedy = "choose another place, with room left on its disk"
        raise _refusal(file, f"cannot be written ({_reason(error)})", remedy) from None


def _printable(text: str) -> str:
    """The text itself, or escaped where it would upset a terminal; whole, since results name it."""
    return text if text.isprintable() else f'"{escaped(text)}"'


def _reason(error: OSError | ValueError) -> str:
    """The system's words for a failure, without its path."""
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _refusal(file: str, rule: str, remedy: str) -> InputError:
    """An error about the file as a whole."""
    return InputError((Problem(key=file, found="", rule=rule, remedy=remedy),))


def _bytes(path: Path, file: str) -> bytes:
    """The file's bytes."""
    try:
        if path.is_dir():
            raise _refusal(file, "is a folder", "name a mast file in it")
        with path.open("rb") as source:
            content = source.read(MAST_BYTES + 1)
    except FileNotFoundError:
        remedy = "check the name, or begin one with: mastcheck new PATH"
        raise _refusal(file, "there is no such file", remedy) from None
    except (OSError, ValueError) as error:
        remedy = "check its name and permissions"
        raise _refusal(file, f"cannot be read ({_reason(error)})", remedy) from None
    if len(content) > MAST_BYTES:
        raise _refusal(file, "is larger than 1 MB", "a mast file is a few kilobytes: check the name")
    return content


def _text(content: bytes, file: str) -> str:
    """The file's text; a byte-order mark is left out."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        rule = f"is not UTF-8 text (byte {error.start})"
        found = Problem(
            key="the file", found="", rule=rule, remedy="save it as UTF-8", file=file, line=line
        )
        raise InputError((found,)) from None


def _toml(text: str, file: str) -> dict[str, Any]:
    """The parsed TOML."""
    if line := dotted(text):
        rule = f"has a key of more than {MOST_PARTS} parts"
        fault = Problem(
            key="the file", found="", rule=rule, remedy="check the dots", file=file, line=line
        )
        raise InputError((fault,))
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _refusal(file, "is nested too deeply", "check its brackets") from None
    except ValueError as error:  # TOMLDecodeError, and integers too long for Python
        message = _printable(str(error))
        at = re.search(r"\(at line (\d+), column (\d+)\)", message)
        line = int(at[1]) if at else text.count("\n") + 1 if "at end of document" in message else None
        column = f", column {at[2]}" if at else ""
        words = re.sub(r"\s*\(at [^)]*\)", "", message)
        fault = Problem(
            key="the file",
            found="",
            rule=f"is not valid TOML: {words[:1].lower()}{words[1:]}{column}",
            remedy='mend this line; quantities are in quotes, such as "750 mm"',
            file=file,
            line=line,
        )
        raise InputError((fault,)) from None


def _validated(
    raw: dict[str, Any], text: str, file: str, folder: Folder, materials: Mapping[str, Material]
) -> tuple[MastFile, OutlineFiles]:
    """The checked file and its outlines; every fault at once otherwise."""
    from pydantic import ValidationError

    from mastcheck.files import outline_files, problems, rules
    from mastcheck.files.parts import parts
    from mastcheck.files.schema import MastFile

    model, first = None, []
    try:
        model = MastFile.model_validate(raw)
    except ValidationError as error:
        told = islice(error.errors(include_url=False), 2 * MOST_FAULTS)
        first = problems.schema_faults(told, raw)
    read = parts(raw)
    outlines = outline_files.read(read, folder, materials)
    read = outline_files.with_drawn_sizes(read, outlines)
    joint = rules.faults(read, frozenset(library()), frozenset(laminas()))
    joint += [*outlines.faults, *outline_files.loop_faults(read, outlines)]
    faults = problems.merged(first, joint)
    if faults or outlines.problems or model is None:
        raise InputError((*_told(faults, raw, text, file), *outlines.problems))
    return model, outlines


def _told(faults: list[Fault], raw: Mapping[str, Any], text: str, file: str) -> Iterator[Problem]:
    """Faults in the order of the file, those of the whole (no line) last; not endlessly many."""
    from mastcheck.files import problems
    from mastcheck.files.locate import line_of, lines

    found = lines(text)
    faults = sorted(faults, key=lambda fault: line_of(fault.path, found) or 10**9)
    for fault in faults[:MOST_FAULTS]:
        yield problems.problem(fault, raw, file, found)
    if len(faults) > MOST_FAULTS:
        yield Problem(
            key="the file", found="", rule="has more faults", remedy="mend these first", file=file
        )


def _known_materials(raw: Mapping[str, Any]) -> dict[str, Material]:
    """The shipped materials, and those of the file's own that are without fault.

    Made once, since the section's solver tells materials apart by identity.
    """
    from pydantic import ValidationError

    from mastcheck.files import build
    from mastcheck.files.parts import table
    from mastcheck.files.schema import MaterialTable

    own = {}
    for name, value in table(raw.get("material")).items():
        try:
            own[name] = MaterialTable.model_validate(value)
        except ValidationError:
            continue
    return {**library(), **build.own_materials(own)}

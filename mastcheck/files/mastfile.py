"""Mast files: read into a Job, changed by command-line options, begun and described.

The pydantic types are imported when first needed, so that importing this module is cheap.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from mastcheck.errors import InputError, Problem
from mastcheck.files.materials import DATA, library
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, Lift, LoadCase, Rider
from mastcheck.mast import Mast, SectionRecipe, Station, Web
from mastcheck.material import Material
from mastcheck.source import Grade, Source
from mastcheck.units import shown

if TYPE_CHECKING:
    from mastcheck.files.schema import LoadCaseTable, MastFile, MaterialTable

LARGEST_FILE = 1_000_000  # bytes
LENGTHS = (0.05, 10.0)  # m, as for mast.length
RIDER_MASSES = (10.0, 300.0)  # kg, as for rider.mass


def load(path: Path | str) -> Job:
    """Read a mast file.

    Args:
        path: the TOML file.

    Returns: the job in SI units, with the file's name and the SHA-256 of its bytes.

    Raises: InputError with every problem of the file.
    """
    file = _printable(str(path))
    content = _bytes(Path(path), file)
    text = _text(content, file)
    raw = _toml(text, file)
    model = _validated(raw, text, file)
    return _job(model, file, hashlib.sha256(content).hexdigest())


def apply(
    job: Job,
    *,
    length: float | None = None,
    trim: Literal["base", "tip"] | None = None,
    rider_mass: float | None = None,
    cases: Sequence[str] = (),
) -> Job:
    """The job with the options of a command applied, each noted.

    Args:
        job: what a file or a script described.
        length: new length [m]; stations are fractions, so a taper stretches with it.
        trim: cut to the length at this end instead.
        rider_mass: rider's mass [kg].
        cases: names of the only load cases to keep; all if empty.

    Raises: InputError with every option that does not fit.
    """
    problems = (
        *_length_problems(job, length, trim),
        *_mass_problems(rider_mass),
        *_case_problems(job, cases),
    )
    if problems:
        raise InputError(problems)
    notes = list(job.notes)
    if length is not None:
        how = f"cut at the {trim}" if trim else "stations stretched with it"
        notes.append(f"length {_mm(length)} instead of {_mm(job.mast.length)}: {how}")
        job = replace(job, mast=job.mast.with_length(length, trim))
    if rider_mass is not None:
        notes = [note for note in notes if not note.startswith("rider mass")]
        notes.append(f"rider mass {rider_mass:g} kg given with the command")
        job = replace(job, rider=replace(job.rider, mass=rider_mass))
    if cases:
        kept = tuple(case for case in job.cases if case.name in cases)
        dropped = [limit for limit in job.limits if limit.case not in cases]
        notes += [f"limit on {d.quantity} not judged: case {d.case} was not chosen" for d in dropped]
        limits = tuple(limit for limit in job.limits if limit.case in cases)
        job = replace(job, cases=kept, limits=limits)
    return replace(job, notes=tuple(notes))


def mast_file_schema() -> dict[str, Any]:
    """JSON Schema of the mast file (2020-12), from the types that read it."""
    from mastcheck.files.schema import MastFile

    schema = _tidied(MastFile.model_json_schema())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def write_starter(path: Path) -> None:
    """Write a commented mast file to start from.

    Raises: InputError where something is in the way or the folder cannot be written.
    """
    content = (DATA / "starter.toml").read_text(encoding="utf-8")
    file = _printable(str(path))
    try:
        with path.open("x", encoding="utf-8", newline="\n") as out:
            try:
                out.write(content)
                out.flush()
            except OSError:
                path.unlink()  # whole or not at all
                raise
    except FileExistsError:
        raise _refusal(file, "a file of this name exists", "choose another name") from None
    except (OSError, ValueError) as error:
        raise _refusal(file, f"cannot be written ({_reason(error)})", "choose another place") from None


def _printable(text: str) -> str:
    """The text itself, or escaped where it would upset a terminal."""
    return text if text.isprintable() else shown(text, 200)


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
            content = source.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        remedy = "check the name, or begin one with: mastcheck new PATH"
        raise _refusal(file, "there is no such file", remedy) from None
    except (OSError, ValueError) as error:
        remedy = "check its name and permissions"
        raise _refusal(file, f"cannot be read ({_reason(error)})", remedy) from None
    if len(content) > LARGEST_FILE:
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


def _validated(raw: dict[str, Any], text: str, file: str) -> MastFile:
    """The checked file; every fault of it at once otherwise."""
    from pydantic import ValidationError

    from mastcheck.files import problems, rules
    from mastcheck.files.locate import line_of, lines
    from mastcheck.files.schema import MastFile

    model, first = None, []
    try:
        model = MastFile.model_validate(raw)
    except ValidationError as error:
        first = problems.schema_faults(error.errors(include_url=False), raw)
    faults = problems.merged(first, rules.faults(rules.parts(raw), frozenset(library())))
    if faults or model is None:
        found = lines(text)
        # In the order of the file, faults of the whole (no line) last.
        faults.sort(key=lambda fault: line_of(fault.path, found) or 10**9)
        raise InputError(tuple(problems.problem(fault, raw, file, found) for fault in faults))
    return model


def _job(model: MastFile, file: str, sha256: str) -> Job:
    """The checked file as frozen dataclasses."""
    own = {name: _material(name, table) for name, table in model.material.items()}
    known = {**library(), **own}
    mast, section = model.mast, model.section
    stations = tuple(
        Station(
            at=s.at,
            chord=s.chord,
            thickness=s.thickness,
            wall=s.wall if s.wall is not None else section.wall,
        )
        for s in mast.station
    )
    recipe = SectionRecipe(
        outline=section.outline,
        construction=section.construction,
        material=known[section.material],
        core=known[section.core] if section.core else None,
        trailing_edge_radius=section.trailing_edge_radius,
        webs=tuple(
            Web(at=w.at, thickness=w.thickness) for w in sorted(section.webs, key=lambda w: w.at)
        ),
    )
    return Job(
        mast=Mast(
            name=mast.name,
            length=mast.length,
            stations=stations,
            section=recipe,
            taper_about=mast.taper_about,
            tip_warping=mast.tip_warping,
        ),
        rider=Rider(**model.rider.model_dump()),
        cases=_cases(model.load_case),
        limits=tuple(_limits(model)),
        wet_fraction=model.conditions.wet_fraction,
        file=file,
        input_sha256=sha256,
        notes=tuple(_notes(model)),
    )


def _material(name: str, table: MaterialTable) -> Material:
    """A material of the file's own [Pa, kg/m³]."""
    shear = table.G if table.G is not None else table.E / (2 * (1 + (table.nu or 0.0)))
    plain = table.model_dump(exclude={"G", "nu", "source"})
    return Material(name=name, G=shear, source=Source(title=table.source, grade=Grade.USER), **plain)


def _cases(tables: Sequence[LoadCaseTable]) -> tuple[LoadCase, ...]:
    """The standard cases with the file's own in place of or after them."""
    cases = {case.name: case for case in STANDARD_CASES}
    for table in tables:
        given = {key: getattr(table, key) for key in table.model_fields_set - {"name"}}
        if "lift" in given:
            given["lift"] = Lift(given["lift"])
        if table.name in cases:
            keys = ", ".join(key for key in type(table).model_fields if key in given)
            title = (
                f"{keys or 'nothing'} stated, the rest as recalled" if given else "restated unchanged"
            )
            source = Source(title=title, grade=Grade.USER) if given else cases[table.name].source
            cases[table.name] = replace(cases[table.name], **given, source=source)
        else:
            source = Source(title="load case of the file", grade=Grade.USER)
            cases[table.name] = LoadCase(name=table.name, **given, source=source)
    return tuple(cases.values())


def _limits(model: MastFile) -> Iterator[Limit]:
    """Limits in SI units [m, rad]."""
    for quantity in Quantity:
        for table in getattr(model.limits, quantity):
            yield Limit(quantity=quantity, case=table.case, maximum=table.max)


def _notes(model: MastFile) -> Iterator[str]:
    """The file's own note, and what was assumed where it is silent."""
    if model.mast.note:
        yield f"the file says: {model.mast.note}"
    silent = _silent(model, "rider")
    rider, place = model.rider, "the file has no [rider]"
    for key, words in (
        ("mass", f"rider mass {rider.mass:g} kg"),
        ("gear_mass", f"gear mass {rider.gear_mass:g} kg"),
        ("rider_height", f"rider height {rider.rider_height:g} m"),
        ("stance_width", f"stance width {rider.stance_width:g} m"),
    ):
        if silent or key not in rider.model_fields_set:
            yield f"{words} assumed: {place if silent else f'[rider] has no {key}'}"
    if "wet_fraction" not in model.conditions.model_fields_set:
        yield f"wet fraction {model.conditions.wet_fraction:g} assumed: the file does not state it"
    if "taper_about" not in model.mast.model_fields_set:
        yield "stations stacked about mid-chord (taper_about 0.5) assumed: the file does not state it"
    if "tip_warping" not in model.mast.model_fields_set:
        yield "tip free to warp assumed: the file does not state it"
    shipped = library()
    for name, table in model.material.items():
        if name in shipped:
            yield f"material {name}: the file's own figures replace the shipped ones"
        if table.proof_strength is not None and "gamma_proof" not in table.model_fields_set:
            yield f"material {name}: partial factor {table.gamma_proof:g} on proof strength assumed"
        if table.ultimate_strength is not None and "gamma_ultimate" not in table.model_fields_set:
            factor = f"partial factor {table.gamma_ultimate:g} on ultimate strength"
            yield f"material {name}: {factor} assumed"
        if table.proof_strength is None and table.ultimate_strength is not None:
            yield f"material {name}: strength is not judged without a proof_strength"


def _silent(model: MastFile, key: str) -> bool:
    return key not in model.model_fields_set


def _length_problems(job: Job, length: float | None, trim: str | None) -> Iterator[Problem]:
    if length is None:
        if trim is not None:
            rule, remedy = "says where to cut, but no length is given", 'add --length, such as "700 mm"'
            yield Problem(key="--trim", found=str(trim), rule=rule, remedy=remedy)
        return
    low, high = LENGTHS
    if not low <= length <= high:
        rule = "must be from 50 mm to 10 m"
        yield Problem(
            key="--length", found=_mm(length), rule=rule, remedy="check the number and its unit"
        )
    elif trim is not None and length > job.mast.length:
        rule = f"a trim can only shorten {job.mast.name}, {_mm(job.mast.length)} long"
        yield Problem(
            key="--length", found=_mm(length), rule=rule, remedy="leave out --trim to stretch it"
        )


def _mass_problems(mass: float | None) -> Iterator[Problem]:
    low, high = RIDER_MASSES
    if mass is not None and not low <= mass <= high:
        rule, remedy = "must be from 10 kg to 300 kg", "check the number and its unit"
        yield Problem(key="--rider", found=f"{mass:g} kg", rule=rule, remedy=remedy)


def _case_problems(job: Job, names: Sequence[str]) -> Iterator[Problem]:
    from mastcheck.files.problems import nearest

    known = [case.name for case in job.cases]
    for name in names:
        if name not in known:
            remedy = nearest(name, known, "load cases: " + ", ".join(known))
            yield Problem(
                key="--case",
                found=shown(name),
                rule="unknown load case",
                remedy=remedy,
                file=job.file,
            )


def _mm(metres: float) -> str:
    return f"{metres * 1000:g} mm"


def _tidied(schema: Any) -> Any:
    """The schema as an editor should see it.

    TOML has no null, and defaults in SI are no text with a unit: both are left out, with the
    titles that only repeat a key's name.
    """
    if isinstance(schema, list):
        return [_tidied(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    options = schema.get("anyOf", [])
    if {"type": "null"} in options and len(options) == 2:
        one = next(option for option in options if option != {"type": "null"})
        schema = {**{k: v for k, v in schema.items() if k != "anyOf"}, **one}
    textual = schema.get("type") in ("string", "array", "object") and "enum" not in schema
    drop = {"default"} if textual or schema.get("default", 0) is None or "anyOf" in schema else set()
    if "$ref" in schema:
        drop.add("default")
    if str(schema.get("type")) in ("string", "number", "boolean", "array", "None"):
        drop.add("title")
    return {
        key: {k: _tidied(v) for k, v in value.items()} if key == "properties" else _tidied(value)
        for key, value in schema.items()
        if key not in drop
    }

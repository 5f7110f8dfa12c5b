"""Checks masts at the ends of what can be written, each in a process of its own, and prints a table.

``python -m tests.extremes`` prints it, with ``--write`` it goes to ``docs/extremes.md`` too; words are
groups to try, all where none is given. ``--keep=FOLDER`` keeps each answer, and takes those that the
same program gave for the same mast from there: a run that was stopped goes on, and groups tried one by
one make the whole table. The exit status is 1 where any answer is not as it must be.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import re
import resource
import sys
import tempfile
import traceback
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any, NoReturn

from jsonschema import Draft202012Validator

from mastcheck.__main__ import run
from mastcheck.checks.run import check as _ready  # noqa: F401
from mastcheck.report.json import RESULT_SCHEMA
from mastcheck.whole import write_whole
from tests.extreme_masts import SCALES, Extreme, extremes
from tests.safety.places import toml

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "extremes.md"
MEMORY = 2000.0
"""Greatest memory [MB] of a check."""

LONGEST = 600.0
"""Greatest time [s] of the processor."""

HEAD = """\
# Extremes

Made by `python -m tests.extremes --write`. Each row is one mast at an end of what a mast file can
say, checked by `mastcheck check FILE --json --csv` in a process of its own. In a result every number
is finite, or null where the published schema says what null means there; nothing that is printed or
in a table says "nan" or "inf". A refusal has exit status 2, no traceback, and says what to do; the
first line of each is shown. CPU is seconds of the processor with no section kept from before and the
program loaded already, MB the most memory the process held.

A result at an end is no promise that such a mast is sensible. Cautions and self-checks say where a
beam model does not hold; "doubtful" marks a mast whose own self-check failed.
"""
_WORDLESS = re.compile(r"\b(?:nan|NaN|inf|Infinity)\b")
_NUMBERS = ("nan", "inf", "-inf")


@dataclass
class Answer:
    """What came of one mast."""

    extreme: Extreme
    status: int
    told: str
    seconds: float
    megabytes: float
    result: dict[str, Any] | None = None
    faults: list[str] = field(default_factory=list)

    @property
    def verdict(self) -> str:
        if self.result is None:
            return "refused"
        (mast,) = self.result["masts"]
        words = []
        if any(s["verdict"] == "fail" for s in mast["self_checks"]):
            words.append("doubtful")
        if not all(case["stable"] for case in mast["cases"]):
            words.append("unstable")
        elif any(c["verdict"] == "fail" for c in mast["checks"]):
            words.append("a limit exceeded")
        return ", ".join(words) or "held"


def begin(extreme: Extreme, folder: Path) -> int:
    """Begin to check one mast in a process of its own; its number."""
    folder.mkdir()
    (folder / "mast.toml").write_text(toml(extreme.raw), encoding="utf-8")
    number = os.fork()
    if not number:
        _run(["check", "mast.toml", "--json", "result.json", "--csv", "tables"], folder)
    return number


def _run(words: list[str], folder: Path) -> NoReturn:
    """The command, what it prints in files, and the end of the process."""
    status = 70
    try:
        os.chdir(folder)
        for place, name in ((1, "out"), (2, "err")):
            os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT), place)
        sys.argv = ["mastcheck", *words]
        run()
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 70
    except BaseException:  # the reader of the file is told, as a user would be
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def ended(extreme: Extreme, folder: Path, status: int, used: resource.struct_rusage) -> Answer:
    """What a process left."""
    made = Answer(
        extreme,
        os.waitstatus_to_exitcode(status),
        (folder / "err").read_text(encoding="utf-8").strip(),
        used.ru_utime + used.ru_stime,
        used.ru_maxrss / 1024,
    )
    if (folder / "result.json").exists():
        made.result = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    made.faults = list(_faults(made, folder))
    if made.result is not None:  # the rest, of many stations, is 100 MB
        made.result = {"masts": made.result["masts"]}
    return made


def program() -> str:
    """A hash of the program and of what is asked of its answers."""
    files = [*(ROOT / "mastcheck").rglob("*"), Path(__file__)]
    kinds = (".py", ".toml", ".json", ".csv")
    texts = [path.read_bytes() for path in sorted(files) if path.suffix in kinds]
    return hashlib.sha256(b"\0".join(texts)).hexdigest()


@dataclass(frozen=True)
class Kept:
    """Answers in a folder, by mast and program."""

    folder: Path
    program: str

    def _path(self, extreme: Extreme) -> Path:
        whole = f"{self.program}{extreme.refused}{toml(extreme.raw)}"
        return self.folder / f"{hashlib.sha256(whole.encode()).hexdigest()}.json"

    def get(self, extreme: Extreme) -> Answer | None:
        path = self._path(extreme)
        if not path.exists():
            return None
        return Answer(**{**json.loads(path.read_text(encoding="utf-8")), "extreme": extreme})

    def put(self, made: Answer) -> None:
        plain = asdict(replace(made, extreme=Extreme(group="", name="", raw={})))
        write_whole(self._path(made.extreme), json.dumps(plain).encode())


def answers_of(chosen: Sequence[Extreme], folder: Path, kept: Kept | None = None) -> Iterator[Answer]:
    """Every answer as it comes, two processes at a time; first those that are kept."""
    known = {i: made for i, e in enumerate(chosen) if kept and (made := kept.get(e))}
    yield from known.values()
    left = [(i, e) for i, e in enumerate(chosen) if i not in known]
    going: dict[int, int] = {}
    while left or going:
        while left and len(going) < 2:
            i, extreme = left.pop(0)
            going[begin(extreme, folder / str(i))] = i
        number, status, used = os.wait4(-1, 0)
        i = going.pop(number)
        made = ended(chosen[i], folder / str(i), status, used)
        if kept and not made.faults:
            kept.put(made)
        yield made


def _faults(made: Answer, folder: Path) -> Iterator[str]:
    """What is not as it must be."""
    if made.seconds > LONGEST or made.megabytes > MEMORY:
        yield f"took {made.seconds:.0f} s and {made.megabytes:.0f} MB"
    if made.status == 2:
        lines = made.told.splitlines()
        if not lines or not all(line.startswith("mastcheck: ") and "; " in line for line in lines):
            yield "a refusal without words or a remedy"
        if made.result is not None:
            yield "a refusal with a result"
        if (made.extreme.refused or "") not in made.told:
            yield f"refused for another reason than {made.extreme.refused!r}"
        return
    if made.status not in (0, 1) or made.told or made.result is None:
        yield f"exit status {made.status}: {made.told[-300:]}"
        return
    if made.extreme.refused is not None:
        yield "a result where a refusal is due"
    if (made.status == 0) != (made.verdict == "held"):
        yield f"exit status {made.status} with the verdict {made.verdict!r}"
    yield from (
        f"{e.json_path}: {e.message[:80]}"
        for e in Draft202012Validator(RESULT_SCHEMA).iter_errors(made.result)
    )
    text = (folder / "out").read_text(encoding="utf-8")
    if found := _WORDLESS.search(text):
        yield f"prints {found[0]!r}"
    for table in sorted((folder / "tables").glob("*.csv")):
        with table.open(encoding="utf-8", newline="") as file:
            if any(cell.lower() in _NUMBERS for row in csv.reader(file) for cell in row):
                yield f"{table.name} has a number that is not finite"


def laws(answers: Iterable[Answer]) -> Iterator[tuple[str, float, float]]:
    """Laws of scale and sign between results: what, its greatest relative error, and what is allowed.

    Sizes times k with forces times k²: the same stress, k⁴ of EI and GJ, k⁶ of EΓ, k² of EA, k³ of
    mass, k of movements.
    """
    by_name = {made.extreme.name: made.result["masts"][0] for made in answers if made.result}
    family = [(k, by_name.get(f"all sizes times {k:g}")) for k in SCALES]
    known = [(k, mast) for k, mast in family if mast is not None]
    if len(known) == len(SCALES):
        one = dict(known)[1.0]
        for key, power in (
            ("EI_side_Nm2", 4), ("EI_fore_aft_Nm2", 4), ("GJ_Nm2", 4), ("EGamma_Nm4", 6), ("EA_N", 2),
            ("mass_per_length_kg_per_m", 2), ("centroid_x_m", 1), ("shear_centre_x_m", 1),
        ):  # fmt: skip
            worst = max(
                abs(here[key] / (there[key] * k**power) - 1)
                for k, mast in known
                for here, there in zip(mast["stations"], one["stations"], strict=True)
            )
            yield f"{key} by k^{power}", worst, 1e-9
        yield "mass by k³", max(abs(m["mass_kg"] / (one["mass_kg"] * k**3) - 1) for k, m in known), 1e-9
        for key, power in (("side_mm", 1), ("twist_deg", 0)):
            tips = [(k, _case(m)["first_order_tip"][key] / k**power) for k, m in known]
            yield f"first-order {key} by k^{power}", _spread(v for _, v in tips), 1e-9
        yield "stress by k⁰", _spread(_case(m)["max_von_mises_MPa"] for _, m in known), 1e-9
        yield "amplification by k⁰", _spread(_case(m)["amplification"] for _, m in known), 1e-6
    port, starboard = by_name.get("to port"), by_name.get("to starboard")
    if port and starboard:
        a, b = (_case(m)["tip"]["side_mm"] for m in (port, starboard))
        yield "a side force reversed: side movement", abs(a / b + 1), 1e-9
        a, b = (_case(m)["max_von_mises_MPa"] for m in (port, starboard))
        yield "a side force reversed: stress", abs(a / b - 1), 1e-6
    zero = by_name.get("all zero")
    if zero:
        moved = [abs(v) for v in _case(zero)["tip"].values()] + [_case(zero)["max_von_mises_MPa"]]
        yield "no load: movement and stress", max(moved), 0.0
    base = by_name.get("solid, E = 1000 MPa")
    for name, ratio in (("solid, E = 0.1 MPa", 1e-4), ("solid, E = 2e+06 MPa", 2000.0)):
        if base and (other := by_name.get(name)):
            a, b = (m["stations"][0]["EI_side_Nm2"] for m in (other, base))
            yield f"EI by E, {name}", abs(a / (b * ratio) - 1), 1e-9


def _case(mast: dict[str, Any]) -> dict[str, Any]:
    """The case of the file's own: the last."""
    case: dict[str, Any] = mast["cases"][-1]
    return case


def _spread(values: Iterable[float]) -> float:
    known = list(values)
    return (max(known) - min(known)) / abs(known[0])


def lines(answers: Sequence[Answer]) -> Iterator[str]:
    """The tables, in Markdown."""
    yield "| what | mast | answer | side, mm for 100 N | twist, ° for 10 N·m | CPU s | MB |"
    yield "| --- | --- | --- | ---: | ---: | ---: | ---: |"
    for made in answers:
        side = twist = ""
        told = made.verdict
        if made.result is None:
            first = made.told.splitlines()[0] if made.told else f"exit status {made.status}"
            told = "refused: " + first.partition("mast.toml")[2].lstrip(":0123456789 ").replace("|", "/")
        else:
            found = made.result["masts"][0]["stiffness"]
            side, twist = f"{found['side_mm_per_100N']:.4g}", f"{found['twist_deg_per_10Nm']:.4g}"
        wrong = "".join(f" **{fault}**" for fault in made.faults)
        name = f"{made.extreme.group} | {made.extreme.name}"
        took = f"{made.seconds:.1f} | {made.megabytes:.0f}"
        yield f"| {name} | {told}{wrong} | {side} | {twist} | {took} |"
    yield ""
    yield "| law between results | greatest relative error | allowed |"
    yield "| --- | ---: | ---: |"
    for what, error, allowed in laws(answers):
        yield f"| {what} | {error:.1g}{'' if error <= allowed else ' **broken**'} | {allowed:.0e} |"


def write(answers: Sequence[Answer], count: int) -> None:
    """The page, as far as it has come."""
    results, refusals = sum(a.result is not None for a in answers), sum(a.status == 2 for a in answers)
    faults = sum(bool(a.faults) for a in answers)
    tried = f"{len(answers)} of {count} masts: {results} results, {refusals} refusals, {faults} faults."
    PAGE.write_text(HEAD + f"\n{tried}\n\n" + "\n".join(lines(answers)) + "\n", encoding="utf-8")


def main(words: Sequence[str]) -> int:
    """Try the groups named, all where none is; 1 where any answer is not as it must be."""
    groups = {word for word in words if not word.startswith("--")}
    places = [Path(word.partition("=")[2]) for word in words if word.startswith("--keep=")]
    kept = Kept(places[-1], program()) if places else None
    chosen = [e for e in extremes() if not groups or e.group in groups]
    os.environ["MASTCHECK_CACHE"] = "off"
    order = {e.name: i for i, e in enumerate(chosen)}
    answers = []
    with tempfile.TemporaryDirectory() as name:
        for made in answers_of(chosen, Path(name), kept):
            answers.append(made)
            told = f"{made.extreme.group}: {made.extreme.name}: {made.verdict}"
            print(told, f"{made.seconds:.1f} s", *made.faults, file=sys.stderr, flush=True)
            answers.sort(key=lambda made: order[made.extreme.name])
            if "--write" in words:
                write(answers, len(chosen))
    print("\n".join(lines(answers)))
    broken = [what for what, error, allowed in laws(answers) if not error <= allowed]
    return int(bool(broken) or any(a.faults for a in answers))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""``mastcheck materials``: the shipped materials, each number with its source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mastcheck.cli.show import MISSING, Units

if TYPE_CHECKING:
    from rich.console import Console

    from mastcheck.files.materials import Entry
    from mastcheck.source import Source

JSON_SCHEMA = "mastcheck-materials/1"
NEAREST = 4
"""Names offered in place of an unknown one."""

_CHECK_YOURS = (
    "Check every figure against the certificate or data sheet of your own batch before you cut."
)


def materials(*name: str, units: Units = "metric", json: Path | None = None) -> int:
    """List the shipped materials, or print one in full, with the source of every number.

    Args:
        name: One material's name; without it, all are listed.
        units: Units of the printed tables. JSON stays in SI.
        json: Also write what is printed to this file as JSON.

    Returns:
        The exit status.
    """
    from mastcheck.cli.console import console
    from mastcheck.files.materials import entries

    # A name of several words may stand without quotes.
    asked = " ".join(name)
    chosen = (find(asked),) if asked else entries()
    if json is not None:
        from mastcheck.whole import write_whole

        write_whole(json, materials_json(chosen).encode())
    if asked:
        print_entry(console(), chosen[0], units)
    else:
        print_list(console(), chosen, units)
    return 0


def find(name: str) -> Entry:
    """The entry of that name, upper and lower case alike.

    Raises:
        InputError: with the nearest names.
    """
    from mastcheck.errors import InputError, Problem
    from mastcheck.files.materials import entries
    from mastcheck.units import shown

    known = {entry.name.casefold(): entry for entry in entries()}
    wanted = " ".join(name.split()).casefold()
    if wanted in known:
        return known[wanted]
    near = _near(wanted, list(known))
    if near:
        remedy = "did you mean " + " or ".join(shown(known[key].name) for key in near) + "?"
    else:
        remedy = "mastcheck materials lists all names"
    raise InputError(
        (Problem(key="NAME", found=shown(name), rule="is no shipped material", remedy=remedy),)
    )


def _near(wanted: str, known: Sequence[str]) -> list[str]:
    """Names that hold the wanted word, then those spelled alike; at most ``NEAREST``."""
    from difflib import get_close_matches

    holding = [name for name in known if wanted and wanted in name]
    alike = get_close_matches(wanted, known, n=NEAREST, cutoff=0.5)
    return list(dict.fromkeys([*holding, *alike]))[:NEAREST]


# ---- The list


def print_list(console: Console, chosen: Sequence[Entry], units: Units) -> None:
    """All entries by kind, with the grade of each source."""
    from rich.text import Text

    from mastcheck.cli.printing import heading, show, table_of, title
    from mastcheck.files.materials import Kind

    title(console, "Shipped materials")
    for kind, words, columns in (
        (Kind.METAL, "Metals: least strengths", _METAL),
        (Kind.LAMINA, "Laminas: elastic constants of single plies", _PLY),
        (Kind.LAMINA, "Laminas: strengths of single plies", _PLY_STRENGTH),
        (Kind.LAMINATE, "Laminate design figures: one E and G for a whole laminate", _LAMINATE),
        (Kind.CORE, "Cores", _CORE),
    ):
        heading(console, words)
        table = table_of("name")
        for header, unit, _ in columns:
            label = _label(unit, units)
            table.add_column(f"{header}\n{label}", justify="left" if unit == "grade" else "right")
        for entry in chosen:
            if entry.kind is kind:
                table.add_row(
                    Text(entry.name), *(_shown(value(entry), unit, units) for _, unit, value in columns)
                )
        show(console, table)
    console.print()
    for line in (
        "t: thickness range of the strengths. Grades, for strengths and for elastic constants: standard,"
        " a row of a standard; measured, published tests of others' plies, mean values; memory, recalled"
        " without the page; practice, common practice without a source; assumed.",
        f"One in full, with its sources: mastcheck materials NAME. {_CHECK_YOURS}",
    ):
        console.print(Text(line, style="dim"), soft_wrap=not console.is_terminal)


_Value = Callable[["Entry"], Any]
_Columns = tuple[tuple[str, str, _Value], ...]


def _of(key: str) -> _Value:
    """A number of the entry's Material or Lamina."""
    return lambda entry: getattr(entry.content, key)


def _grade(source: Source | None) -> str:
    """A grade as one word."""
    if source is None:
        return MISSING
    return {"from memory": "memory", "common practice, no source": "practice"}.get(
        source.grade, str(source.grade)
    )


_GRADES: _Columns = (
    ("strengths", "grade", lambda entry: _grade(entry.strengths)),
    ("elastic", "grade", lambda entry: _grade(entry.elastic)),
)
_DENSITY = ("density", "kg/m³", _of("density"))
_METAL: _Columns = (
    ("t", "mm", lambda entry: (entry.thickness_above, entry.thickness_to)),
    ("proof", "MPa", _of("proof_strength")),
    ("ult.", "MPa", _of("ultimate_strength")),
    ("E", "GPa", _of("E")),
    ("G", "GPa", lambda entry: float(f"{_of('G')(entry):.3g}")),  # may come from E and ν
    _DENSITY,
    *_GRADES,
)
_PLY: _Columns = (
    ("E1", "GPa", _of("E1")),
    ("E2", "GPa", _of("E2")),
    ("G12", "GPa", _of("G12")),
    ("ν12", "", _of("nu12")),
    _DENSITY,
    ("fibre", "%", lambda entry: entry.fibre_volume),
    _GRADES[1],
)
_PLY_STRENGTH: _Columns = (
    *((key, "MPa", _of(key)) for key in ("Xt", "Xc", "Yt", "Yc", "S12")),
    ("γ", "", _of("gamma")),
    _GRADES[0],
)
_LAMINATE: _Columns = (
    ("E", "GPa", _of("E")),
    ("G", "GPa", _of("G")),
    _DENSITY,
    ("proof", "MPa", _of("proof_strength")),
    *_GRADES,
)
_CORE: _Columns = (
    ("E", "MPa", _of("E")),
    ("G", "MPa", _of("G")),
    _DENSITY,
    ("shear str.", "MPa", _of("shear_strength")),
    ("compr. str.", "MPa", lambda entry: entry.compressive_strength),
    *_GRADES,
)
_PER_SI = {"mm": 1e3, "MPa": 1e-6, "GPa": 1e-9, "%": 100.0}


def _label(unit: str, units: Units) -> str:
    """A unit as it heads a column."""
    from mastcheck.report.display import unit_label

    return unit if unit in ("", "%", "grade") else unit_label(unit, units)


def _shown(value: Any, unit: str, units: Units) -> str:
    """A value in SI as a cell: in display units, without the unit."""
    if value is None:
        return MISSING
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return _range(value, unit, units)
    from mastcheck.report.display import factor, given

    significant = value * _PER_SI.get(unit, 1.0) * factor(unit, units)
    # Converted figures are rounded: their digits would claim more than the source does.
    return given(significant) if units == "metric" else given(float(f"{significant:.3g}"))


def _range(limits: tuple[float | None, float | None], unit: str, units: Units) -> str:
    """A thickness range: "to 5", "5-10"."""
    above, to = limits
    if to is None:
        return MISSING
    if above is None:
        return f"to {_shown(to, unit, units)}"
    return f"{_shown(above, unit, units)}-{_shown(to, unit, units)}"


# ---- One entry


def print_entry(console: Console, entry: Entry, units: Units) -> None:
    """One entry in full: each group of numbers under its source."""
    from rich.text import Text

    from mastcheck.cli.printing import bare, heading, items, safe, show, title

    title(console, entry.name)
    standard = "" if entry.standard == entry.name else entry.standard
    console.print(safe(", ".join(filter(None, (str(entry.kind), standard, entry.temper)))))
    if entry.form:
        console.print(safe(entry.form))
    for words, source, rows in groups(entry, units):
        heading(console, words)
        if source is not None:
            console.print(
                Text(str(source), style="dim"), soft_wrap=not console.is_terminal, overflow="fold"
            )
        table = bare(header=False)
        table.add_column()
        table.add_column(overflow="fold")
        for name, value in rows:
            table.add_row(safe(name), safe(value))
        show(console, table)
    heading(console, "Notes")
    items(console, [*([entry.note] if entry.note else []), _CHECK_YOURS])


def groups(entry: Entry, units: Units) -> Iterator[tuple[str, Source | None, list[tuple[str, str]]]]:
    """Heading, source and (name, value with unit) rows of each group of numbers."""
    value = _Rows(entry.content, units)
    if entry.strengths is not None:
        rows = [*value.some(_STRENGTH_ROWS)]
        rows += value.of("compressive strength", entry.compressive_strength, "MPa")
        rows += value.of("elongation", entry.elongation, "%")
        if entry.thickness_to is not None:
            label = _label("mm", units)
            thickness = _range((entry.thickness_above, entry.thickness_to), "mm", units)
            rows.append(("for thickness", f"{thickness} {label}"))
        if entry.haz is not None:
            rows += value.of("heat-affected zone: proof strength", entry.haz.proof_strength, "MPa")
            rows += value.of("heat-affected zone: ultimate strength", entry.haz.ultimate_strength, "MPa")
            rows += [
                ("heat-affected zone: ρ_o,haz", f"{entry.haz.rho_o:.2f}"),
                ("heat-affected zone: ρ_u,haz", f"{entry.haz.rho_u:.2f}"),
            ]
        if entry.buckling_class:
            rows.append(("buckling class", entry.buckling_class))
        yield "Strengths", entry.strengths, rows
    if entry.gammas is not None:
        yield "Partial factors", entry.gammas, _gammas(entry)
    # A foam's moduli are said in MPa.
    unit = "MPa" if getattr(entry.content, "E", 1e9) < 1e9 else "GPa"
    elastic = [*value.some((words, key, unit) for words, key in _ELASTIC_ROWS)]
    elastic += value.some((("ν12", "nu12", ""),))
    yield "Elastic constants", entry.elastic, elastic
    density = [*value.some((("density", "density", "kg/m³"),))]
    density += value.of("fibre volume", entry.fibre_volume, "%")
    yield "Density", entry.density, density
    yield "In a mast file", None, _uses(entry)


_STRENGTH_ROWS = (
    ("proof strength", "proof_strength", "MPa"),
    ("ultimate strength", "ultimate_strength", "MPa"),
    ("design strength", "design_strength", "MPa"),
    ("shear strength", "shear_strength", "MPa"),
    ("Xt, along the fibres, tension", "Xt", "MPa"),
    ("Xc, along the fibres, compression", "Xc", "MPa"),
    ("Yt, across the fibres, tension", "Yt", "MPa"),
    ("Yc, across the fibres, compression", "Yc", "MPa"),
    ("S12, shear", "S12", "MPa"),
)
_ELASTIC_ROWS = (
    ("E", "E"),
    ("G", "G"),
    ("E1, along the fibres", "E1"),
    ("E2, across the fibres", "E2"),
    ("G12", "G12"),
)


class _Rows:
    """Rows of a Material's or a Lamina's numbers, those it lacks left out."""

    def __init__(self, content: object, units: Units) -> None:
        self._content, self._units = content, units

    def of(self, words: str, value: float | None, unit: str) -> list[tuple[str, str]]:
        """One row, or none."""
        if value is None:
            return []
        return [(words, f"{_shown(value, unit, self._units)} {_label(unit, self._units)}".rstrip())]

    def some(self, wanted: Iterable[tuple[str, str, str]]) -> Iterator[tuple[str, str]]:
        """Rows of (words, field, unit)."""
        for words, key, unit in wanted:
            yield from self.of(words, getattr(self._content, key, None), unit)


def _gammas(entry: Entry) -> list[tuple[str, str]]:
    """The partial factors on the strengths that are there."""
    content = entry.content
    return [
        (words, f"{getattr(content, gamma):.2f}")
        for words, gamma, strengths in (
            ("on proof strength", "gamma_proof", ("proof_strength",)),
            ("on core shear strength", "gamma_proof", ("shear_strength",)),
            ("on ultimate strength", "gamma_ultimate", ("ultimate_strength",)),
            ("on ply strengths", "gamma", ("Xt",)),
        )
        if any(getattr(content, key, None) is not None for key in strengths)
    ]


def _uses(entry: Entry) -> list[tuple[str, str]]:
    """How a mast file asks for it, and its galvanic group."""
    from mastcheck.files.materials import Kind

    table, key = {
        Kind.LAMINA: ("[[section.ply]]", "material"),
        Kind.CORE: ("[section]", "core"),
    }.get(entry.kind, ("[section]", "material"))
    rows = [(table, f'{key} = "{entry.name}"')]
    if entry.content.galvanic_group:
        rows.append(("galvanic group", entry.content.galvanic_group))
    return rows


# ---- JSON


def materials_json(chosen: Iterable[Entry]) -> str:
    """The entries as JSON text in SI, units in the key names, ending with a newline."""
    import json

    whole = {"schema": JSON_SCHEMA, "materials": [_as_json(entry) for entry in chosen]}
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


_STRESSES = ("E", "G", "E1", "E2", "G12", "Xt", "Xc", "Yt", "Yc", "S12")
_JSON_UNITS = {"density": "_kg_per_m3", "thickness_above": "_m", "thickness_to": "_m"}


def _as_json(entry: Entry) -> dict[str, Any]:
    """One entry; what it lacks is left out."""
    from dataclasses import asdict

    whole = asdict(entry)
    content, haz = whole.pop("content"), whole.pop("haz")
    sources = {key: whole.pop(key) for key in ("strengths", "elastic", "density", "gammas")}
    for key in ("source", "note", "laminate"):  # the entry's own note and sources say it better
        content.pop(key, None)
    numbers = _with_units({**content, **whole})
    if haz:
        numbers["heat_affected_zone"] = _with_units(haz)
    return {**numbers, "sources": {key: source for key, source in sources.items() if source}}


def _with_units(table: dict[str, Any]) -> dict[str, Any]:
    """The same with units in the key names, what is absent left out."""
    stress = {key: "_Pa" for key in table if key in _STRESSES or key.endswith("_strength")}
    units = {**_JSON_UNITS, **stress}
    return {f"{key}{units.get(key, '')}": v for key, v in table.items() if v not in (None, "")}

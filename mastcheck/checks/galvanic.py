"""Mixed metals: which parts touch, what salt water does to each pair, and the usual care.

Potentials in flowing sea water order the groups (``data/galvanic.toml``, with sources); the lower of
two that touch corrodes. A potential says which part suffers and how hard it is driven, not how fast:
risk words and care are common practice with no source, and nothing here is judged.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from mastcheck.checks.assembly import Assembly, Part, assembly
from mastcheck.job import Job
from mastcheck.section.model import SectionModel
from mastcheck.source import Grade, Source

LOW, HIGH = 0.15, 0.25
"""Driving voltage (between the middles of two ranges) below which the risk is called low, and from which
high [V]: design rules for salt-laden and for ordinary surroundings. Common practice, no source."""

SMALL = 0.5
"""The corroding part is called small below this share of the other's surface. Common practice, no
source; that a small one beside a large one fares worst is a note of the series' second table."""

RINSE = "Rinse with fresh water, and take the joint apart regularly."
SMALL_ANODE = "Small beside what it touches, so that it corrodes all the faster: {names}."
UNKNOWN = (
    "Contact in salt water was not looked at for {names}: no galvanic_group is stated for it, or an"
    " unknown one."
)
NOT_STATED = (
    "The material of the {what} is not stated, so not every pair that touches in salt water is named. Of"
    " this {group} mast: {advice}. Isolate what differs (sleeves, compound), rinse, and take the joints"
    " apart regularly."
)


class Risk(StrEnum):
    """How a pair fares in salt water; ``crevice``: well in the open, badly where water stands."""

    HIGH = "high"
    MODERATE = "moderate"
    CREVICE = "in crevices"
    LOW = "low"


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Materials of one place in the series.

    ``volts``: lowest and highest potential in flowing sea water [V against the saturated calomel
    electrode]. ``film``: 'holds' where its own film protects it, 'open' where the film fails in
    crevices and the potential falls to ``active``; empty: none to rely on. ``usual``: common in the
    joints of masts.
    """

    name: str
    named: tuple[str, ...]
    volts: tuple[float, float]
    source: Source
    film: str = ""
    active: tuple[float, float] | None = None
    usual: bool = False

    @property
    def middle(self) -> float:
        """Middle of the range [V]."""
        return sum(self.volts) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two touching parts of different groups, the nobler first.

    ``volts``: least and greatest driving voltage [V]; ``crevice_volts`` the same where the film of the
    baser one has failed, None where it has none or keeps it. ``corrodes``: the baser part, or None
    where neither is driven; ``small_anode``: whether it is the small one (None: not known).
    """

    parts: tuple[Part, Part]
    groups: tuple[str, str]
    volts: tuple[float, float]
    corrodes: Part | None
    risk: Risk
    care: str
    small_anode: bool | None = None
    crevice_volts: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Series:
    groups: tuple[Group, ...]
    insulators: tuple[str, ...]
    pair_care: dict[frozenset[str], str]
    anode_care: dict[str, str]


@cache
def _series() -> _Series:
    text = files("mastcheck").joinpath("data", "galvanic.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    groups = []
    for name, table in raw["group"].items():
        low, high = table["volts"]
        active = table.get("active_volts")
        source = table["from"]
        groups.append(
            Group(
                name=name,
                named=tuple(table["named"]),
                volts=(low, high),
                source=Source(
                    title=source["source"], place=source["place"], grade=Grade(source["grade"])
                ),
                film=table.get("film", ""),
                active=None if active is None else (active[0], active[1]),
                usual=table.get("usual", False),
            )
        )
    return _Series(
        groups=tuple(groups),
        insulators=tuple(raw["insulator"]["named"]),
        pair_care={frozenset(row["groups"]): row["care"] for row in raw["pair"]},
        anode_care=raw["anode"],
    )


def groups() -> tuple[Group, ...]:
    """The groups of the series, noble to base as listed."""
    return _series().groups


def group_of(stated: str) -> Group | None:
    """The group a material's ``galvanic_group`` names; None for insulators and unknown words.

    >>> [g and g.name for g in map(group_of, ("aluminium", "Carbon steel", "carbon fibre", "glass"))]
    ['aluminium', 'steel', 'carbon', None]
    """
    word = stated.strip().lower()
    fits = [(len(name), g) for g in groups() for name in g.named if word.startswith(name)]
    return max(fits, key=lambda fit: fit[0])[1] if fits else None


def pair(a: Part, b: Part) -> Pair | None:
    """What salt water does to two touching parts; None where one group, or no current, joins them."""
    first, second = group_of(a.group), group_of(b.group)
    if first is None or second is None or first.name == second.name:
        return None
    if first.middle < second.middle:
        a, b, first, second = b, a, second, first
    least, most = first.volts[0] - second.volts[1], first.volts[1] - second.volts[0]
    # Ranges that overlap do not say which of two filmed metals suffers; neither is driven by much.
    even = least < 0 and bool(first.film) and bool(second.film)
    corrodes = None if even else b
    small = None
    if corrodes is not None and a.surface is not None and b.surface is not None:
        small = b.surface < SMALL * a.surface
    return Pair(
        parts=(a, b),
        groups=(first.name, second.name),
        volts=(max(0.0, least), most),
        corrodes=corrodes,
        risk=_risk(first, second, even=even),
        care=_care(first, second),
        small_anode=small,
        crevice_volts=None
        if even or second.active is None
        else (first.volts[0] - second.active[1], first.volts[1] - second.active[0]),
    )


def pairs(job: Job, sections: Sequence[SectionModel]) -> tuple[Pair, ...]:
    """Every touching pair of the assembly whose groups differ, each once, the worst risk first.

    Args:
        job: the mast and what is joined to it.
        sections: its solved sections, for what touches inside it.
    """
    return _pairs(assembly(job, sections))


def mixed_metals(job: Job, sections: Sequence[SectionModel]) -> tuple[str, ...]:
    """What is said of the pairs: one line for those of the same groups, risk and size; then the gaps."""
    whole = assembly(job, sections)
    gathered: dict[tuple[object, ...], list[Pair]] = {}
    for p in _pairs(whole):
        gathered.setdefault((p.groups, p.risk, p.small_anode is True), []).append(p)
    out = [_line(alike) for alike in gathered.values()]
    parts = dict.fromkeys((*whole.blade, *(part for two in whole.contacts for part in two)))
    unknown = dict.fromkeys(p.words for p in parts if not _known(p))
    if unknown:
        out.append(UNKNOWN.format(names=", ".join(unknown)))
    return (*out, *_not_stated(whole))


def _pairs(whole: Assembly) -> tuple[Pair, ...]:
    found: dict[tuple[Part, Part], Pair] = {}
    for a, b in whole.contacts:
        made = pair(a, b)
        if made is not None:
            found[made.parts] = made
    order = list(Risk)
    return tuple(sorted(found.values(), key=lambda p: (order.index(p.risk), -p.volts[1])))


def _line(alike: Sequence[Pair]) -> str:
    """Pairs of the same groups and risk in one sentence or two."""
    first = alike[0]
    noble, base = first.groups
    where = "; ".join(f"{p.parts[1].words} with {p.parts[0].words}" for p in alike)
    least, most = first.volts
    volts = _volts(least, most)
    what = f"{base} corrodes beside {noble}, driven by {volts}"
    if first.corrodes is None:
        what = f"neither drives the other ({volts})"
    elif first.risk is Risk.LOW:
        film = any(g.name == base and g.film for g in groups())
        what = f"{base} is driven by {volts}, and {'its film bears it' if film else 'corrodes slowly'}"
    elif first.crevice_volts is not None:
        deep = _volts(*first.crevice_volts)
        what = f"in the open {base} bears it ({volts}); where water stands its film fails ({deep})"
    text = f"Mixed metals in salt water, risk {first.risk}: {where}: {what}."
    if first.small_anode and first.risk is not Risk.LOW:
        names = " and ".join(dict.fromkeys(p.corrodes.words for p in alike if p.corrodes is not None))
        text += " " + SMALL_ANODE.format(names=names)
    text += f" Usual care: {first.care}."
    return text if first.risk is Risk.LOW else f"{text} {RINSE}"


def _not_stated(whole: Assembly) -> Iterator[str]:
    """What to mind of the parts that the job does not state."""
    silent = whole.not_stated
    if not silent:
        return
    what = " and ".join(x for x in (", ".join(silent[:-1]), silent[-1]) if x)
    for group in dict.fromkeys(g for p in whole.blade if (g := group_of(p.group)) is not None):
        yield NOT_STATED.format(what=what, group=group.name, advice=_advice(group))


def _advice(group: Group) -> str:
    """How the groups usual in joints fare beside a group, in words out of the series."""
    told: dict[str, list[str]] = {}
    for other in groups():
        own, its = (Part(name=g.name, material="", group=g.named[0]) for g in (group, other))
        found = pair(own, its) if other.usual else None
        if found is None:
            continue
        mine = found.corrodes is own
        match found.risk:
            case Risk.LOW:
                words = "{} may touch it"
            case Risk.CREVICE:
                words = "it pits in crevices beside {}" if mine else "{} pits in crevices on it"
            case _:
                words = "it corrodes beside {}" if mine else "{} corrodes beside it"
        told.setdefault(words, []).append(other.name)
    return "; ".join(words.format(_or(names)) for words, names in told.items())


def _volts(least: float, most: float) -> str:
    return f"{least:.2f} to {most:.2f} V" if least > 0 else f"up to {most:.2f} V"


def _or(names: Sequence[str]) -> str:
    """Names in words.

    >>> _or(["a"]), _or(["a", "b", "c"])
    ('a', 'a, b or c')
    """
    return " or ".join(x for x in (", ".join(names[:-1]), names[-1]) if x)


def _risk(noble: Group, base: Group, *, even: bool) -> Risk:
    """The risk of the baser one."""
    if even or base.film == "holds":
        return Risk.LOW
    if base.film == "open":
        return Risk.CREVICE
    drive = noble.middle - base.middle
    return Risk.HIGH if drive >= HIGH else Risk.MODERATE if drive >= LOW else Risk.LOW


def _care(noble: Group, base: Group) -> str:
    series = _series()
    return series.pair_care.get(frozenset((noble.name, base.name)), series.anode_care[base.name])


def is_known(stated: str) -> bool:
    """Whether a material's ``galvanic_group`` names a group of the series, or an insulator."""
    return group_of(stated) is not None or stated.lower().startswith(_series().insulators)


def _known(part: Part) -> bool:
    return is_known(part.group)

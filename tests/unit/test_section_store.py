"""No section is solved twice, and no kept one can change a result or stop a calculation."""

from __future__ import annotations

import errno
import io
import multiprocessing
import os
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import mastcheck
from mastcheck.checks.sensitivity import sensitivity
from mastcheck.checks.stations import solve_stations
from mastcheck.cli.main import main
from mastcheck.drawn import Coordinates
from mastcheck.errors import GeometryError
from mastcheck.mast import Mast, ModifiedNaca, OutlineKind, Zone
from mastcheck.outline import contour
from mastcheck.section import likeness, solved, store
from mastcheck.section.entry import Entry, packed, unpacked
from mastcheck.section.model import Region, SectionModel
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from mastcheck.section.solved import section_at, solved_regions
from mastcheck.section.store import Store, using, without
from tests.kept import ALL, METAL, PROFILES, mast, numbers


@pytest.fixture
def solves(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """One word for each section that is solved."""
    found: list[str] = []

    def counted(*args: object, **kw: object) -> SectionModel:
        found.append("section")
        return solve_section(*args, **kw)  # type: ignore[arg-type]

    for module in (likeness, solved):
        monkeypatch.setattr(module, "solve_section", counted)
    return found


def files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file())


# --- the same result --------------------------------------------------------------------------------


@pytest.mark.parametrize("construction", ALL)
def test_kept_or_not_the_bits_are_the_same(construction: str, tmp_path: Path, solves: list[str]) -> None:
    made = mast(construction)
    with without():
        none = numbers(section_at(made, 0.0, end=True))
    with using(Store(tmp_path)):
        first = numbers(section_at(made, 0.0, end=True))
        memory = numbers(section_at(made, 0.0, end=True))
    with using(Store(tmp_path)):
        file = numbers(section_at(made, 0.0, end=True))
    assert len(solves) == 2
    assert none == first == memory == file


def test_what_was_solved_before_does_not_matter(tmp_path: Path) -> None:
    """A scaled copy kept first, or the section itself: the same bits."""
    made = mast("solid", ratio=0.6)
    with without():
        alone = [numbers(section_at(made, at)) for at in (0.2, 0.7)]
    with using(Store(tmp_path)):
        other_way = [numbers(section_at(made, at)) for at in (0.7, 0.2)]
    assert alone == other_way[::-1]


def test_regions_are_of_the_live_materials(tmp_path: Path) -> None:
    """What does not enter the stiffness (strength, a note) is the recipe's own, not a kept one."""
    weak, strong = (replace(METAL, proof_strength=s, note=f"{s}") for s in (100e6, 300e6))
    with using(Store(tmp_path)):
        for metal in (weak, strong):
            (region,) = section_at(mast(material=metal), 0.5).regions
            assert region.material is metal


def test_what_is_kept_cannot_be_changed_by_who_uses_it(tmp_path: Path) -> None:
    with using(Store(tmp_path)):
        basis = section_at(mast("solid"), 0.5).basis
        for shared in (basis.region, basis.triangles):
            with pytest.raises(ValueError, match="read-only"):
                shared[0] = 7
        basis.fields[0] = 0.0  # its own
        assert section_at(mast("solid"), 0.5).basis.fields[0].any()


def test_laminates_keep_the_thickness_of_their_own_plies(tmp_path: Path) -> None:
    """Scaled copies share one solve; a laminate's bending stiffness needs its true thickness."""
    made = mast("laminated", ratio=0.6)
    with using(Store(tmp_path)):
        for at in (0.0, 1.0):
            faces = section_at(made, at).regions[0].material.laminate
            assert faces is not None
            want = sum(p.thickness for p in made.station_at(at).plies if Zone.NOSE in p.zones)
            assert faces.thickness == pytest.approx(want, rel=1e-12)


def test_regions_as_they_are(tmp_path: Path, solves: list[str]) -> None:
    regions = regions_at(mast("shell-and-core"), 0.3)
    with using(Store(tmp_path)):
        first = solved_regions(regions, end=True)
        again = solved_regions(regions, end=True)
        assert len(solves) == 1
        assert numbers(first) == numbers(again) == numbers(solve_section(regions, end=True))
        stiffer = [replace(r, material=replace(r.material, E=r.material.E * 1.1)) for r in regions]
        assert solved_regions(tuple(stiffer)).properties.EA > 1.05 * first.properties.EA


# --- none twice -------------------------------------------------------------------------------------


@pytest.mark.parametrize("listed", [False, True])
def test_a_mast_that_tapers_in_proportion_is_one_section(
    listed: bool, tmp_path: Path, solves: list[str]
) -> None:
    """All its sections are scaled copies of one; the fixed end is solved beside it."""
    outline = OutlineKind.NACA_4_DIGIT
    if listed:
        ring = contour("naca-4-digit", chord=1.0, thickness=0.12)
        outline = Coordinates(points=ring / (1.0, np.ptp(ring[:, 1])))
    with using(Store(tmp_path)):
        solve_stations(mast("solid", ratio=0.6, outline=outline))
        assert len(solves) == 2
        larger = mast("solid", ratio=0.6, outline=outline)
        stations = (replace(s, chord=1.31 * s.chord, thickness=1.31 * s.thickness)
                    for s in larger.stations)  # fmt: skip
        metal = replace(METAL, density=8000.0, E=200e9, G=200e9 * METAL.G / METAL.E)
        larger = replace(larger, length=1.0, stations=tuple(stations))
        solve_stations(replace(larger, section=replace(larger.section, material=metal)))
        assert len(solves) == 2


@pytest.mark.parametrize(
    "name", ["aluminium-75-tapered", "carbon-75-layup", "aluminium-75-section-file"]
)
def test_a_new_length_or_rider_solves_no_section(name: str, tmp_path: Path, solves: list[str]) -> None:
    job = mastcheck.load(PROFILES / f"{name}.toml")
    with using(Store(tmp_path)):
        mastcheck.check(job)
        cold = len(solves)
        assert cold > 0
        mastcheck.check(replace(job, mast=job.mast.with_length(0.9)))
    with using(Store(tmp_path)):
        mastcheck.check(job)
    assert len(solves) == cold


def test_sensitivities_and_edges_again_solve_no_section(tmp_path: Path, solves: list[str]) -> None:
    job = mastcheck.load(PROFILES / "aluminium-75-tapered.toml")
    job = replace(job, edge_radius=0.0012)
    with using(Store(tmp_path)):
        sensitivity(mastcheck.check(job))
    cold = len(solves)
    with using(Store(tmp_path)):
        sensitivity(mastcheck.check(job))
    assert len(solves) == cold


def test_a_check_without_cache_solves_anew(tmp_path: Path, solves: list[str]) -> None:
    job = mastcheck.load(PROFILES / "aluminium-75-uniform-slim.toml")
    with using(Store(tmp_path)):
        first = mastcheck.check(job)
        kept, cold = files(tmp_path), len(solves)
        second = mastcheck.check(job, cache=False)
    assert len(solves) == 2 * cold
    assert files(tmp_path) == kept
    assert numbers(first.sections[0]) == numbers(second.sections[0])


def test_faults_name_true_sizes(tmp_path: Path) -> None:
    """Sections are solved at a reference size; a person has to read their own."""
    thick = mast("hollow")
    stations = tuple(replace(s, wall=0.009) for s in thick.stations)
    with using(Store(tmp_path)), pytest.raises(GeometryError, match=r"wall 9 mm leaves no void"):
        section_at(replace(thick, stations=stations), 0.0)
    giant = tuple(replace(s, chord=3.0, thickness=0.4) for s in thick.stations)
    with using(Store(tmp_path)), pytest.raises(GeometryError, match="chord 3000 mm is outside"):
        section_at(replace(thick, stations=giant), 0.0)
    assert files(tmp_path) == []


def test_where_the_reference_size_fails_its_own_is_solved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the edge of what can be built, the grid alone decides: no section is lost by the reference."""
    sizes: list[float] = []

    def picky(regions: tuple[Region, ...], **kw: object) -> SectionModel:
        left, _, right, _ = regions[0].polygon.bounds
        sizes.append(right - left)
        if len(sizes) == 1:
            raise GeometryError("points nearly coincide")
        return solve_section(regions, **kw)  # type: ignore[arg-type]

    monkeypatch.setattr(likeness, "solve_section", picky)
    with using(Store(tmp_path)):
        found = section_at(mast("solid"), 0.0).properties
    assert sizes == pytest.approx([likeness.REFERENCE, 0.12])
    with without():
        assert pytest.approx(section_at(mast("solid"), 0.0).properties.GJ, rel=2e-4) == found.GJ


def test_the_uniform_side_of_a_break_carries_no_torque_by_taper() -> None:
    """Half uniform, half tapered: at the break the fibres are inclined on one side only."""
    made = replace(mast(), taper_about=0.2)
    base, tip = made.stations
    stations = (base, replace(base, at=0.5), tip)
    with without():
        p = section_at(replace(made, stations=stations), 0.5).properties
    assert p.fibre_before == (0.0, 0.0, 0.0)
    assert abs(p.fibre_after[1]) > 1e-3


# --- files ------------------------------------------------------------------------------------------


def _npz(**arrays: object) -> bytes:
    out = io.BytesIO()
    np.savez(out, **arrays)  # type: ignore[arg-type]
    return out.getvalue()


def _flipped(content: bytes) -> bytes:
    half = len(content) // 2
    return content[:half] + bytes([content[half] ^ 0x10]) + content[half + 1 :]


def _other(content: bytes, **changes: np.ndarray) -> bytes:
    with np.load(io.BytesIO(content)) as file:
        return _npz(**{name: changes.get(name, file[name]) for name in file.files})


def _nan(content: bytes) -> bytes:
    with np.load(io.BytesIO(content)) as file:
        floats = file["floats"].copy()
    floats[5] = np.nan
    return _other(content, floats=floats)


DAMAGE = {
    "empty": lambda _: b"",
    "garbage": lambda _: b"this is no section",
    "zip garbage": lambda _: b"PK\x03\x04" + bytes(range(256)),
    "cut short": lambda c: c[: len(c) // 2],
    "one bit": _flipped,
    "other arrays": lambda _: _npz(a=np.zeros(3)),
    "pickled": lambda _: _npz(key=np.array([{}], dtype=object), floats=np.zeros(1), ints=np.zeros(1)),
    "other key": lambda c: _other(c, key=np.zeros(32, dtype=np.uint8)),
    "fewer numbers": lambda c: _other(c, floats=np.zeros(40)),
    "other counts": lambda c: _other(c, ints=np.full(60, 7, dtype=np.int32)),
    "not a number": _nan,
    "text for numbers": lambda c: _other(c, floats=np.array(["a", "b"])),
    "plain npy": lambda _: b"\x93NUMPY\x01\x00garbage",
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_file_counts_as_none_and_is_mended(
    damage: str, tmp_path: Path, solves: list[str]
) -> None:
    made = mast("solid")
    with using(Store(tmp_path)):
        good = numbers(section_at(made, 0.5))
    (file,) = files(tmp_path)
    whole = file.read_bytes()
    file.write_bytes(DAMAGE[damage](whole))
    with using(Store(tmp_path)):
        assert numbers(section_at(made, 0.5)) == good
    assert len(solves) == 2
    with using(Store(tmp_path)):
        assert numbers(section_at(made, 0.5)) == good
    assert len(solves) == 2
    assert files(tmp_path) == [file]


def test_no_file_of_any_content_is_an_error() -> None:
    """Two vectors of any numbers are refused or read, never worse."""
    with using(Store(None)) as kept:
        section_at(mast("solid"), 0.5)
    (entry,) = kept._entries.values()
    floats, ints = packed(entry)
    random = np.random.default_rng(3)
    for _ in range(300):
        wrong = ints.copy()
        wrong[random.integers(0, 60)] = random.integers(-5, 5000)
        try:
            unpacked(floats, wrong).polygons()
        except ValueError:
            continue


def test_packing_keeps_every_bit() -> None:
    with using(Store(None)) as kept:
        section_at(mast("laminated"), 0.0, end=True)
    (entry,) = kept._entries.values()
    again = unpacked(*packed(entry))
    for name in ("coordinates", "rings", "parts"):
        assert np.array_equal(getattr(again, name), getattr(entry, name))
    for name in ("points", "region", "fields", "triangles"):
        assert np.array_equal(getattr(again.basis, name), getattr(entry.basis, name)), name
    assert again.properties == entry.properties
    assert (again.material, again.elements) == (entry.material, entry.elements)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with using(Store(tmp_path / "file" / "sections")):
        assert section_at(mast("solid"), 0.5).properties.EA > 0


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="no such permissions here")
def test_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    with without():
        want = numbers(section_at(mast("solid"), 0.5))
    tmp_path.chmod(0o500)
    user = os.geteuid()
    if user == 0:
        os.seteuid(65534)  # root may write anywhere
    try:
        with using(Store(tmp_path)):
            assert numbers(section_at(mast("solid"), 0.5)) == want
    finally:
        os.seteuid(user)
        tmp_path.chmod(0o700)
    assert files(tmp_path) == []


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EACCES, errno.EROFS])
@pytest.mark.parametrize("step", ["NamedTemporaryFile", "replace"])
def test_a_full_or_closed_disk(
    fault: int, step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(fault, os.strerror(fault))

    monkeypatch.setattr(store if step == "NamedTemporaryFile" else Path, step, refuse)
    with using(Store(tmp_path)):
        assert section_at(mast("solid"), 0.5).properties.EA > 0
    assert files(tmp_path) == []


def _solve_many(folder: str) -> list[str]:
    """In a process of its own: a few sections, solved or found."""
    with using(Store(Path(folder))):
        return [numbers(section_at(mast(c), at)) for c in ("solid", "hollow") for at in (0.0, 0.4, 1.0)]


def test_processes_share_a_folder(tmp_path: Path) -> None:
    """Two at once, writing the same keys."""
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        first, second = pool.map(_solve_many, [str(tmp_path)] * 2, chunksize=1)
    assert first == second == _solve_many(str(tmp_path))
    assert {p.suffix for p in files(tmp_path)} == {".npz"}


def test_threads_share_a_store(tmp_path: Path) -> None:
    shared = Store(tmp_path, memory=600_000)  # two or three sections: entries come and go

    def work(_: int) -> list[str]:
        with using(shared):
            return [numbers(section_at(mast("solid", ratio=r), 0.5)) for r in (0.7, 0.8, 0.9)]

    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(work, range(8)))
    assert all(one == found[0] for one in found)


def test_memory_is_bounded(solves: list[str]) -> None:
    with using(Store(None, memory=1)):  # always one at least
        for at in (0.1, 0.1, 0.9, 0.1):
            section_at(mast("hollow", ratio=0.8, nose_solid_to=at / 10), 0.5)
    assert len(solves) == 3


def _filled(folder: Path, count: int) -> Store:
    with using(Store(folder, disk=10**9)) as kept:
        for i in range(count):  # each of another shape: a size alone is scaled from one that is kept
            section_at(mast("solid", trailing_edge_radius=0.0004 + 0.0001 * i), 0.0)
    assert len(files(folder)) == count
    for age, file in enumerate(sorted(files(folder))):
        os.utime(file, (time.time() - 1000 - age, time.time() - 1000 - age))
    return kept


def test_files_stay_under_their_limit(tmp_path: Path) -> None:
    _filled(tmp_path, 6)
    by_use = sorted(files(tmp_path), key=lambda p: p.stat().st_mtime)
    size = by_use[0].stat().st_size
    leftover = by_use[0].parent / "killed.part"
    leftover.write_bytes(b"half")
    os.utime(leftover, (1.0, 1.0))
    fresh = by_use[0].parent / "fresh.part"
    fresh.write_bytes(b"being written")
    Store(tmp_path, disk=int(4.5 * size)).prune()
    left = files(tmp_path)
    assert sum(p.stat().st_size for p in left) <= 4.5 * size
    assert set(left) == {*by_use[-3:], fresh}


def test_writing_prunes(tmp_path: Path) -> None:
    _filled(tmp_path, 4)
    size = files(tmp_path)[0].stat().st_size
    with using(Store(tmp_path, disk=int(2.5 * size))):
        section_at(mast("solid", ratio=0.99), 0.0)
    assert sum(p.stat().st_size for p in files(tmp_path)) <= 2.5 * size


def test_use_is_noted_once_a_day(tmp_path: Path) -> None:
    with using(Store(tmp_path)):
        section_at(mast("solid"), 0.5)
    (file,) = files(tmp_path)
    for age, noted in ((3 * 86400, True), (3600, False)):
        then = time.time() - age
        os.utime(file, (then, then))
        with using(Store(tmp_path)):
            section_at(mast("solid"), 0.5)
        assert (file.stat().st_mtime > then + 60) is noted


def test_a_hit_is_cheap(tmp_path: Path) -> None:
    """From a file, all included: measured 1 to 2 ms; the bound leaves room for a busy machine."""
    made = mast("shell-and-core")
    with using(Store(tmp_path)):
        section_at(made, 0.5)
    took = []
    for _ in range(20):
        with using(Store(tmp_path)):
            start = time.perf_counter()
            section_at(made, 0.5)
            took.append(time.perf_counter() - start)
    assert min(took) < 5e-3


# --- keys ---


def test_other_code_is_another_key(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, solves: list[str]
) -> None:
    with using(Store(tmp_path)):
        section_at(mast("solid"), 0.5)
        monkeypatch.setattr(likeness, "code_version", lambda: "another")
        section_at(mast("solid"), 0.5)
    assert len(solves) == 2


def test_ruled_surfaces_count_by_their_content(tmp_path: Path, solves: list[str]) -> None:
    def made(nose: float) -> Mast:
        plain = mast("solid")
        base, tip = plain.stations
        return replace(plain, stations=(base, replace(tip, outline=ModifiedNaca(nose_index=nose))))

    with using(Store(tmp_path)):
        first = numbers(section_at(made(6.0), 0.5))
        assert numbers(section_at(made(6.0), 0.5)) == first
        assert len(solves) == 1
        assert numbers(section_at(made(4.0), 0.5)) != first


# --- where ------------------------------------------------------------------------------------------


def test_the_folder_is_the_platforms(monkeypatch: pytest.MonkeyPatch) -> None:
    for platform, environ, want in (
        ("linux", {"HOME": "/home/a"}, "/home/a/.cache/mastcheck/sections"),
        ("linux", {"HOME": "/home/a", "XDG_CACHE_HOME": "/c"}, "/c/mastcheck/sections"),
        ("linux", {"HOME": "/home/a", "XDG_CACHE_HOME": "c"}, "/home/a/.cache/mastcheck/sections"),
        ("darwin", {"HOME": "/Users/a"}, "/Users/a/Library/Caches/mastcheck/sections"),
        ("win32", {"USERPROFILE": "/a", "LOCALAPPDATA": "/a/L"}, "/a/L/mastcheck/sections"),
        ("linux", {}, None),
    ):
        monkeypatch.setattr(store.sys, "platform", platform)
        assert store.platform_folder(environ) == (want and Path(want))


def test_the_environment_moves_it_or_turns_it_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(store.FOLDER, str(tmp_path))
    assert store.current().folder == tmp_path
    assert store.current() is store.current()
    monkeypatch.setenv(store.SIZE, "12")
    assert store.current()._disk == 12_000_000
    monkeypatch.setenv(store.SIZE, "much")
    assert store.current()._disk == store.DISK
    monkeypatch.setenv(store.FOLDER, "off")
    assert store.current().folder is None


def test_threads_of_a_process_have_the_store_of_the_environment() -> None:
    """What ``using`` sets holds for its own thread; others keep the process's."""
    found = []
    with without():
        thread = threading.Thread(target=lambda: found.append(store.current()))
        thread.start()
        thread.join()
    assert found == [store.default()]


@pytest.mark.parametrize("command", [
    ["check"], ["compare", str(PROFILES / "aluminium-75-uniform-stout.toml")], ["section"],
    ["envelope", "--rider", "60kg:80kg", "--length", "70cm:75cm", "--points", "2"], ["bench", "--plan"],
])  # fmt: skip
def test_no_cache_leaves_no_file(
    command: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv(store.FOLDER, str(tmp_path))
    words = [command[0], str(PROFILES / "aluminium-75-uniform-slim.toml"), *command[1:]]
    plain = main([*words, "--no-cache"])
    said = capsys.readouterr().out
    assert files(tmp_path) == []
    assert main(words) == plain
    assert files(tmp_path) != []
    if command != ["section"]:  # which tells the time it took
        assert capsys.readouterr().out == said


def test_an_entry_knows_its_size() -> None:
    with using(Store(None)) as kept:
        section_at(mast("solid"), 0.5)
    (entry,) = kept._entries.values()
    assert isinstance(entry, Entry)
    assert 50_000 < entry.bytes < 2_000_000

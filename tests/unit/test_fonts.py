"""Fonts come from packages alone: with the East Asian one, and without it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from mastcheck.report import display, fonts


@pytest.fixture(autouse=True)
def anew() -> Iterator[None]:
    """Nothing remembered from before, nor left for others."""
    kept = (fonts.east_asian_file, fonts.font_files, fonts.families)
    for one in kept:
        one.cache_clear()
    yield
    for one in kept:
        one.cache_clear()


def test_a_package_that_is_not_installed_leaves_the_latin_font(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fonts, "find_spec", lambda _: None)
    assert fonts.east_asian_file() is None
    assert fonts.families() == (fonts.LATIN,)
    assert [path.name for path in fonts.font_files()] == ["DejaVuSans.ttf"]
    assert fonts.setter_fonts() is not None


def test_a_package_without_its_file_is_as_none(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """One folder of it is empty, the next holds the font."""
    empty, full = tmp_path / "a", tmp_path / "b"
    empty.mkdir()
    full.mkdir()
    found = SimpleNamespace(submodule_search_locations=[str(empty)])
    monkeypatch.setattr(fonts, "find_spec", lambda _: found)
    assert fonts.east_asian_file() is None
    fonts.east_asian_file.cache_clear()
    (full / "NotoSansCJKjp-Regular.otf").write_bytes(b"")
    found.submodule_search_locations.append(str(full))
    assert fonts.east_asian_file() == full / "NotoSansCJKjp-Regular.otf"


def test_a_font_made_known_twice_stands_once() -> None:
    east = fonts.east_asian_file()
    if east is None:
        pytest.skip("the extra east-asian is not installed")
    from matplotlib.font_manager import fontManager

    assert fonts.families() == (fonts.LATIN, fonts.EAST_ASIAN)
    fonts.families.cache_clear()
    assert fonts.families() == (fonts.LATIN, fonts.EAST_ASIAN)
    own = [f for f in fontManager.ttflist if f.fname == str(east)]
    assert sorted(f.weight for f in own) == [400, 700]


def test_a_sign_that_no_font_has_is_named_by_its_number() -> None:
    assert "[U+12000]" in display.plain("cuneiform 𒀀")

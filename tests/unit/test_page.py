"""The page as a file: one script and one style, named by their hash, data that stay data."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison
from mastcheck.checks.run import check
from mastcheck.cli.main import main
from mastcheck.cli.page import told
from mastcheck.files.mastfile import load
from mastcheck.page import build
from mastcheck.page.build import Assets, PageError, as_json, page
from mastcheck.page.fixed import table
from mastcheck.page.text import plain, quantity, safe

PROFILES = Path(__file__).parents[2] / "profiles"
WIDE = PROFILES / "aluminium-75-wide.toml"


@pytest.fixture(scope="module")
def one() -> Comparison:
    return compare([check(load(WIDE))])


@pytest.fixture(scope="module")
def html(one: Comparison) -> str:
    return page(one, told(one)).decode("utf-8")


def test_same_results_give_same_bytes(one: Comparison, html: str) -> None:
    assert page(one, told(one)).decode("utf-8") == html


def test_hashes_in_the_policy_are_those_of_the_script_and_the_style(html: str) -> None:
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)
    assert policy is not None
    (style,) = re.findall(r"<style>(.*?)</style>", html, re.S)
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.S)
    for text in (style, script):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy[1]
    assert "unsafe" not in policy[1]
    assert " style=" not in html.replace(script, "")
    assert not re.search(r"\son\w+=", html.replace(script, ""))


def test_data_can_be_read_back_and_hold_no_tag(html: str) -> None:
    (data,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', html, re.S)
    assert "<" not in data
    read = _data(html)
    assert [m["letter"] for m in read["masts"]] == ["A"]
    assert read["masts"][0]["length"] == 0.75


def test_json_escapes_every_tag_and_refuses_what_json_cannot_hold() -> None:
    assert json.loads(as_json({"a": "<!--</script>\u2028"})) == {"a": "<!--</script>\u2028"}
    assert as_json({"a": "<\u2028"}).isascii()
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json({"a": float("nan")})


def test_scripts_share_one_scope_without_a_name_twice() -> None:
    script = Assets.read().script
    names = re.findall(r"^(?:async )?(?:function|const|let|class) (\w+)", script, re.M)
    assert len(names) > 50
    assert [name for name, count in Counter(names).items() if count > 1] == []
    assert "innerHTML" not in script
    assert "eval(" not in script.replace("evaluate(", "")
    assert "</script" not in script.lower()
    assert "<!--" not in script


def test_too_large_a_page_is_refused_in_words(one: Comparison, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(build, "SIZE_LIMIT", 200_000)
    with pytest.raises(PageError, match="choose fewer masts"):
        page(one, told(one))


def test_document_id_is_that_of_the_report(one: Comparison, html: str) -> None:
    from mastcheck.report.identity import document_id

    assert document_id(one, "metric") in html


def test_cautions_and_verdicts_stand_in_the_page_as_written(one: Comparison, html: str) -> None:
    for caution in one.masts[0].cautions:
        assert safe(caution) in html
    for found in one.masts[0].checks:
        assert safe(found.name) in html
    assert safe(one.sentence) in html


def test_words_of_a_file_become_text() -> None:
    assert safe("<img src=x onerror=alert(1)>") == "&lt;img src=x onerror=alert(1)&gt;"
    assert plain("a\u202eb\u200dc\ud800") == "a[U+202E]b\u200dc[U+D800]"
    assert "<td>" in table("x", ("a",), [("b", "c")])
    assert quantity(float("inf"), "mm") == "none"
    assert quantity(1e-9, "mm").endswith(">0 mm</span>")


def test_two_of_the_heaviest_shipped_masts_fit(one: Comparison) -> None:
    laminate = check(load(PROFILES / "carbon-75-layup.toml"))
    both = replace(one, masts=(laminate, laminate))
    assert len(page(both, told(both))) < build.SIZE_LIMIT


def test_five_hollow_masts_fit_with_their_pictures(one: Comparison) -> None:
    five = replace(one, masts=one.masts * 5)
    whole = page(five, told(five))
    assert len(whole) < build.SIZE_LIMIT
    pictures = [s["picture"] for m in _data(whole.decode())["masts"] for s in m["strength"]["sections"]]
    assert None not in pictures


def test_command_writes_one_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "new folder" / "page.html"
    assert main(["page", str(WIDE), "--out", str(out)]) == 0
    assert out.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert "not approval" in capsys.readouterr().out
    assert [p.name for p in out.parent.iterdir()] == ["page.html"]


def test_command_draws_a_result_file(tmp_path: Path) -> None:
    """From the record alone: the same page but for fields that it keeps in single precision."""
    record, out, now = tmp_path / "old.json", tmp_path / "page.html", tmp_path / "now.html"
    assert main(["check", str(WIDE), "--json", str(record)]) == 0
    assert main(["page", str(record), "--out", str(out)]) == 0
    assert main(["page", str(WIDE), "--out", str(now)]) == 0
    texts = [path.read_text(encoding="utf-8") for path in (out, now)]
    shells = [re.sub(r'id="data">.*?</script>', "", text, flags=re.S) for text in texts]
    assert shells[0] == shells[1]
    old, new = (_data(text)["masts"][0] for text in texts)
    for key in ("checked", "beam", "cases", "drag", "stations", "tip_outline"):
        assert old[key] == new[key]


def _data(html: str) -> dict[str, Any]:
    """The data block of a page."""
    (text,) = re.findall(r'id="data">(.*?)</script>', html, re.S)
    read: dict[str, Any] = json.loads(text)
    return read


def test_command_does_not_check_a_result_file_anew(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, out = tmp_path / "old.json", tmp_path / "page.html"
    old.write_text("{}", encoding="utf-8")
    assert main(["page", str(old), str(WIDE), "--rider", "90 kg", "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert "stands alone" in said
    assert "needs a new check" in said
    assert not out.exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--out", "page.pdf"], "must end in .html"),
        (["--out", "."], "is a folder"),
        (["--out", "page.html", "--rider", "80"], "--rider"),
        ([], "--out"),
    ],
)
def test_command_refuses_bad_input(
    words: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["page", str(WIDE), *words]) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []

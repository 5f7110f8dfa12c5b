"""``--help`` as a page to read, completion scripts as a shell runs them, and the published schemas."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from mastcheck.cli.main import app, main
from mastcheck.cli.manual import MANUALS, WIDEST
from mastcheck.version import __version__

COMMANDS = {name for name in app if not name.startswith("-")}


def shown(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) == 0
    return capsys.readouterr().out


def test_every_command_has_a_page_and_every_page_a_command() -> None:
    assert set(MANUALS) == COMMANDS


@pytest.mark.parametrize("name", sorted(MANUALS))
def test_a_page_says_what_it_does_with_an_example_and_exit_statuses(
    name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    said = shown(capsys, name, "--help")
    manual = MANUALS[name]
    assert said.startswith(f"Usage: mastcheck {name}")
    assert "ARGS" not in said  # the parser's word for what it cannot name
    for text in (manual.head, manual.foot):
        assert text in said  # as it stands, so no line was folded
    assert all(len(line) <= WIDEST for line in f"{manual.head}\n{manual.foot}".splitlines())
    assert manual.statuses[0][0] == 0


@pytest.mark.parametrize("name", sorted(MANUALS))
def test_the_example_of_a_page_is_taken_by_the_parser(name: str) -> None:
    words = shlex.split(MANUALS[name].example.replace("\\\n", " ").split(" > ")[0])
    if words[0] == "source":  # how a shell takes a script from a command
        words = ["mastcheck", "completion", "bash"]
    assert words[:2] == ["mastcheck", name]
    command, _, _ = app.parse_args(words[1:], print_error=False, exit_on_error=False)
    assert command.__name__ == name


def test_every_option_is_explained(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "400")
    rows = 0
    for name in sorted(MANUALS):
        for row in re.findall(
            r"^│ (?:\*  |   )?(--[a-z][^│]*)│$", shown(capsys, name, "--help"), re.MULTILINE
        ):
            flag, _, words = row.strip().partition("  ")
            rows += 1
            assert len(words.split()) >= 3, f"mastcheck {name} {flag}"
            first = re.sub(r"^[A-Z]+\.*  +", "", words.strip())  # past the kind of value
            assert first[0].isupper(), f"mastcheck {name} {flag}: {first}"
    assert rows > 90


def test_the_first_page_names_every_command_and_the_exit_statuses(
    capsys: pytest.CaptureFixture[str],
) -> None:
    said = shown(capsys, "--help")
    assert all(re.search(rf"^│ {name} ", said, re.MULTILINE) for name in MANUALS)
    assert "Exit status" in said
    assert "not approval" in " ".join(said.split())
    assert shown(capsys, "--version").strip() == __version__


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("mastcheck ch", {"check"}),
        ("mastcheck co", {"compare", "completion"}),
        ("mastcheck check --rep", {"--report"}),
        ("mastcheck check --trim ", {"base", "tip"}),
    ],
)
def test_bash_completes_commands_options_and_choices(
    line: str, found: set[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = tmp_path / "completion.bash"
    script.write_text(shown(capsys, "completion", "bash"), encoding="utf-8")
    words = line.split(" ")
    asked = f"""
    source {shlex.quote(str(script))}
    COMP_WORDS=({" ".join(shlex.quote(w) for w in words)}); COMP_CWORD={len(words) - 1}
    COMP_LINE={shlex.quote(line)}; COMP_POINT={len(line)}
    rule=$(complete -p mastcheck); by=${{rule##*-F }}; "${{by%% *}}"
    printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    ran = subprocess.run(
        ["bash", "--norc", "-c", asked], capture_output=True, text=True, check=True, timeout=60
    )
    assert set(ran.stdout.split()) == found, ran.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_every_shell_s_script_names_every_command(
    shell: str, capsys: pytest.CaptureFixture[str]
) -> None:
    script = shown(capsys, "completion", shell)
    assert all(name in script for name in MANUALS)


@pytest.mark.parametrize(("of", "number"), [("mast", "mast-file:1"), ("result", "result:1")])
def test_a_schema_is_printed_with_its_version(
    of: str, number: str, capsys: pytest.CaptureFixture[str]
) -> None:
    schema = json.loads(shown(capsys, "schema", of))
    assert schema["$id"] == f"urn:mastcheck:{number}"
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"

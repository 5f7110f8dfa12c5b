"""What is said of a command line that the parser could not take apart, in this program's own words."""

from __future__ import annotations

from cyclopts import (
    CoercionError,
    CycloptsError,
    MissingArgumentError,
    UnknownCommandError,
    UnknownOptionError,
    UnusedCliTokensError,
)

from mastcheck.cli.manual import MANUALS
from mastcheck.units import shown


def misread(error: CycloptsError) -> str:
    """One line: what is wrong, where, and how to mend it; the parser's own where that says it.

    Args:
        error: a fault that the parser found.
    """
    command = (error.command_chain or ("",))[0]
    if isinstance(error, MissingArgumentError):
        return _missing(error, command) or str(error)
    if isinstance(error, UnusedCliTokensError) and error.unused_tokens:
        words = " and ".join(shown(word) for word in error.unused_tokens[:3])
        several = len(error.unused_tokens) > 1
        rule = f"{'are' if several else 'is'} more than mastcheck {command} takes"
        remedy = f"put a name with blanks in quotes; such as: {MANUALS[command].example}"
        return f"{words}: {rule}; {_joined(remedy)}" if command in MANUALS else str(error)
    if isinstance(error, CoercionError) and error.target_type is int and error.token is not None:
        flag = error.token.keyword or command
        return f"{flag} = {shown(error.token.value)}: must be a whole number, without a unit"
    if isinstance(error, UnknownCommandError) and error.unused_tokens:
        word = error.unused_tokens[0]
        if word.lower().endswith((".toml", ".json")):
            verb = "check" if word.lower().endswith(".toml") else "redraw"
            return f"{shown(word)}: is a file, and no command; write mastcheck {verb} {shown(word)}"
    said = str(error)
    if isinstance(error, UnknownOptionError) and command and "Did you mean" not in said:
        return f"{said.rstrip('.')}; mastcheck {command} --help lists what it takes"
    return said


def _missing(error: MissingArgumentError, command: str) -> str:
    if error.argument is None or command not in MANUALS:
        return ""
    given = error.keyword or next((t.keyword for t in error.argument.tokens if t.keyword), None)
    if given:
        return f"{given}: has no value; write one after it, or leave it out"
    example = _joined(MANUALS[command].example)
    return f"{error.argument.name}: is needed with mastcheck {command}; such as: {example}"


def _joined(example: str) -> str:
    r"""An example of several lines as one.

    >>> _joined("a \\\n    --b")
    'a --b'
    """
    return " ".join(example.replace("\\\n", " ").split())

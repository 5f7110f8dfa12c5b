"""Every wrong line that could be tried in a module, from the operators of cosmic-ray.

Left out are those that can change nothing or that no test could miss: in annotations and docstrings,
decorators and their arguments, and arithmetic put in place of another that its operands do not have.
cosmic-ray is imported where it is used: the tests themselves do without.
"""

from __future__ import annotations

import ast
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]

_ARITHMETIC = ("Add", "Sub", "Mul", "Div", "Pow")
_SETS = ("BitOr", "BitAnd", "Sub")
_BINARY = {
    *((a, b) for a in _ARITHMETIC for b in _ARITHMETIC),
    *((a, b) for a in _SETS for b in _SETS),
    ("FloorDiv", "Div"), ("FloorDiv", "Mul"), ("Mod", "Mul"), ("Mod", "FloorDiv"),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One change of one module: of cosmic-ray's operator, the occurrence; its first line, from 1."""

    path: str
    operator: str
    occurrence: int
    line: int
    column: int

    def source(self) -> str:
        """The module's text with the change in it."""
        from cosmic_ray.mutating import mutate_code
        from cosmic_ray.plugins import get_operator

        text = (ROOT / self.path).read_text(encoding="utf-8")
        changed = mutate_code(text, get_operator(self.operator)(), self.occurrence)
        if changed is None:
            raise ValueError(f"{self.path}: {self.operator} has no occurrence {self.occurrence}")
        return str(changed)

    def change(self) -> tuple[str, str]:
        """The line before and after, without indentation."""
        before = (ROOT / self.path).read_text(encoding="utf-8").splitlines()
        after = self.source().splitlines()
        for old, new in zip(before, after, strict=False):
            if old != new:
                return old.strip(), new.strip()
        return before[self.line - 1].strip(), "(line removed)"


def mutants(path: str) -> list[Mutant]:
    """All mutants of a module, in the order of the operators and of the text."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator, operator_names

    text = (ROOT / path).read_text(encoding="utf-8")
    tree, idle = get_ast(text), _idle(text)
    nodes = list(ast_nodes(tree))
    found: list[Mutant] = []
    for name in operator_names():
        kind = get_operator(name)
        if kind.arguments() or not _wanted(name.split("/")[1]):
            continue
        operator = kind()
        starts = (start for node in nodes for start, _ in operator.mutation_positions(node))
        found += [
            Mutant(path=path, operator=name, occurrence=i, line=line, column=column)
            for i, (line, column) in enumerate(starts)
            if not any(first <= (line, column) < last for first, last in idle)
        ]
    return found


def sample(path: str, size: int, seed: int) -> list[Mutant]:
    """So many of a module's mutants, the same for the same seed and text."""
    every = mutants(path)
    chosen = random.Random(f"{seed} {path}").sample(every, min(size, len(every)))
    return sorted(chosen, key=lambda m: (m.line, m.column, m.operator, m.occurrence))


def _wanted(operator: str) -> bool:
    """Whether a change of this kind may go unnoticed by the interpreter itself."""
    if operator.startswith("ReplaceBinaryOperator_"):
        return tuple(operator.split("_")[1:]) in _BINARY
    return operator not in ("RemoveDecorator", "ExceptionReplacer")


def _idle(text: str) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Spans of annotations and decorators: what they say is the type checker's to judge."""
    spans: list[tuple[tuple[int, int], tuple[int, int]]] = []
    for node in _idle_nodes(ast.parse(text)):
        last = node.end_lineno or node.lineno, node.end_col_offset or 0
        spans.append(((node.lineno, node.col_offset), last))
    return spans


def _idle_nodes(tree: ast.AST) -> Iterator[ast.expr]:
    for node in ast.walk(tree):
        match node:
            case ast.AnnAssign():
                yield node.annotation
            case ast.arg(annotation=ast.expr() as told):
                yield told
            case ast.FunctionDef(returns=told):
                yield from node.decorator_list
                yield from [] if told is None else [told]
            case ast.ClassDef():
                yield from node.decorator_list

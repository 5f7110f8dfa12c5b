"""Typed plain data: a tree of frozen dataclasses to what JSON can hold, and back, losing nothing.

Driven by the type hints of one root class, so that the set of classes is closed: a file names a class
only to choose among those that its place allows, and nothing is imported or run by a name in it.
Whole numbers and booleans are never taken for one another, keys that no field has are refused, and
fields that an older file does not know take their default. What is shared by identity stays so: a
material of two regions is written once, and is one object when read.

Wire forms: a dataclass is an object of its fields, with its class in ``is`` where the place allows more
than one; a shared one is ``{"ref": n}``, the n-th of a list in which each refers to earlier ones only.
An array is a number too: its place in a list of arrays (``codec_arrays``). Numbers that JSON cannot
hold are "inf", "-inf" and "nan". A mapping is a list of pairs, so that its order is kept.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from enum import Enum
from typing import Any

import numpy as np
from shapely import Polygon

from mastcheck.report.codec_arrays import Budget, MismatchError
from mastcheck.report.codec_forms import PLAIN, Form, array, as_list, chosen, each, many, pairs, shown
from mastcheck.report.codec_state import Reader, Writer

_FLOAT = np.dtype(np.float64)


class Codec:
    """Writes and reads values of a root dataclass and of all that its type hints reach.

    Args:
        root: the class of the whole.
        narrow: (class, field) of arrays that are written in single precision.
        names: names for classes whose own name another class has too.
    """

    def __init__(
        self,
        root: type,
        *,
        narrow: frozenset[tuple[type, str]] = frozenset(),
        names: Mapping[type, str] = types.MappingProxyType({}),
    ) -> None:
        self._narrow = narrow
        self._names = names
        self._forms: dict[Any, Form] = {}
        self.classes: dict[str, type] = {}
        """Every class that a record can hold, by its name in the file."""
        self._root = self._form(root)
        self._form(Polygon)

    def write(self, value: Any) -> dict[str, Any]:
        """The value as plain data: ``root``, ``objects`` and ``arrays``.

        Raises: TypeError where a field holds what its hint does not allow: a fault of this program.
        """
        writer = Writer(_places(value))
        root = self._root.write(value, writer)
        return {"root": root, "objects": writer.objects, "arrays": writer.arrays.written}

    def read(self, data: Any, budget: Budget) -> Any:
        """The value again.

        Raises: MismatchError at the first thing that is not as it was written.
        """
        record = _keys(data, "record", ("root", "objects", "arrays"))
        reader = Reader(budget, record["arrays"])
        for i, raw in enumerate(as_list(record["objects"], "objects")):
            reader.objects.append(self._shared(raw, f"objects[{i}]", reader))
        value = self._root.read(record["root"], "", reader)
        reader.enter("")
        return value

    def _shared(self, raw: Any, at: str, reader: Reader) -> tuple[Any, int, int]:
        name = raw.get("is") if isinstance(raw, dict) else None
        if not isinstance(name, str) or name not in self.classes:
            raise MismatchError(f"{at}.is", shown(name), "names no class that a record holds")
        reader.nodes = reader.deepest = 0
        form = self._form(self.classes[name])
        value = form.read({k: v for k, v in raw.items() if k != "is"}, at, reader)
        found = value, reader.nodes, reader.deepest
        reader.nodes = reader.deepest = 0
        return found

    def _form(self, hint: Any) -> Form:
        """The form of a type hint, made once."""
        known = self._forms.get(hint)
        if known is None:
            known = self._make(hint)
            self._forms[hint] = known
        return known

    def _make(self, hint: Any) -> Form:
        origin, inside = typing.get_origin(hint), typing.get_args(hint)
        if hint in PLAIN:
            return PLAIN[hint]
        if origin in (types.UnionType, typing.Union):
            return self._union([self._form(h) for h in inside])
        if origin is tuple:
            whole = len(inside) == 2 and inside[1] is Ellipsis
            return many(self._form(inside[0])) if whole else each([self._form(h) for h in inside])
        if origin is dict and inside[0] is str:
            return pairs(each([PLAIN[str], self._form(inside[1])]))
        if origin is typing.Literal:
            return chosen({v: v for v in inside}, "one of the words")
        if origin is np.ndarray:
            return array(np.dtype(typing.get_args(inside[1])[0]), narrow=False)
        if isinstance(hint, type) and issubclass(hint, Enum):
            return chosen({m.value: m for m in hint}, hint.__name__)
        if hint is Polygon:
            return self._dataclass(Polygon, {"rings": many(array(_FLOAT, narrow=False))})
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            return self._dataclass(hint, {})
        raise TypeError(f"a record cannot hold {hint!r}")

    def _dataclass(self, cls: type, forms: dict[str, Form]) -> Form:
        name = self._names.get(cls, cls.__name__)
        if self.classes.setdefault(name, cls) is not cls:
            raise TypeError(f"two classes of a record are called {name}")

        def write(value: Any, writer: Writer) -> Any:
            if type(value) is not cls:
                raise TypeError(f"{type(value).__name__} stands where a record has {name}")
            return writer.object(value, name, lambda: _body(cls, forms, value, writer))

        def read(raw: Any, at: str, reader: Reader) -> Any:
            if isinstance(raw, dict) and raw.keys() == {"ref"}:
                return _referred(raw["ref"], cls, at, reader)
            return _built(cls, name, forms, raw, at, reader)

        form = Form(lambda v: type(v) is cls, lambda raw: isinstance(raw, dict), write, read, name, cls)
        self._forms[cls] = form  # before its fields, since a class may hold itself
        if cls is not Polygon:
            hints = typing.get_type_hints(cls)
            for field in dataclasses.fields(cls):
                forms[field.name] = self._field(cls, field.name, hints[field.name])
        return form

    def _field(self, cls: type, name: str, hint: Any) -> Form:
        if (cls, name) in self._narrow:
            return array(_FLOAT, narrow=True)
        return self._form(hint)

    def _union(self, forms: list[Form]) -> Form:
        """One of several; dataclasses, where there are more than one, by the class in ``is``."""
        classes = {f.name: f for f in forms if f.cls is not None}
        plain = [f for f in forms if f.cls is None]

        def write(value: Any, writer: Writer) -> Any:
            form = next((f for f in forms if f.takes(value)), None)
            if form is None:
                raise TypeError(f"{type(value).__name__} stands where a record has none")
            made = form.write(value, writer)
            tagged = len(classes) > 1 and form.cls is not None and "ref" not in made
            return {"is": form.name, **made} if tagged else made

        def read(raw: Any, at: str, reader: Reader) -> Any:
            if not isinstance(raw, dict) or not classes:
                form = next((f for f in plain if f.fits(raw)), None)
                if form is None:
                    raise MismatchError(at, shown(raw), f"must be {' or '.join(f.name for f in forms)}")
                return form.read(raw, at, reader)
            if len(classes) == 1:
                return next(iter(classes.values())).read(raw, at, reader)
            if raw.keys() == {"ref"}:
                return _referred(raw["ref"], tuple(f.cls for f in classes.values()), at, reader)
            name = raw.get("is")
            if not isinstance(name, str) or name not in classes:
                raise MismatchError(f"{at}.is", shown(name), f"must be one of {', '.join(classes)}")
            return classes[name].read({k: v for k, v in raw.items() if k != "is"}, at, reader)

        return Form(
            lambda v: any(f.takes(v) for f in forms),
            lambda raw: any(f.fits(raw) for f in forms),
            write,
            read,
            " or ".join(f.name for f in forms),
        )


def _places(value: Any) -> dict[int, int]:
    """How often each object, by its id, is met; what hangs below one is walked once."""
    seen: dict[int, int] = {}

    def walk(item: Any) -> None:
        if isinstance(item, tuple | list):
            for part in item:
                walk(part)
        elif isinstance(item, dict):
            for part in item.values():
                walk(part)
        elif isinstance(item, Polygon):
            seen[id(item)] = seen.get(id(item), 0) + 1
        elif dataclasses.is_dataclass(item):
            seen[id(item)] = seen.get(id(item), 0) + 1
            if seen[id(item)] == 1:
                for field in dataclasses.fields(item):
                    walk(getattr(item, field.name))

    walk(value)
    return seen


def _body(cls: type, forms: Mapping[str, Form], value: Any, writer: Writer) -> dict[str, Any]:
    if cls is Polygon:
        rings = [value.exterior, *value.interiors]
        return {"rings": [writer.arrays.write(np.asarray(r.coords)[:, :2], _FLOAT) for r in rings]}
    return {name: form.write(getattr(value, name), writer) for name, form in forms.items()}


def _built(cls: type, name: str, forms: Mapping[str, Form], raw: Any, at: str, reader: Reader) -> Any:
    """An object from its fields; those an older file lacks take their default."""
    if not isinstance(raw, dict):
        raise MismatchError(at, shown(raw), f"must be an object ({name})")
    unknown = [k for k in raw if k not in forms]
    if unknown:
        raise MismatchError(_join(at, unknown[0]), "", f"is no field of {name}")
    reader.enter(at)
    values = {k: form.read(raw[k], _join(at, k), reader) for k, form in forms.items() if k in raw}
    reader.leave()
    if cls is Polygon:
        return _polygon(values.get("rings", ()), at)
    for field in dataclasses.fields(cls):
        lacks = field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
        if lacks and field.name not in values:
            raise MismatchError(_join(at, field.name), "", "is missing")
    try:
        return cls(**values)
    except (TypeError, ValueError) as error:
        raise MismatchError(at, "", f"cannot be a {name} ({error})") from error


def _polygon(rings: Any, at: str) -> Polygon:
    for i, ring in enumerate(rings):
        fine = ring.ndim == 2 and ring.shape[1] == 2 and len(ring) >= 4 and np.isfinite(ring).all()
        if not fine or (ring[0] != ring[-1]).any():
            raise MismatchError(f"{at}.rings[{i}]", "", "is no closed ring of points")
    if not rings:
        raise MismatchError(f"{at}.rings", "", "is missing")
    return Polygon(rings[0], rings[1:])


def _referred(raw: Any, cls: Any, at: str, reader: Reader) -> Any:
    if type(raw) is not int or not 0 <= raw < len(reader.objects):
        raise MismatchError(f"{at}.ref", shown(raw), "names no object that stands before this one")
    value, nodes, below = reader.objects[raw]
    if not isinstance(value, cls):
        raise MismatchError(
            f"{at}.ref", shown(raw), f"is a {type(value).__name__}, which cannot stand here"
        )
    reader.enter(at, below, nodes)
    reader.leave()
    return value


def _join(at: str, key: str) -> str:
    return f"{at}.{key[:60]}" if at else key[:60]


def _keys(raw: Any, at: str, keys: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(raw, dict) or raw.keys() != set(keys):
        raise MismatchError(at, "", f"must hold {', '.join(keys)}, and nothing else")
    return raw

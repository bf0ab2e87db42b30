"""From JSON to dataclasses and back."""

from __future__ import annotations

import dataclasses
import functools
import json
import types
import typing
from collections.abc import Callable
from typing import Any, Literal, TypeVar, Union

from .._native import DogdaysError

R = TypeVar("R", bound="Result")

#: What is said of a run by the best estimate.
Verdict = Literal["holds", "tight", "softens", "cannot run"]

#: Keys that are no names in Python, or hide one.
_RENAMED = {"from_": "from", "is_": "is"}


def left_out() -> Any:
    """A field that is not in the JSON at all where there is nothing to say."""
    return dataclasses.field(default=None, metadata={"left_out": True})


class Result:
    """A result: a frozen dataclass with units at the end of its names."""

    @classmethod
    def from_dict(cls: type[R], found: dict[str, Any]) -> R:
        """The result of a dictionary such as the program's `--json` prints.

        Raises `DogdaysError` for keys that this version does not know or that are missing.
        """
        made: R = _read(cls, found, cls.__name__)
        return made

    def to_dict(self) -> dict[str, Any]:
        """The dictionary that the program's `--json` prints for the same run."""
        out: dict[str, Any] = {}
        for field in dataclasses.fields(self):  # type: ignore[arg-type]
            value = getattr(self, field.name)
            if value is None and field.metadata.get("left_out"):
                continue
            out[_RENAMED.get(field.name, field.name)] = _written(value)
        return out

    def __repr__(self) -> str:
        """Short: what is long is told by its length."""
        shown = []
        for field in dataclasses.fields(self):  # type: ignore[arg-type]
            value = getattr(self, field.name)
            if value is None and field.metadata.get("left_out"):
                continue
            shown.append(f"{field.name}={_short(value)}")
        return f"{type(self).__name__}({', '.join(shown)})"

    def to_json(self, indent: int | None = None) -> str:
        """`to_dict()` as JSON text."""
        return json.dumps(self.to_dict(), indent=indent, ensure_ascii=False, allow_nan=False)


class _Plan:
    """How a dataclass is read: its keys, which may be missing, and what has to be made of some."""

    def __init__(self, cls: type) -> None:
        hints = typing.get_type_hints(cls)
        self.names: dict[str, str] = {}
        self.needed: list[str] = []
        self.readers: dict[str, _Reader] = {}
        for field in dataclasses.fields(cls):
            key = _RENAMED.get(field.name, field.name)
            self.names[key] = field.name
            if not field.metadata.get("left_out"):
                self.needed.append(key)
            reader = _reader(hints[field.name])
            if reader is not None:
                self.readers[key] = reader


@functools.cache
def _plan(cls: type) -> _Plan:
    return _Plan(cls)


def _read(cls: type, found: Any, path: str) -> Any:
    if not isinstance(found, dict):
        raise DogdaysError(f"{path}: a dictionary is needed, and this is {type(found).__name__}")
    plan = _plan(cls)
    for key in plan.needed:
        if key not in found:
            raise DogdaysError(f"{path}: there is no `{key}`")
    values: dict[str, Any] = {}
    for key, value in found.items():
        name = plan.names.get(key)
        if name is None:
            raise DogdaysError(f"{path}: this version of the package knows no `{key}`")
        reader = plan.readers.get(key)
        values[name] = value if reader is None or value is None else reader(value, f"{path}.{key}")
    return cls(**values)


#: Makes something of a value that stands at a path.
_Reader = Callable[[Any, str], Any]


def _reader(hint: Any) -> _Reader | None:
    """What has to be made of a value that is not null; none where it stays as it is."""
    origin = typing.get_origin(hint)
    if origin in (Union, types.UnionType):
        (of,) = (part for part in typing.get_args(hint) if part is not type(None))
        return _reader(of)
    if origin is list:
        (of,) = typing.get_args(hint)
        each = _reader(of)
        if each is None:
            return None
        return lambda found, path: [each(item, path) for item in found]
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return lambda found, path: _read(hint, found, path)
    return None


def _short(value: Any) -> str:
    if isinstance(value, Result):
        return f"{type(value).__name__}(...)"
    if isinstance(value, (list, dict)):
        return f"<{len(value)} items>" if value else repr(value)
    return repr(value)


def _written(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_dict()
    if isinstance(value, list):
        return [_written(item) for item in value]
    return value

"""From JSON to dataclasses and back."""

from __future__ import annotations

import dataclasses
import functools
import json
import types
import typing
from typing import Any, TypeVar, Union

from .._native import DogdaysError

R = TypeVar("R", bound="Result")

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

    def to_json(self, indent: int | None = None) -> str:
        """`to_dict()` as JSON text."""
        return json.dumps(self.to_dict(), indent=indent, ensure_ascii=False, allow_nan=False)


@functools.cache
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def _read(cls: type, found: Any, path: str) -> Any:
    if not isinstance(found, dict):
        raise DogdaysError(f"{path}: a dictionary is needed, and this is {type(found).__name__}")
    values: dict[str, Any] = {}
    known = set()
    for field in dataclasses.fields(cls):
        key = _RENAMED.get(field.name, field.name)
        known.add(key)
        if key in found:
            values[field.name] = _value(_hints(cls)[field.name], found[key], f"{path}.{key}")
        elif not field.metadata.get("left_out"):
            raise DogdaysError(f"{path}: there is no `{key}`")
    for key in found:
        if key not in known:
            raise DogdaysError(f"{path}: this version of the package knows no `{key}`")
    return cls(**values)


def _value(hint: Any, found: Any, path: str) -> Any:
    if found is None:
        return None
    origin = typing.get_origin(hint)
    if origin in (Union, types.UnionType):
        (hint,) = (part for part in typing.get_args(hint) if part is not type(None))
        return _value(hint, found, path)
    if origin is list:
        (of,) = typing.get_args(hint)
        return [_value(of, item, f"{path}[{k}]") for k, item in enumerate(found)]
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return _read(hint, found, path)
    return found


def _written(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_dict()
    if isinstance(value, list):
        return [_written(item) for item in value]
    return value

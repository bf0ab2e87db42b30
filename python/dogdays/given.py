"""What users give, made into what the native part takes; what can't be is told with its name."""

from __future__ import annotations

import datetime as dt
import json
import operator
import os
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from . import _native
from ._native import DogdaysError

#: A file or folder.
Path = str | os.PathLike[str]

_MOST_U32 = 2**32 - 1
_DEEPEST = 32


def moment(name: str, at: dt.datetime | str) -> str:
    """A local date and time as text."""
    if isinstance(at, str):
        return at
    if not isinstance(at, dt.datetime) or _is_missing(at):
        raise DogdaysError(f'{name}: {at!r} is no moment; give a datetime, or text such as "2026-07-13 18:00"')
    if at.tzinfo is not None:
        raise DogdaysError(
            f"{name}: {at.isoformat()} has a time zone, and moments are the shop's local time; take it out with "
            ".replace(tzinfo=None)"
        )
    return at.strftime("%Y-%m-%d %H:%M:%S")


def seconds(name: str, time: str | dt.timedelta) -> float:
    """A length of time with its unit, s."""
    if isinstance(time, dt.timedelta) and not _is_missing(time):
        time = _seconds(time)
    if not isinstance(time, str):
        raise DogdaysError(f'{name}: {time!r} has no unit; give a timedelta, or text such as "10 min"')
    return _native.time_s(name, time)


def _seconds(time: dt.timedelta) -> str:
    return f"{time.total_seconds():.15g} s"


def whole(name: str, number: Any, least: int = 0, most: int = _MOST_U32) -> int:
    """A whole number in its range."""
    try:
        found = operator.index(number)
    except TypeError:
        raise DogdaysError(f"{name}: {number!r} is no whole number") from None
    if not least <= found <= most:
        raise DogdaysError(f"{name}: {found} is out of range; give {least} to {most}")
    return found


def samples(number: Any) -> int | None:
    """How many samples; none leaves out how sure it is. The range is the native part's to tell."""
    return None if number is None else whole("samples", number)


def texts(name: str, given: Any) -> list[str]:
    """Texts or paths; a single one counts as one."""
    each = [given] if isinstance(given, (str, os.PathLike)) else _list(name, given)
    for item in each:
        if not isinstance(item, (str, os.PathLike)):
            raise DogdaysError(f"{name}: {item!r} is no text; give one, or a list of them")
    return [_encodable(name, str(os.fspath(item))) for item in each]


def paths(name: str, given: Path | Iterable[Path]) -> list[Path]:
    """Files or folders; a single one counts as one."""
    return list(texts(name, given))


def _list(name: str, given: Any) -> list[Any]:
    if isinstance(given, (bytes, Mapping)) or hasattr(given, "columns") or not isinstance(given, Iterable):
        raise DogdaysError(f"{name}: {type(given).__name__} can't be taken; give the path of a file, or a list")
    return list(given)


def text(name: str, given: Any) -> str:
    """A text that can be handed on."""
    if not isinstance(given, str):
        raise DogdaysError(f"{name}: {type(given).__name__} is no text")
    return _encodable(name, given)


def _encodable(name: str, given: str) -> str:
    try:
        given.encode()
    except UnicodeEncodeError as e:
        raise DogdaysError(f"{name}: {e}") from None
    return given


def mapping(name: str, given: Any) -> Mapping[Any, Any]:
    """A dictionary."""
    if not isinstance(given, Mapping):
        raise DogdaysError(f"{name}: {type(given).__name__} can't be taken; give a dictionary of keys and values")
    return given


def toml(value: Any, key: str, depth: int = 0) -> str:
    """A value of a run file as TOML on one line; `key` is its name in messages."""
    if depth > _DEEPEST:
        raise DogdaysError(f"{key}: this is too deep for a run file; does it hold itself?")
    if isinstance(value, os.PathLike):
        value = os.fspath(value)
    elif isinstance(value, (np.datetime64, np.timedelta64)) and not np.isnat(value):
        # In nanoseconds they would come as numbers.
        value = value.astype(type(value)(0, "us").dtype).item()
    elif hasattr(value, "item") and getattr(value, "ndim", None) == 0:
        # A scalar of NumPy.
        value = value.item()
    if value is None or _is_missing(value):
        raise DogdaysError(f"{key}: {value} is no value; leave the key out, or give None to take it out of a run")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        if not -(2**63) <= value < 2**63:
            raise DogdaysError(f"{key}: {value} is too large")
        return str(value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str):
        # JSON's escapes are TOML's, but for one letter.
        return json.dumps(_encodable(key, value), ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dt.datetime):
        return json.dumps(moment(key, value))
    if isinstance(value, dt.timedelta):
        return json.dumps(_seconds(value))
    if isinstance(value, Mapping):
        each = (f"{name(part, key)} = {toml(item, f'{key}.{part}', depth + 1)}" for part, item in value.items() if item is not None)
        return "{ " + ", ".join(each) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml(item, f"{key}.{k}", depth + 1) for k, item in enumerate(value, start=1)) + "]"
    raise DogdaysError(f"{key}: {type(value).__name__} has no place in a run file; give text, numbers, lists and dictionaries")


def name(part: Any, key: str) -> str:
    """One name of a dictionary, as TOML."""
    if not isinstance(part, str):
        raise DogdaysError(f"{key}: {part!r} is no key; keys are texts")
    plain = part.replace("-", "").replace("_", "")
    return part if plain.isascii() and plain.isalnum() else json.dumps(_encodable(key, part), ensure_ascii=False)


def run_file(run: Mapping[Any, Any]) -> str:
    """The text of a run file: tables with their keys, each on a line."""
    lines = []
    for key, value in mapping("the run", run).items():
        if isinstance(value, Mapping):
            lines += ["", f"[{name(key, 'the run')}]"]
            lines += [f"{name(part, key)} = {toml(item, f'{key}.{part}')}" for part, item in value.items() if item is not None]
        elif value is not None:
            # Before any table, or it would belong to that.
            lines.insert(0, f"{name(key, 'the run')} = {toml(value, str(key))}")
    return "\n".join(lines) + "\n"


def _is_missing(value: Any) -> bool:
    """NaN, NaT, and what pandas takes for nothing."""
    if type(value).__name__ in ("NAType", "NaTType"):
        return True
    return isinstance(value, float) and value != value

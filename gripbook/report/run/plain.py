"""Frozen dataclasses and named tuples as plain JSON values and back, by their annotations."""

from __future__ import annotations

import math
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import pandas as pd

T = TypeVar("T")


def to_plain(value: Any) -> Any:
    """
    Give a value as JSON has it.

    Numbers that JSON doesn't know (NaN, infinity) become words, days their ISO text.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, pd.Timestamp):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: to_plain(x) for name, x in value._asdict().items()}
    if isinstance(value, tuple | list):
        return [to_plain(x) for x in value]
    return value


def from_plain(kind: type[T], value: Any) -> T:
    """
    Give back what `to_plain` took apart.

    Raises
    ------
    TypeError, ValueError, KeyError : the value is none of `kind`.
    """
    back: T = _back(kind, value)
    return back


def _back(kind: Any, value: Any) -> Any:
    made: Any = kind
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        if value is None and type(None) in args:
            return None
        (kind,) = (a for a in args if a is not type(None))
        return _back(kind, value)
    if origin is tuple:
        if not isinstance(value, list | tuple):
            raise TypeError(f"{kind} is made of a list, not of {value!r}")
        return tuple(_back(args[0], x) for x in value)
    if is_dataclass(kind) or hasattr(kind, "_fields"):
        if not isinstance(value, Mapping):
            raise TypeError(f"{kind} is made of a mapping, not of {value!r}")
        return made(**{name: _back(_hints(made)[name], x) for name, x in value.items()})
    if kind in (str, bool, int) and not isinstance(value, kind):
        raise TypeError(f"{value!r} is no {kind.__name__}")
    if kind is float:
        return float(value)
    if kind is pd.Timestamp:
        return pd.Timestamp(value)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    return value


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)

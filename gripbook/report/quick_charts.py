"""
Altair without its checks, for pages whose charts the tests have checked.

Two thirds of a chart's time go into holding each of its parts against Vega-Lite's schema and into
copying what nobody changes. The specification that comes out is the same; tests hold it to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Set
from typing import Any, ClassVar

import altair as alt
from altair.utils import schemapi

_ALTAIRS: dict[str, Any] = {
    name: getattr(schemapi, name) for name in ("DEBUG_MODE", "_deep_copy", "_todict", "_FromDict")
}
_todict: Callable[..., Any] = schemapi._todict
_UNSET = alt.Undefined
_PLAIN = frozenset({str, int, float, bool, type(None)})


def switch(on: bool) -> None:
    """Leave Altair's checks out, or let it be as it comes; for this whole process."""
    ours = {
        "DEBUG_MODE": False,
        "_deep_copy": _copy,
        "_todict": _plain_or_todict,
        "_FromDict": _KeptTable,
    }
    for name, value in (ours if on else _ALTAIRS).items():
        setattr(schemapi, name, value)


def specification(chart: Any) -> dict[str, Any]:
    """What a chart's display would give, unchecked."""
    found: dict[str, Any] = chart.to_dict(validate=False, context={"pre_transform": False})
    return found


def _plain_or_todict(value: Any, *more: Any, **named: Any) -> Any:
    """Most values are plain; Altair asks each of them first whether it's six other things."""
    return value if type(value) in _PLAIN else _todict(value, *more, **named)


class _KeptTable(schemapi._FromDict):  # type: ignore[misc]
    """Altair makes the table of its classes anew for each channel given as a condition."""

    _kept: ClassVar[dict[tuple[type, ...], Any]] = {}

    class_dict: Any

    def __init__(self, classes: Iterable[type], /) -> None:
        key = tuple(classes)
        if key not in self._kept:
            super().__init__(key)
            self._kept[key] = self.class_dict
        self.class_dict = self._kept[key]


def _copy(value: Any, by_ref: Set[str]) -> Any:
    """What Altair's own copy gives, without a look into what is not set or into rows of data."""
    if isinstance(value, schemapi.SchemaBase):
        if isinstance(value, alt.Data):
            return value
        made = object.__new__(type(value))
        # it has a __setattr__ of its own
        object.__setattr__(made, "_args", tuple(_copy(v, by_ref) for v in value._args))
        object.__setattr__(made, "_kwds", _copy_items(value._kwds, by_ref))
        return made
    if isinstance(value, list):
        return [_copy(v, by_ref) for v in value]
    if isinstance(value, dict):
        return _copy_items(value, by_ref)
    return value


def _copy_items(items: dict[str, Any], by_ref: Set[str]) -> dict[str, Any]:
    copied = items.copy()
    for key, value in items.items():
        # of a part's channels and options most are not set
        if value is not _UNSET and type(value) not in _PLAIN and key not in by_ref:
            copied[key] = _copy(value, by_ref)
    return copied

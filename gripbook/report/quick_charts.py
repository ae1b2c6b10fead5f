"""
Altair without its checks, for the exploring notebook that `gripbook explore` prepares.

Its charts are ours and tested, and somebody waits. Only a process that is ours alone is changed.

Two thirds of a chart's time go into holding each of its parts against Vega-Lite's schema and into
copying what nobody changes. The specification that comes out is the same; tests hold it to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Set
from typing import Any, ClassVar

import altair as alt
from altair.utils import schemapi
from altair.vegalite.v6.schema import channels

_ALTAIRS: dict[str, Any] = {
    name: getattr(schemapi, name) for name in ("DEBUG_MODE", "_deep_copy", "_todict", "_FromDict")
}
_CHECKS: dict[str, Any] = {
    name: vars(schemapi.SchemaBase)[name] for name in ("validate", "validate_property")
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
    for name, value in _CHECKS.items():
        setattr(schemapi.SchemaBase, name, _unchecked if on else value)


def specification(chart: Any) -> dict[str, Any]:
    """What a chart's display would give, unchecked."""
    found: dict[str, Any] = chart.to_dict(validate=False, context={"pre_transform": False})
    return found


def _unchecked(*_: Any, **__: Any) -> None:
    """In place of a check: what has parameters is checked each time it's put into a layer."""


def _plain_or_todict(value: Any, *more: Any, **named: Any) -> Any:
    """Most values are plain; Altair asks each of them first whether it's six other things."""
    return value if type(value) in _PLAIN else _todict(value, *more, **named)


class _KeptTable(schemapi._FromDict):  # type: ignore[misc]
    """Altair makes the table of its classes anew for each channel given as a condition."""

    _kept: ClassVar[dict[tuple[type, ...], Any]] = {}
    _found: ClassVar[dict[tuple[type, str], Any]] = {}

    def __init__(self, classes: Iterable[type], /) -> None:
        self._classes = classes

    @property
    def class_dict(self) -> Any:
        """Made only where it is asked for."""
        self._classes = key = tuple(self._classes)
        if key not in self._kept:
            self._kept[key] = _ALTAIRS["_FromDict"](key).class_dict
        return self._kept[key]

    def from_dict(self, dct: Any, tp: Any = None, *more: Any, **named: Any) -> Any:
        """
        A channel given as a condition, made once and kept.

        Altair tries class after class on each of its parts, to find the same ones for the same
        condition. They are kept, as its name of the view hangs on them.
        """
        if tp is None or not issubclass(tp, channels.ValueChannelMixin):
            return super().from_dict(dct, tp, *more, **named)
        key = tp, repr(dct)
        if key not in self._found:
            if len(self._found) > 99:  # a condition of many values may be new each time
                self._found.clear()
            self._found[key] = super().from_dict(dct, tp, *more, **named)
        return _copy(self._found[key], frozenset())


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
        return [v if type(v) in _PLAIN else _copy(v, by_ref) for v in value]
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

"""The rows of a frame for plain loops, and a frame of such rows."""

from __future__ import annotations

from collections import namedtuple
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from typing import Any

import pandas as pd


def records(frame: pd.DataFrame, *columns: str) -> list[Any]:
    """
    The rows as named tuples of plain Python values, without the index.

    Several times as fast as `itertuples` for the frames of a block, which are short and wide.

    Parameters
    ----------
    columns : those the tuples hold; none: all of them.
    """
    if columns:
        return list(map(_record(columns), *(frame[name].tolist() for name in columns)))
    return list(map(_record(tuple(frame.columns)), *(c.tolist() for _, c in frame.items())))


def frame_of(rows: Collection[Iterable[Any]], types: Mapping[str, str]) -> pd.DataFrame:
    """
    A frame of plain rows; without any it has the same columns and types.

    Several times as fast as giving a frame its types afterwards.

    Parameters
    ----------
    rows : values in the order of the columns.
    types : dtype by column.
    """
    columns = zip(*rows, strict=True) if rows else ((),) * len(types)
    named = zip(types.items(), columns, strict=True)
    return pd.DataFrame({name: pd.array(values, dtype=kind) for (name, kind), values in named})


@cache
def _record(names: tuple[str, ...]) -> Any:
    return namedtuple("Record", names, rename=True)

"""Rows that look entered twice."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.people import People, row_warning, rows_by_code
from gripbook.logs.problem import Problem


def sessions_twice(
    hangs: pd.DataFrame, extra: pd.DataFrame | None, people: People
) -> list[Problem]:
    """
    Sessions whose rows look entered twice.

    Equal sets in a row are how people train, so equality alone proves nothing. Told are: rows
    that repeat an `order`; a run of rows that stands again elsewhere (apart, or in another file);
    and two equal halves that are long, varied, or twice as many rows as the athlete's usual day.
    Sessions of a day with labels of their own are two sessions.
    """
    if hangs.empty:
        return []
    days = (hangs["date"].to_numpy() - hangs["date"].min().to_datetime64()).astype("m8[D]")
    labels = pd.factorize(hangs["session"].to_numpy(dtype=object))[0]
    span = int(days.astype(np.int64).max()) + 1
    labelled = people.codes * (int(labels.max()) + 1) + labels
    sessions = pd.factorize(labelled * span + days.astype(np.int64))[0].astype(np.int64)
    size = np.bincount(sessions)
    numbered = hangs["order"].notna().to_numpy()
    with_order = np.bincount(sessions, weights=numbered) > 0
    ignored = {"file", "line", "order", "note"}
    content = [c for c in hangs.columns if c not in ignored]

    # numbers alone are quick to compare: what differs in them needs no closer look
    rough = _RoughKeys(hangs[content])
    doubtful = _maybe_equal_halves(rough, sessions, size) & ~with_order
    if numbered.any():
        rows = np.flatnonzero(numbered)
        of, order = sessions[rows], hangs["order"].to_numpy(dtype=np.float64)[rows]
        step, rise = np.diff(of), np.diff(order)
        equal = (step == 0) & (rise == 0)
        pairs = _mixed(order.view(np.uint64), of.view(np.uint64))
        if ((step > 0) | ((step == 0) & (rise >= 0))).all():  # in order, as they mostly are
            again = np.concatenate([[False], equal]) | np.concatenate([equal, [False]])
        else:
            again = pd.Series(pairs).duplicated(keep=False).to_numpy()
        rows = rows[again]
        repeated = pd.Series(_mixed(rough.of(rows), pairs[again])).duplicated().to_numpy()
        doubtful[sessions[rows[repeated]]] = True
    if not doubtful.any():
        return []

    owner = people.codes[np.unique(sessions, return_index=True)[1]]
    usual = pd.Series(size).groupby(owner).agg(["median", "size"])
    median, many_days = usual["median"].to_numpy(), usual["size"].to_numpy() >= 3
    looked = np.flatnonzero(doubtful[sessions])
    keys = _hashes(hangs[content], extra, looked)
    files = hangs["file"].to_numpy(dtype=object)[looked]
    orders = hangs["order"].to_numpy()[looked]
    # an order that stands again in its session with equal content: the first such row of each
    of = sessions[looked]
    again = pd.DataFrame({"s": of, "o": orders, "k": keys}).duplicated().to_numpy()
    again = again & with_order[of] & ~np.isnan(orders)
    starts: list[int] = looked[again][np.unique(of[again], return_index=True)[1]].tolist()
    # of the others, those that are one run of rows twice
    plain = np.flatnonzero(~with_order[of])
    codes = pd.factorize(of[plain])[0].astype(np.intp)
    twice = _equal_halves(keys[plain], codes, np.bincount(codes))
    plain = plain[twice[codes]] if len(codes) else plain
    for part in rows_by_code(pd.factorize(of[plain])[0]):
        at = plain[part]
        rows, key = looked[at], keys[at]
        half = len(rows) // 2
        who = people.codes[rows[0]]
        apart = files[at[half - 1]] != files[at[half]] or rows[half] != rows[half - 1] + 1
        varied = len(set(key[:half].tolist())) >= 3
        many = many_days[who] and len(rows) >= 2 * median[who] and half >= 2
        if apart or varied or many:
            starts.append(int(rows[half]))
    return [
        row_warning(hangs.iloc[i], "session_twice", "date", f"{hangs.iloc[i]['date']:%Y-%m-%d}")
        for i in sorted(starts)
    ]


def _hashes(
    content: pd.DataFrame, extra: pd.DataFrame | None, rows: npt.NDArray[np.intp]
) -> npt.NDArray[np.uint64]:
    """A hash of all cells of some rows, those of unknown columns too."""
    parts = [content] if extra is None else [content, extra]
    keys = np.zeros(len(rows), dtype=np.uint64)
    for part in parts:
        keys = _mixed(keys, pd.util.hash_pandas_object(part.iloc[rows], index=False).to_numpy())
    return keys


class _RoughKeys:
    """A key of a row's numbers: rows whose keys differ are different."""

    def __init__(self, content: pd.DataFrame) -> None:
        self._numbers = [
            content[name].to_numpy()
            for name in content.columns
            if pd.api.types.is_numeric_dtype(content[name].dtype)
        ]

    def of(self, rows: npt.NDArray[np.intp]) -> npt.NDArray[np.uint64]:
        """The keys of some rows, given by place."""
        keys = np.zeros(len(rows), dtype=np.uint64)
        for numbers in self._numbers:
            values = numbers[rows].astype(np.float64) + 0.0  # -0.0 is 0.0
            keys = _mixed(keys, values.view(np.uint64))
        return keys


def _mixed(keys: npt.NDArray[np.uint64], more: npt.NDArray[np.uint64]) -> npt.NDArray[np.uint64]:
    """Keys of (key, more): equal where both are, almost surely different elsewhere."""
    mixed: npt.NDArray[np.uint64] = keys * np.uint64(0x9E3779B97F4A7C15) + more
    mixed ^= mixed >> np.uint64(29)
    return mixed


def _maybe_equal_halves(
    rough: _RoughKeys, groups: npt.NDArray[np.intp], size: npt.NDArray[np.intp]
) -> npt.NDArray[np.bool_]:
    """For each group: whether its rows may be one run twice, by the rough keys."""
    rising = bool((groups[1:] >= groups[:-1]).all())  # as rows mostly are
    order = np.arange(len(groups)) if rising else np.argsort(groups, kind="stable")
    start = np.cumsum(size) - size
    even = np.flatnonzero(size % 2 == 0)
    # most are told from the first row of each half alone
    first, second = (rough.of(order[start[even] + at]) for at in (0, size[even] // 2))
    even = even[first == second]
    equal = np.zeros(len(size), dtype=bool)
    if len(even):
        rows = order[np.isin(groups[order], even)]
        codes = pd.factorize(groups[rows])[0]
        equal[even] = _equal_halves(rough.of(rows), codes, size[even])
    return equal


def _equal_halves(
    keys: npt.NDArray[np.uint64], groups: npt.NDArray[np.intp], size: npt.NDArray[np.intp]
) -> npt.NDArray[np.bool_]:
    """For each group: whether its rows are one run of keys, twice."""
    order = np.argsort(groups, kind="stable")
    start = np.cumsum(size) - size
    within = np.arange(len(order)) - np.repeat(start, size)
    half = np.repeat(size // 2, size)
    first = np.flatnonzero(within < half)
    differ = keys[order[first]] != keys[order[first + half[first]]]
    differing = np.bincount(groups[order[first]], weights=differ, minlength=len(size))
    equal: npt.NDArray[np.bool_] = (differing == 0) & (size % 2 == 0)
    return equal


def rows_twice(sessions: pd.DataFrame, extra: pd.DataFrame | None) -> list[Problem]:
    """Rows of sessions.csv with minutes that stand there again in all but the note."""
    content = sessions.drop(columns=["file", "line", "note"])
    keys = _hashes(content, extra, np.arange(len(sessions)))
    again = sessions[pd.Series(keys).duplicated().to_numpy() & (sessions["minutes"] > 0)]
    return [
        row_warning(row, "row_twice", "date", f"{row['date']:%Y-%m-%d}")
        for _, row in again.iterrows()
    ]

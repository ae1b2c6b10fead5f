"""Whose the rows of a frame are."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.problem import Code, Parameter, Problem


class People(NamedTuple):
    """Who stands in a frame: row `i` is of `ids[codes[i]]`; worked out once for all uses."""

    codes: npt.NDArray[np.intp]
    ids: npt.NDArray[np.object_]

    @classmethod
    def of(cls, frame: pd.DataFrame) -> People:
        """The people of a frame, numbered as they come."""
        codes, ids = pd.factorize(frame["athlete"].to_numpy(dtype=object))
        return cls(codes, ids)

    def places(self) -> dict[str, npt.NDArray[np.intp]]:
        """Positions of each person's rows."""
        return dict(zip(self.ids.tolist(), rows_by_code(self.codes), strict=True))


def rows_by_code(codes: npt.NDArray[np.intp]) -> list[npt.NDArray[np.intp]]:
    """Positions of each code's rows, for every code from 0."""
    if not len(codes):
        return []
    few = codes.max() < np.iinfo(np.uint16).max  # such numbers are sorted in a tenth of the time
    order = np.argsort(codes.astype(np.uint16) if few else codes, kind="stable")
    return np.split(order, np.cumsum(np.bincount(codes))[:-1])


def row_warning(
    row: pd.Series, code: Code, column: str = "", value: str = "", **parameters: Parameter
) -> Problem:
    """A warning about one row of a frame."""
    return Problem(
        "warning",
        code,
        str(row["file"]),
        int(row["line"]),
        column,
        value,
        parameters,
        athlete=str(row["athlete"]),
    )

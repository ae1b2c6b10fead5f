"""What looks wrong only when several rows, files or blocks are seen together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.block import Block
from gripbook.logs.logs import Logs
from gripbook.logs.odd import TIMES_BODY_MASS, high_loads, wrong_looking
from gripbook.logs.people import People, row_warning, rows_by_code
from gripbook.logs.problem import Problem
from gripbook.logs.repeats import rows_twice, sessions_twice

#: A change between two weigh-ins above this share is warned of: within a day, and within two
#: weeks, where another unit is likely (own choice, no source).
_JUMP_DAY, _JUMP_FORTNIGHT = 0.05, 0.10


def suspicions(
    frames: Mapping[str, pd.DataFrame],
    extra: Mapping[str, pd.DataFrame],
    people: Mapping[str, People],
    blocks: Sequence[Block],
) -> list[Problem]:
    """
    Warnings about rows that are used all the same.

    Parameters
    ----------
    frames, people : by the file's name; people says whose each row is.
    extra : unknown columns by the file's name, where there are any.
    """
    return [
        *_body_mass_jumps(frames["body"]),
        *_odd_loads(frames["hangs"], people["hangs"], frames["body"]),
        *sessions_twice(frames["hangs"], extra.get("hangs"), people["hangs"]),
        *rows_twice(frames["sessions"], extra.get("sessions")),
        *_athletes_twice(frames["athletes"]),
        *_athletes_in_one_file(frames, people),
        *_unknown_block_athletes(people, blocks),
        *_load_unknown(frames["hangs"], people),
    ]


def _body_mass_jumps(body: pd.DataFrame) -> list[Problem]:
    ordered = body.sort_values(["athlete", "date", "file", "line"], kind="stable")
    before = ordered.groupby("athlete")[["date", "body_mass_kg"]].shift()
    gap = (ordered["date"] - before["date"]).dt.days
    change = ordered["body_mass_kg"] / before["body_mass_kg"] - 1
    jump = ((gap <= 1) & (change.abs() > _JUMP_DAY)) | (
        (gap <= 14) & (change.abs() > _JUMP_FORTNIGHT)
    )
    return [
        row_warning(
            ordered.loc[i],
            "body_mass_jump",
            "body_mass_kg",
            f"{ordered.at[i, 'body_mass_kg']:.1f}",
            change_pct=float(change[i]) * 100,
            days=int(gap[i]),
        )
        for i in ordered.index[jump]
    ]


def _mass_near(hangs: pd.DataFrame, people: People, body: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Body mass about the day of each set, NaN where none is known; no more than a rough guess."""
    out = np.full(len(hangs), np.nan)
    if body.empty:
        return out
    weighed = body.sort_values("date", kind="stable").groupby("athlete")
    known = {a: (g["date"].to_numpy(), g["body_mass_kg"].to_numpy()) for a, g in weighed}
    days = hangs["date"].to_numpy().astype("int64")
    for athlete, rows in zip(people.ids, rows_by_code(people.codes), strict=True):
        if athlete in known:
            weigh_ins, masses = known[athlete]
            out[rows] = np.interp(days[rows], weigh_ins.astype("int64"), masses)
    return out


def _odd_loads(hangs: pd.DataFrame, people: People, body: pd.DataFrame) -> list[Problem]:
    """Loads that are high, and loads of zero or less, which then are not known."""
    mass = pd.Series(_mass_near(hangs, people, body), index=hangs.index)
    hung = mass + hangs["added_kg"] - hangs["scale_kg"].fillna(0.0)
    load = hangs["force_kg"].fillna(hangs["stand_kg"] - hangs["scale_kg"]).fillna(hung)
    kg, of_mass = load.to_numpy(dtype=np.float64), mass.to_numpy(dtype=np.float64)
    wrong = wrong_looking(hangs, kg, of_mass, people.codes)
    problems = [
        row_warning(
            hangs.iloc[n],
            "load_high",
            "force_kg" if hangs["force_kg"].iloc[n] > 0 else "added_kg",
            # the load alone, never the body mass it is compared with: some pages hide that
            f"{kg[n]:.1f} kg",
            left_out=bool(wrong[n]),
            times_body_mass=TIMES_BODY_MASS if of_mass[n] > 0 else None,
        )
        for n in np.flatnonzero(high_loads(kg, of_mass)).tolist()
    ]
    problems += [
        row_warning(
            hangs.iloc[n],
            "load_not_positive",
            "force_kg" if hangs["force_kg"].iloc[n] <= 0 else "added_kg",
        )
        for n in np.flatnonzero(kg <= 0).tolist()
    ]
    return problems


def _load_unknown(hangs: pd.DataFrame, people: Mapping[str, People]) -> list[Problem]:
    """One warning for an athlete whose loads cannot be known for want of any weigh-in."""
    codes, ids = people["hangs"]
    direct = hangs["force_kg"].notna() | (hangs["stand_kg"].notna() & hangs["scale_kg"].notna())
    weighed = np.isin(ids, list(people["body"].ids))[codes]
    lost = np.flatnonzero(~direct.to_numpy() & ~weighed)
    athletes, first, counts = np.unique(codes[lost], return_index=True, return_counts=True)
    by_id = np.argsort(ids[athletes])
    return [
        row_warning(hangs.iloc[lost[row]], "body_mass_missing", rows=int(count))
        for count, row in zip(counts[by_id], first[by_id], strict=True)
    ]


def _athletes_twice(athletes: pd.DataFrame) -> list[Problem]:
    return [
        row_warning(row, "athlete_twice", "athlete", str(row["athlete"]))
        for _, row in athletes[athletes["athlete"].duplicated()].iterrows()
    ]


def _athletes_in_one_file(
    frames: Mapping[str, pd.DataFrame], people: Mapping[str, People]
) -> list[Problem]:
    filled = {name: set(of.ids) for name, of in people.items() if len(of.ids)}
    if len(filled) < 2:
        return []
    everybody = sorted(set().union(*filled.values()))
    alike: dict[str, list[str]] = defaultdict(list)
    for athlete in everybody:
        alike["".join(athlete.casefold().split())].append(athlete)
    problems: list[Problem] = []
    for athlete in everybody:
        where = [name for name, ids in filled.items() if athlete in ids]
        if len(where) == 1:
            frame = frames[where[0]]
            twins = [one for one in alike["".join(athlete.casefold().split())] if one != athlete]
            twin = next(((one, n) for one in twins for n in filled if one in filled[n]), None)
            problems.append(
                row_warning(
                    frame[frame["athlete"] == athlete].iloc[0],
                    "athlete_in_one_file",
                    "athlete",
                    athlete,
                    file=f"{where[0]}.csv",
                    twin=twin[0] if twin else "",
                    twin_file=f"{twin[1]}.csv" if twin else "",
                )
            )
    return problems


def _unknown_block_athletes(people: Mapping[str, People], blocks: Sequence[Block]) -> list[Problem]:
    ids = {athlete for of in people.values() for athlete in of.ids}
    return [
        Problem("warning", "block_unknown_athlete", block.file, 0, "athlete", athlete)
        for block in blocks
        for athlete in sorted({*block.athletes, *block.overrides} - ids)
    ]


def blocks_aside(logs: Logs) -> list[Problem]:
    """Athletes with finger work and with nothing in the days of the latest block planned."""
    problems: list[Problem] = []
    for athlete in logs.athlete_ids if logs.blocks else ():
        block, span = logs.block_for(athlete).aside, logs.span(athlete, "hangs")
        if block is None or span is None:
            continue
        problems.append(
            Problem(
                "warning",
                "block_empty",
                block.file,
                0,
                "start",
                block.start.isoformat(),
                {
                    "athlete": athlete,
                    "start": block.start,
                    "end": block.end,
                    "first": span[0],
                    "last": span[1],
                },
                athlete=athlete,
            )
        )
    return problems

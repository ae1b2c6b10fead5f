"""Was the block done: plan against log by week and by phase."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from gripbook.derive import count_sets, days_without
from gripbook.logs import Block


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """
    Plan against log.

    `weeks`: one row per block week: `week`, `start`, `phase`, `easy` and `test` (bool, planned as
    such), `sessions_planned`, `sessions_done`, `sets_planned`, `sets_done` (planned: NaN where
    the plan is silent), `tension_s`, `without` (words such as "ill 4 days"), `state` ("done",
    "part" where the log ends inside the week, "ahead" where it ends before).
    `phases`: the same summed by phase, weeks ahead left out.
    `outside`: rows of `sets` that no phase asked for (warm-ups left out).
    """

    weeks: pd.DataFrame
    phases: pd.DataFrame
    outside: pd.DataFrame

    @property
    def sessions_done(self) -> int:
        """Finger sessions done in the block."""
        return int(self.weeks["sessions_done"].sum())

    @property
    def sessions_planned(self) -> int | None:
        """Finger sessions planned for the weeks that the log covers, None without a plan."""
        begun = self.weeks.loc[self.weeks["state"] != "ahead", "sessions_planned"]
        return None if begun.isna().all() else int(begun.sum())

    @property
    def missed_weeks(self) -> list[int]:
        """Weeks with sessions planned and none done."""
        w = self.weeks
        missed = (w["sessions_planned"] > 0) & (w["sessions_done"] == 0) & (w["state"] == "done")
        return [int(x) for x in w.loc[missed, "week"]]


def compare_with_plan(
    sets: pd.DataFrame, sessions: pd.DataFrame, block: Block, last: pd.Timestamp
) -> Done:
    """
    Compare one athlete's derived sets with the plan.

    Parameters
    ----------
    sets : derived sets; sessions : rows of sessions.csv; last : the log's last day.
    """
    work = sets[sets["in_block"] & ~sets["warmup"]]
    sessions_done = work.drop_duplicates(["date", "session"]).groupby("week").size()
    counts = count_sets(work, block).reset_index()
    week_of_day = dict(zip(work["date"], work["week"], strict=True))
    counted = counts.groupby(counts["date"].map(week_of_day))["sets"].sum()
    tension = (work["tension_s"] * work["sets"]).groupby(work["week"]).sum()
    away = days_without(sessions)
    away["week"] = (away["date"] - pd.Timestamp(block.start)).dt.days // 7 + 1
    rows: list[dict[str, object]] = []
    for week in range(1, block.weeks + 1):
        phases = [p for p in block.phases if p.holds_week(week) and p.exercise]
        start = pd.Timestamp(block.start) + pd.Timedelta(days=7 * (week - 1))
        asked = [p.sessions_per_week for p in phases if p.sessions_per_week is not None]
        asked_sets = [
            p.sessions_per_week * p.sets_per_session
            for p in phases
            if p.sessions_per_week is not None and p.sets_per_session is not None
        ]
        here = away.loc[away["week"] == week].drop_duplicates("date")["kind"].value_counts()
        words = [f"{kind} {n} {'day' if n == 1 else 'days'}" for kind, n in here.items()]
        ends = start + pd.Timedelta(days=6)
        rows.append(
            {
                "week": week,
                "start": start,
                "phase": " + ".join(p.name for p in block.phases if p.holds_week(week)),
                "easy": week in block.easy_weeks,
                "test": week in block.test_weeks,
                "sessions_planned": float(sum(asked)) if asked else np.nan,
                "sessions_done": int(sessions_done.get(week, 0)),
                "sets_planned": float(sum(asked_sets)) if asked_sets else np.nan,
                "sets_done": int(counted.get(week, 0)),
                "tension_s": float(tension.get(week, 0.0)),
                "without": ", ".join(w for w in words if not w.startswith("rest")),
                "state": "done" if last >= ends else "part" if last >= start else "ahead",
            }
        )
    weeks = pd.DataFrame(rows)
    begun = weeks[weeks["state"] != "ahead"]
    sums = ["sessions_planned", "sessions_done", "sets_planned", "sets_done", "tension_s"]
    phases_frame = begun.groupby("phase", sort=False)[sums].sum(min_count=1).reset_index()
    outside = work[~work["planned"]] if block.phases else work.iloc[:0]
    return Done(weeks, phases_frame, outside.reset_index(drop=True))

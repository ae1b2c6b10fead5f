"""Noise shared over a squad: only when asked, told on the page and on the command line."""

from __future__ import annotations

import io
from pathlib import Path

import pandas as pd
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import review, squad_noise


def test_shared_noise_is_told_on_the_page(small_logs: Path) -> None:
    """The page of a review with shared noise says over how many; another page says nothing."""
    logs = load_logs(small_logs)
    noise = squad_noise(logs)
    assert noise.athletes >= 2
    told = "".join(p.html for p in sections.log(review(logs, "ada", noise=noise)))
    assert "was estimated over" in told
    assert "no trend of others" in told
    alone = "".join(p.html for p in sections.log(review(logs, "ada")))
    assert "was estimated over" not in alone


def test_shared_noise_moves_intervals_and_the_default_does_not(demo_logs_folder: Path) -> None:
    """`--share-noise` gives other intervals for the same series; without it figures are alone's."""
    run = CliRunner()
    alone = run.invoke(main, ["results", str(demo_logs_folder)])
    shared = run.invoke(main, ["results", str(demo_logs_folder), "--share-noise"])
    assert alone.exit_code == shared.exit_code == 0
    assert "Noise shared over 8 athletes" in shared.stderr
    a, b = (pd.read_csv(io.StringIO(r.stdout)) for r in (alone, shared))
    keys = ["athlete", "capacity", "grip", "hand"]
    assert a[keys].equals(b[keys])
    measured = a["change_pct"].notna()
    # figures are rounded: one end of a range may fall on the same tenth
    moved = ["low_pct", "high_pct", "prob_rise"]
    assert (a.loc[measured, moved] != b.loc[measured, moved]).any(axis=1).all()


def test_shared_noise_of_one_block_leaves_the_others_out(demo_logs_folder: Path) -> None:
    """Athletes for whom the block was not planned are not in the estimate."""
    logs = load_logs(demo_logs_folder)
    assert squad_noise(logs, "Youth winter").athletes == 1

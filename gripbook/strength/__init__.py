"""
Strength from everyday sets: one joint model per athlete, with honest intervals.

`fit_strength` fits one athlete's derived sets over one block; `results_rows` gives the rows of
results.csv; `share_noise` estimates noise scales over a squad where that is asked for; `diagnose`
holds a fit against its own log.
"""

from __future__ import annotations

from gripbook.strength.diagnostics import Diagnostics, diagnose
from gripbook.strength.evidence import Evidence, SeriesKey, gather_evidence
from gripbook.strength.fit import (
    RESULT_COLUMNS,
    Cause,
    Doubt,
    Estimate,
    EvidencePoint,
    RatioSplit,
    SeriesFit,
    StrengthFit,
    Verdict,
    fit_strength,
    results_rows,
    share_noise,
    split_ratio,
    verdict_of,
)
from gripbook.strength.model import NoiseScales

__all__ = [
    "RESULT_COLUMNS",
    "Cause",
    "Diagnostics",
    "Doubt",
    "Estimate",
    "Evidence",
    "EvidencePoint",
    "NoiseScales",
    "RatioSplit",
    "SeriesFit",
    "SeriesKey",
    "StrengthFit",
    "Verdict",
    "diagnose",
    "fit_strength",
    "gather_evidence",
    "results_rows",
    "share_noise",
    "split_ratio",
    "verdict_of",
]

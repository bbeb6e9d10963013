"""What a change was worth, and whether that is real: the verdict on each set-up.

All set-ups of a session are judged by one fit (`fit`), in percent of the baseline, with drift
and re-setting error always in; the rules are those of `rules`, the advice that of `advice`.
Sources: ISO 5725-2; NIST/SEMATECH e-Handbook 7.3; Holm (1979).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from logbook.verdict import advice, reasons, rules, words
from logbook.verdict.fit import Array
from logbook.verdict.judged import Drift, SetupJudgement
from logbook.verdict.noise import (
    ASSUMED,
    ASSUMED_WANDER,
    SILENT_PERCENT,
    Noise,
    Prior,
    Wander,
    source_of,
)
from logbook.verdict.order import Order, order_of, settle_setups
from logbook.verdict.settled import Settled


@dataclass(frozen=True, slots=True, eq=False)
class SessionJudgement:
    """A judged session. `by_setup` holds every set-up but the baseline, by its label.

    `scores` are in order of pull number, shape (pulls,); `base` is what percents are taken of.
    `baseline_returned` says whether the baseline was pulled again after every change; `proved` are
    the set-ups whose difference from the baseline holds among all the changes tried.
    """

    noise: Noise
    drift: Drift
    baseline_returned: bool
    by_setup: dict[int, SetupJudgement]
    scores: Array
    base: float
    order: Order
    fitted: Settled
    prior: Prior | None
    wander: Wander
    baseline: int
    worth_having_percent: float
    closed: bool
    advice_barred: str
    barred_setups: Mapping[int, str] = field(default_factory=dict)
    proved: frozenset[int] = frozenset()

    def between(self, before: int, after: int) -> SetupJudgement:
        """The change from set-up `before` to set-up `after`, both pulled in this session.

        Against the baseline it is the judgement of `by_setup`. Between two others the session's
        level is shared out evenly over the steps (Bonferroni) at the close, and one of the two
        must itself be proved against the baseline: so a session in which nothing changed
        anything has no more chances of a false gain for having steps beside its changes.

        Raises
        ------
        ValueError : a set-up that was not pulled, or the same one twice.
        """
        if before == after or not {before, after} <= set(self.order.labels):
            raise ValueError("two different set-ups of this session are needed")
        if before == self.baseline:
            return self.by_setup[after]
        found = _difference(self, before, after)
        if after == self.baseline:
            return _judged(self, before, after, found, proved=before in self.proved)
        p = float(rules.p_values(*found))
        steps = max(len(self.order.labels) - 1, 1)
        held = bool({before, after} & self.proved)
        return _judged(self, before, after, found, proved=held and p <= rules.FAMILY_LEVEL / steps)


def judge(
    number: npt.ArrayLike,
    setup: npt.ArrayLike,
    score: npt.ArrayLike,
    *,
    baseline: int,
    prior: Prior | None = ASSUMED,
    wander: Wander = ASSUMED_WANDER,
    worth_having_percent: float = 0.5,
    closed: bool = False,
    run: npt.ArrayLike | None = None,
    advice_barred: str = "",
    barred_setups: Mapping[int, str] | None = None,
) -> SessionJudgement:
    """Judge every set-up of a session against its baseline.

    Parameters
    ----------
    number : pull numbers, shape (pulls,), distinct. Leave excluded pulls out, keep their gaps.
    setup : label of each pull's set-up, shape (pulls,).
    score : the score judged, any unit, positive, shape (pulls,).
    baseline : the label everything is measured from. Where it has no pulls, `by_setup` is empty
        and percents are of the first set-up's mean.
    prior : the noise before this session's repeats; ``None`` uses the session alone.
    wander : how far drift and re-setting move the score.
    worth_having_percent : the smallest change that the shop cares about.
    closed : the session is closed, so the final verdicts are due.
    run : label of the run without re-setting each pull belongs to; by default consecutive pulls
        of one set-up. Give it where an excluded pull broke a run.
    advice_barred : why no further pulls may be advised (an alarm, the pull budget), as a
        sentence; ``""`` if they may.
    barred_setups : labels of the set-ups that must not be pulled again (a timing past the
        bounds), each with the sentence why.

    Raises
    ------
    ValueError : no pulls, unequal lengths, or scores that are not positive and finite.
    """
    order, sorting = order_of(number, setup, run)
    scores = np.asarray(score, dtype=np.float64)
    if scores.shape != order.number.shape or not np.all(np.isfinite(scores) & (scores > 0.0)):
        raise ValueError("every pull needs a positive score")
    scores = scores[sorting]
    measured_from = baseline if baseline in order.labels else int(order.setup[0])
    top = float(scores.max())  # so that the sum of the largest numbers there are is one too
    base = top * float((scores[order.setup == measured_from] / top).mean())
    fitted = settle_setups(order, 100.0 * (scores[:, None] / base) - 100.0, prior, wander)
    percent, df, kept = fitted.noise()
    drift = fitted.drift()
    judgement = SessionJudgement(
        noise=Noise(float(percent[0]), float(df[0]), source_of(bool(kept[0]), prior)),
        drift=Drift(float(drift.value[0]), float(drift.standard_error[0]), bool(fitted.unusual[0])),
        baseline_returned=False,
        by_setup={},
        scores=scores,
        base=base,
        order=order,
        fitted=fitted,
        prior=prior,
        wander=wander,
        baseline=baseline,
        worth_having_percent=worth_having_percent,
        closed=closed,
        advice_barred=advice_barred,
        barred_setups=barred_setups or {},
    )
    if baseline not in order.labels:
        return judgement
    changes = [label for label in order.labels if label != baseline]
    if not changes:
        return judgement
    returned = all(order.returned_after(label, baseline) for label in changes)
    found = {change: _difference(judgement, baseline, change) for change in changes}
    p = rules.p_values(*(np.array(part) for part in zip(*found.values(), strict=True)))
    held = rules.holm(p)
    proved = frozenset(change for change, yes in zip(changes, held, strict=True) if yes)
    judged = {c: _judged(judgement, baseline, c, found[c], proved=c in proved) for c in changes}
    return replace(
        judgement,
        baseline_returned=returned,
        by_setup=judged,
        proved=proved,
    )


def on_another_score(judged: SessionJudgement, score: npt.ArrayLike) -> dict[int, float]:
    """What every set-up is worth on another score of the same pulls, by the same fit.

    Parameters
    ----------
    score : positive, any unit, in the order of pull number, shape (pulls,).

    Returns
    -------
    Percent of the baseline by label; empty where the baseline was not pulled.
    """
    order = judged.order
    if judged.baseline not in order.labels:
        return {}
    scores = np.asarray(score, dtype=np.float64)
    data = 100.0 * scores[:, None] / scores[order.setup == judged.baseline].mean() - 100.0
    fitted = settle_setups(order, data, judged.prior, judged.wander)
    return {
        label: float(fitted.contrast(order.weights(judged.baseline, label)).value[0])
        for label in judged.by_setup
    }


def _difference(judgement: SessionJudgement, before: int, after: int) -> tuple[float, float, float]:
    """Estimate and standard error in percent, and degrees of freedom."""
    estimate = judgement.fitted.contrast(judgement.order.weights(before, after))
    return (
        float(estimate.value[0]),
        float(estimate.standard_error[0]),
        float(estimate.degrees_of_freedom[0]),
    )


def _judged(
    judgement: SessionJudgement,
    before: int,
    after: int,
    found: tuple[float, float, float],
    *,
    proved: bool,
) -> SetupJudgement:
    """One difference (`found` by `_difference`) with its verdict; `proved` is the closing test's
    answer."""
    order, noise, base = judgement.order, judgement.noise, judgement.base
    percent, se, df = found
    half = float(rules.half_width(se, df, rules.INTERVAL_LEVEL))
    interval = (percent - half, percent + half)
    sides = len(order.pulls_of(before)), len(order.pulls_of(after))
    assumed = noise.source == words.ASSUMED
    returned = all(
        label == judgement.baseline or order.returned_after(label, judgement.baseline)
        for label in (before, after)
    )
    codes = rules.running(
        percent,
        se,
        df,
        worth_having=judgement.worth_having_percent,
        single=min(sides) < 2,
        assumed=assumed,
    )
    if judgement.drift.unusual and not returned:
        codes = rules.withheld(codes)
    passing = words.VERDICTS[int(codes)]
    if judgement.closed and returned:
        codes = rules.final(codes, proved)
    verdict = words.VERDICTS[int(codes)]
    reason = reasons.why(
        verdict,
        percent=percent,
        interval=interval,
        worth_having=judgement.worth_having_percent,
        sides=sides,
        assumed=assumed,
        noise_percent=noise.percent,
        closed=judgement.closed,
        returned=returned,
        away=max(
            (
                order.away(side, judgement.baseline)
                for side in (before, after)
                if side != judgement.baseline and judgement.baseline in order.labels
            ),
            default=0,
        ),
        turned_down=verdict != passing and verdict == words.NOT_SETTLED,
        drift_percent=judgement.drift.percent_per_pull if judgement.drift.unusual else None,
    )
    more = None
    if verdict in (words.LEANING, words.NOT_SETTLED):
        barred = judgement.advice_barred or next(
            (judgement.barred_setups[side] for side in (before, after)
             if side in judgement.barred_setups), "")  # fmt: skip
        if barred:
            reason = f"{reason} No further pulls are advised: {barred}"
        else:
            more = _more_pulls(judgement, before, after, percent)
            known = noise.percent >= SILENT_PERCENT
            next_sentence = reasons.which_next(
                more, before=before, after=after, returned=returned, noise_known=known
            )
            reason = f"{reason} {next_sentence}"
    unit = base / 100.0
    return SetupJudgement(
        setup=after,
        from_setup=before,
        pulls=order.pulls_of(after),
        from_pulls=order.pulls_of(before),
        difference=percent * unit,
        standard_error=se * unit,
        interval=(interval[0] * unit, interval[1] * unit),
        percent=percent,
        standard_error_percent=se,
        interval_percent=interval,
        degrees_of_freedom=df,
        p_value=float(rules.p_values(percent, se, df)),
        verdict=verdict,
        more_pulls=more.count if more else None,
        next_pulls=more.setups if more else (),
        reason=reason,
        noise=noise,
        wander=judgement.wander,
    )


def _more_pulls(
    judgement: SessionJudgement, before: int, after: int, percent: float
) -> advice.MorePulls | None:
    """The advice for one open difference; none without a noise figure to speak of."""
    if not judgement.noise.percent >= SILENT_PERCENT:
        return None
    wander = judgement.wander
    return advice.more_pulls(
        judgement.order.number,
        judgement.order.setup,
        before=before,
        after=after,
        percent=percent,
        noise=judgement.noise,
        worth_having=judgement.worth_having_percent,
        drift_sd=np.inf if judgement.fitted.contradicted[0] else wander.drift_percent,
        resetting_sd=wander.resetting_percent,
    )

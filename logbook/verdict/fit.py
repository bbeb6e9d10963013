"""The one fit that everything is judged by: generalised least squares with drift always in.

    y = X·β + b·t + u(run) + R·r + e,    V = σ²·I + τ_b²·tt′ + τ_u²·ZZ′ + RR′

t is the pull number minus its mean, Z marks the runs of consecutive pulls without re-setting;
τ_b and τ_u are the standard deviations of drift and re-setting, in percent and not in units of
σ: a cell that repeats well still drifts. R holds whatever else is believed to be small (how
lopsided a torque curve is). Testing for drift first and leaving it out when the test
is silent would give up to 30–39 % false gains on a day that drifts by 0.1 % a pull; keeping it in
costs a little width and no honesty.

The residuals are turned so that they are independent, the i-th with variance σ² + λᵢ. Then σ²
follows from a sum (restricted maximum likelihood), and every estimate and its variance are
rational functions of σ², cheap for thousands of data sets at once. Degrees of freedom are
Satterthwaite's. With τ_b and τ_u zero (or τ_b infinite: drift is one more unknown) all this is
ordinary least squares with Student's t, exactly.
Sources: Searle, Casella & McCulloch, *Variance Components* (1992), ch. 6–7; Satterthwaite (1946),
*Biometrics Bulletin* 2:110; ISO/IEC Guide 98-3, G.4.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Labels = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A combination of coefficients for each data set; arrays of shape (data sets,).

    `standard_error` is ``nan`` and `degrees_of_freedom` 0 where no noise figure exists.
    """

    value: Array
    standard_error: Array
    degrees_of_freedom: Array


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fitted model before its noise is settled, in the unit of the data.

    Attributes
    ----------
    plain : ordinary least-squares coefficients, shape (columns, data sets).
    gram : (X′X)⁻¹, shape (columns, columns).
    wander : what drift, re-setting and R add to the covariance of `plain`, same shape.
    cross : covariance of `plain` with the turned residuals, shape (columns, own df).
    turned : independent residuals, shape (own df, data sets).
    extra : λ, shape (own df,).
    believed : covariance of the believed effects (drift, then the columns of R, each with
        standard deviation 1) with the turned residuals, shape (effects, own df).
    believed_plain : their covariance with `plain`, shape (effects, columns).
    drift_sd : τ_b; ``inf`` where the drift is the last column of the model.
    """

    plain: Array
    gram: Array
    wander: Array
    cross: Array
    turned: Array
    extra: Array
    believed: Array
    believed_plain: Array
    drift_sd: float

    @property
    def own_df(self) -> int:
        """Pulls minus estimated coefficients (a drift estimated freely counts as one)."""
        return int(self.extra.size)

    def contrast(
        self,
        weights: npt.ArrayLike,
        s: npt.ArrayLike,
        df: npt.ArrayLike,
        believed: npt.ArrayLike = (),
    ) -> Estimate:
        """Σ wᵢ·βᵢ, given the noise, plus a combination of the believed effects.

        Parameters
        ----------
        weights : shape (columns,).
        s, df : standard deviation of a pull and its degrees of freedom, shape (data sets,).
        believed : weights of the believed effects, shape (effects,); none by default.
        """
        w = _padded(weights, self.plain.shape[0])
        v = _padded(believed, self.believed.shape[0])
        wander = float(w @ self.wander @ w - 2.0 * v @ self.believed_plain @ w + v @ v)
        cross = w @ self.cross - v @ self.believed
        return self._combination(w @ self.plain, float(w @ self.gram @ w), wander, cross, s, df)

    def joint(self, weights: npt.ArrayLike, s: float) -> tuple[Array, Array]:
        """Several combinations of the first data set's coefficients, with their covariance.

        Parameters
        ----------
        weights : shape (combinations, columns).
        s : standard deviation of a pull.

        Returns
        -------
        Values, shape (combinations,), and covariance, shape (combinations, combinations).
        """
        given = np.atleast_2d(np.asarray(weights, dtype=np.float64))
        w = np.stack([_padded(row, self.plain.shape[0]) for row in given])
        cross = w @ self.cross
        pull = cross * _inverse(s**2 + self.extra)
        values = w @ self.plain[:, 0] - pull @ self.turned[:, 0]
        covariance = s**2 * (w @ self.gram @ w.T) + w @ self.wander @ w.T - pull @ cross.T
        return values, covariance

    def drift(self, s: npt.ArrayLike, df: npt.ArrayLike) -> Estimate:
        """The drift per pull: estimated freely, or predicted from what is believed about it."""
        if np.isinf(self.drift_sd):
            return self.contrast(_padded((), self.plain.shape[0], last=1.0), s, df)
        return self.contrast((), s, df, believed=(self.drift_sd,))

    def _combination(
        self,
        plain: Array,
        gram: float,
        wander: float,
        cross: Array,
        s: npt.ArrayLike,
        df: npt.ArrayLike,
    ) -> Estimate:
        """Best estimate, variance and Satterthwaite degrees of freedom at the given noise."""
        square = np.asarray(s, dtype=np.float64) ** 2
        total = square[None, :] + self.extra[:, None]
        inverse = _inverse(total)
        pull = cross[:, None] * inverse
        value = plain - np.sum(pull * self.turned, axis=0)
        variance = square * gram + wander - np.sum(pull * cross[:, None], axis=0)
        slope = square * (gram + np.sum(pull**2, axis=0))
        variance = np.maximum(variance, 0.0)
        nu = (
            np.asarray(df, dtype=np.float64)
            * np.divide(variance, slope, out=np.ones_like(variance), where=slope > 0.0) ** 2
        )
        return Estimate(value, np.sqrt(variance), nu)


def _padded(weights: npt.ArrayLike, size: int, *, last: float = 0.0) -> Array:
    """Weights filled up with zeros, the last set where nothing was given for it."""
    given = np.asarray(weights, dtype=np.float64)
    full = np.zeros(size)
    full[: given.size] = given
    if given.size < size:
        full[-1] = last
    return full


def _inverse(variance: Array) -> Array:
    """1/variance, and 0 for a component with neither noise nor wander (a hand-made table of
    equal numbers has them): nothing can be learned from it."""
    return np.divide(1.0, variance, out=np.zeros_like(variance), where=variance != 0.0)


def runs_of(setup: npt.ArrayLike) -> Labels:
    """Label the runs of consecutive pulls with one set-up: 0 0 1 1 0 → 0 0 1 1 2."""
    labels = np.asarray(setup)
    if labels.size == 0:
        return np.zeros(0, dtype=np.int64)
    return np.concatenate(([0], np.cumsum(labels[1:] != labels[:-1]))).astype(np.int64)


def indicators(labels: npt.ArrayLike) -> tuple[Labels, Array]:
    """The distinct labels in ascending order, and one 0/1 column for each."""
    distinct, index = np.unique(np.asarray(labels, dtype=np.int64), return_inverse=True)
    columns = np.zeros((index.size, distinct.size))
    columns[np.arange(index.size), index] = 1.0
    return distinct, columns


def fit(
    number: npt.ArrayLike,
    columns: Array,
    data: Array,
    *,
    drift_sd: float,
    resetting_sd: float,
    run: npt.ArrayLike,
    believed: Array | None = None,
) -> Fit:
    """Fit `columns` to one or many data sets that share one order of pulls.

    Parameters
    ----------
    number : pull numbers, shape (pulls,). Gaps (excluded pulls) count as time passed.
    columns : the design matrix X, shape (pulls, columns), of full rank.
    data : shape (pulls, data sets), any unit.
    drift_sd : τ_b in that unit per pull; ``inf`` estimates the drift freely, ``0`` leaves it out.
    resetting_sd : τ_u in that unit.
    run : label of the run each pull belongs to, shape (pulls,).
    believed : R, shape (pulls, effects): what one standard deviation of each further believed
        effect does to every pull.

    Raises
    ------
    ValueError : the columns (with a free drift: and the pull numbers) are not independent.
    """
    time = np.asarray(number, dtype=np.float64)
    time = time - time.mean()
    free = bool(np.isinf(drift_sd))
    design = np.column_stack([columns, time]) if free else columns
    pulls, count = design.shape
    q, r = np.linalg.qr(design, mode="complete")
    diagonal = np.abs(np.diag(r))
    if pulls < count or diagonal.min() <= 1e-10 * diagonal.max():
        raise ValueError("the columns of the design are not independent of each other")
    inverse = np.linalg.inv(r[:count])
    project = inverse @ q[:, :count].T
    _, blocks = indicators(run)
    effects = [np.zeros((pulls, 1)) if free else drift_sd * time[:, None]]
    if believed is not None:
        effects.append(believed)
    random = np.column_stack(effects)
    known = resetting_sd**2 * (blocks @ blocks.T) + random @ random.T
    left_over = q[:, count:]
    extra, turn = np.linalg.eigh(left_over.T @ known @ left_over)
    basis = left_over @ turn
    return Fit(
        plain=project @ data,
        gram=inverse @ inverse.T,
        wander=project @ known @ project.T,
        cross=project @ known @ basis,
        turned=basis.T @ data,
        extra=np.maximum(extra, 0.0),
        believed=random.T @ basis,
        believed_plain=random.T @ project.T,
        drift_sd=drift_sd,
    )


def foreseen(
    number: npt.ArrayLike,
    columns: Array,
    weights: npt.ArrayLike,
    *,
    s: float,
    drift_sd: float,
    resetting_sd: float,
    run: npt.ArrayLike,
) -> tuple[float, float]:
    """How well pulls not yet taken would tell a combination of coefficients.

    The same as `fit` followed by `Fit.contrast`, for designs without data: one solution of a
    linear system, since many are tried.

    Parameters
    ----------
    s : standard deviation of a pull, positive; everything else as for `fit`.

    Returns
    -------
    The standard error, and the factor by which the noise's degrees of freedom grow
    (Satterthwaite: the part of the variance that is not noise is known without pulls).
    """
    time = np.asarray(number, dtype=np.float64)
    time = time - time.mean()
    block = np.asarray(run)
    covariance = s**2 * np.eye(time.size)
    covariance += resetting_sd**2 * (block[:, None] == block[None, :])
    design, wanted = columns, np.asarray(weights, dtype=np.float64)
    if np.isinf(drift_sd):
        design, wanted = np.column_stack([columns, time]), np.append(wanted, 0.0)
    else:
        covariance += drift_sd**2 * np.outer(time, time)
    solved = np.linalg.solve(covariance, design)
    # The estimate is pulls · y; its variance falls with s² at the rate pulls · pulls.
    pulls = solved @ np.linalg.solve(design.T @ solved, wanted)
    variance = float(pulls @ covariance @ pulls)
    return float(np.sqrt(variance)), (variance / (s**2 * float(pulls @ pulls))) ** 2

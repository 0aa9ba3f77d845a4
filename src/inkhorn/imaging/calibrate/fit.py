"""Fit a camera's tone curve to steps whose light is known, or known up to how the printer spread its black."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from inkhorn.handbook.load import row, value
from inkhorn.imaging.calibrate.curve import KNOTS, Curve, log_light, log_light_slopes
from inkhorn.imaging.calibrate.screens import screen_light

Array = NDArray[np.float64]

#: Behind those of the curve stand the printer's four unknowns, and one of the camera's sharpening.
_FIRST = 1 + KNOTS.size


@attrs.frozen(kw_only=True, eq=False)
class Steps:
    """Steps as a camera recorded them. N steps, G groups of pixels each.

    Attributes
    ----------
    recorded : ndarray (N, 3, G)
        Linear light as recorded, sorted within a step and averaged in groups of equal area:
        a step of lines is not one light, and it is the *light* that averages.
    blended : ndarray (N, 3)
        Linear light whose encoded value is the mean of a step's encoded values.
    white : ndarray (N, 3)
        Of the bare paper beside each step.
    screen : ndarray of bool (N,)
    share, period : ndarray (N,)
        Of the screens; mm. A full black has share 1.
    known : ndarray (N,)
        Density against the paper where it is given (measured, or nominal for a plain grey); nan for screens and blacks.
    plain : ndarray of bool (N,)
        Greys left to the printer: their ``known`` is only nominal, and all may be off by one factor.
    sd : ndarray (N,)
        Of a step's own density, from print and reading; of a screen without the error of its gain.
    """

    recorded: Array
    blended: Array
    white: Array
    screen: NDArray[np.bool_]
    share: Array
    period: Array
    known: Array
    plain: NDArray[np.bool_]
    sd: Array


@attrs.frozen(kw_only=True, eq=False)
class Fit:
    """A fitted curve, and what was learnt of the printer on the way.

    ``miss`` is each step's mean density against the fit, ``weight`` what was believed of it (0 to 1).
    """

    curve: Curve
    spread: float
    scatter: float
    black: float
    miss: Array
    weight: Array


def fit_curve(steps: Steps) -> Fit:
    """Return the tone curve under which the steps have the densities they must have.

    Least squares with priors (Gauss-Newton), each step weighed down as it
    disagrees (a shadow's edge, a finger); the unknowns are the black offset and
    the slope of the curve at knots, smooth by a random walk, the spread of the
    printer's black, the scatter of the paper, the density of full black, one
    factor of the printer's greys, and how much the camera sharpened. What a screen gives back beyond its drawn
    share of black (its gain) is trusted to a part only.
    """
    start, inverse = _prior()
    weight = np.ones(steps.sd.size)
    found, own = start.copy(), _own(start, steps)
    channel, freedom = value("card.channel_sd"), value("card.outlier_freedom")
    jacobian = np.eye(start.size)
    off = np.zeros(steps.sd.size)
    faith = value("card.sd_faith")
    for last in (*[False] * 5, True):
        root = np.sqrt(weight)

        def miss(numbers: Array, root: Array = root, own: Array = own) -> Array:
            off = _off(numbers, steps)
            middle = off.mean(axis=1)
            apart = (off - middle[:, None]) / channel
            both = [middle / own * root, *(apart * root[:, None]).T]
            return np.concatenate([*both, inverse @ (numbers - start)])

        def slopes(numbers: Array, root: Array = root, own: Array = own) -> Array:
            off = _off_slopes(numbers, steps)
            middle = off.mean(axis=1)
            apart = (off - middle[:, None]) / channel * root[:, None, None]
            return np.concatenate([middle * (root / own)[:, None], *apart.swapaxes(0, 1), inverse])

        # numbers-in-code: tolerances; what is weighed anew next time need not be met to the last digit
        near = 1e-8 if last else 1e-4
        solved = least_squares(
            miss, found, jac=slopes, method="lm", x_scale="jac", max_nfev=60, ftol=near, xtol=near, gtol=near
        )
        found, jacobian = solved.x, solved.jac
        own = _own(found, steps)
        off = _off(found, steps).mean(axis=1) / own
        # how far the steps scatter says how well they are printed and read, beside what was believed of it
        scale = np.sqrt((faith + (weight * off**2).sum()) / (faith + weight.sum()))
        own, off = own * scale, off / scale
        weight = np.minimum(1, (freedom + 1) / (freedom + off**2))
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    told = np.count_nonzero(~np.isnan(steps.known) & ~steps.plain)
    if told < value("card.measured_enough"):
        # what no step of an unmeasured card tells is how black its black is: measured, it takes most of the doubt away
        full = ~steps.screen & ~steps.plain & (steps.share == 1) & ~np.isnan(steps.known)
        left = row("card.model_sd_black") if full.any() else row("card.model_sd")
        covariance[1:_FIRST, 1:_FIRST] += left.spread**2
    return Fit(
        curve=Curve(
            numbers=found[:_FIRST], covariance=np.asarray(covariance[:_FIRST, :_FIRST], dtype=np.float64)
        ),
        spread=float(np.exp(found[_FIRST])),
        scatter=float(np.exp(found[_FIRST + 1])),
        black=float(found[_FIRST + 2]),
        miss=_off(found, steps).mean(axis=1),
        weight=weight,
    )


def _prior() -> tuple[Array, Array]:
    """Return the prior's centre, and the matrix that makes a deviation from it white."""
    spread, scatter, black = row("card.spread"), row("card.scatter"), row("card.black")
    glare, sharp = row("card.offset"), row("card.sharpening")
    centre = np.zeros(_FIRST + 5)
    centre[0] = glare.value
    centre[_FIRST:] = np.log(spread.value), np.log(scatter.value), black.value, 0, sharp.value
    slope, walk = row("card.slope").spread, row("card.slope_walk").spread
    rows = [np.eye(centre.size)[0] / glare.spread]
    for i in range(KNOTS.size):
        line = np.zeros(centre.size)
        line[1 + i] = 1 / slope
        rows.append(line)
        if i:
            line = np.zeros(centre.size)
            line[[i, 1 + i]] = -1 / walk, 1 / walk
            rows.append(line)
    own = (
        np.log1p(spread.spread / spread.value),
        np.log1p(scatter.spread / scatter.value),
        black.spread,
        np.log1p(row("card.grey_factor").spread),
        sharp.spread,
    )
    rows += [np.eye(centre.size)[_FIRST + i] / own[i] for i in range(5)]
    return centre, np.array(rows)


def _own(numbers: Array, steps: Steps) -> Array:
    """Return each step's own standard deviation, with that of a screen's gain, (N,)."""
    drawn = -np.log10(1 - steps.share * (1 - 10 ** -numbers[_FIRST + 2]))
    mine = steps.screen & np.isnan(steps.known)
    wanted = expected(numbers, steps)
    gain = np.where(mine, value("card.gain_sd") * (wanted - drawn), 0)
    line = np.minimum(steps.share, 1 - steps.share) * steps.period
    narrow = np.where(mine & (line < value("card.narrow")), value("card.narrow_sd") * wanted, 0)
    return np.asarray(np.sqrt(steps.sd**2 + gain**2 + narrow**2 + value("card.channel_sd") ** 2 / 3))


def _off(numbers: Array, steps: Steps) -> Array:
    """Return each step's density by the curve, less what it must be, (N, 3)."""
    curve = numbers[:_FIRST]
    light = np.log10((10 ** log_light(curve, steps.recorded)).mean(axis=2))
    # lines that a camera sharpened differ more than their light did, so their mean is too light
    light -= numbers[_FIRST + 4] * (light - log_light(curve, steps.blended))
    return np.asarray(log_light(curve, steps.white) - light - expected(numbers, steps)[:, None])


def _off_slopes(numbers: Array, steps: Steps) -> Array:
    """Return the derivatives of `_off` by each of the numbers, (N, 3, numbers)."""
    curve, sharp = numbers[:_FIRST], numbers[_FIRST + 4]
    logs, grouped = log_light_slopes(curve, steps.recorded)
    light = 10**logs
    weight = light / light.sum(axis=2, keepdims=True)
    mean = np.einsum("nkg,nkgi->nki", weight, grouped)
    blended, of_blended = log_light_slopes(curve, steps.blended)
    _, of_white = log_light_slopes(curve, steps.white)
    out = np.zeros((*steps.white.shape, numbers.size))
    out[..., :_FIRST] = of_white - (1 - sharp) * mean - sharp * of_blended
    out[..., _FIRST + 4] = np.log10(light.mean(axis=2)) - blended
    wanted, step = expected(numbers, steps), 1e-7
    for i in range(_FIRST, _FIRST + 3):  # of the print: few numbers, so small steps will do
        up = numbers.copy()
        up[i] += step
        out[..., i] = (wanted - expected(up, steps))[:, None] / step
    out[steps.plain, :, _FIRST + 3] = -wanted[steps.plain, None]
    return out


def expected(numbers: Array, steps: Steps) -> Array:
    """Return the densities against paper that the steps have by print and geometry, (N,)."""
    spread, scatter, black = np.exp(numbers[_FIRST]), np.exp(numbers[_FIRST + 1]), numbers[_FIRST + 2]
    out = np.where(np.isnan(steps.known), black, steps.known)
    out[steps.plain] *= np.exp(numbers[_FIRST + 3])
    mine = steps.screen & np.isnan(steps.known)
    out[mine] = -np.log10(
        screen_light(
            steps.share[mine],
            steps.period[mine],
            spread=float(spread),
            scatter=float(scatter),
            black=float(10**-black),
        )
    )
    return out

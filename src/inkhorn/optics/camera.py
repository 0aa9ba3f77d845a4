"""A camera of unknown make: what it records of the light of a page, for N cameras at once.

In the order in which light meets them: the lens spreads a little of the whole
frame's light over the picture, the sensor's three sensitivities mix the
channels, exposure and white balance scale them, a black offset is added, and
the tone curve, clipping and eight bits make the file. A reader takes the file
for sRGB and decodes it; what it gets is `photograph`'s answer.
"""

from __future__ import annotations

import functools

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkhorn.colour.srgb import decode, encode
from inkhorn.handbook.load import row, value
from inkhorn.optics.observe import channel_density, from_density

Array = NDArray[np.float64]

#: Rows that say how cameras differ, beside the six of ``camera.mixing``; one standard normal each.
_ROWS = ("exposure", "balance.red", "balance.blue", "contrast", "toe", "knee", "glare", "black")
#: Where the channels mix: row and column of each entry off the diagonal.
_OFF = tuple((i, j) for i in range(3) for j in range(3) if i != j)
#: Standard normals that make one camera.
NORMALS = len(_OFF) + len(_ROWS)


@attrs.frozen(kw_only=True, eq=False)
class Camera:
    """N cameras.

    Attributes
    ----------
    mixing : ndarray (N, 3, 3)
        What each recorded channel (row) takes of each channel of linear sRGB; rows sum to 1, so white stays white.
    gain : ndarray (N, 3)
        Exposure times white balance.
    contrast, toe, knee : ndarray (N,)
        The tone curve, see `tone`.
    glare : ndarray (N,)
        Share of the frame's mean light that is spread over all of it.
    black : ndarray (N,)
        Linear light recorded where there is none.
    levels : int
        Steps of the file between black and white; 0 for a file that keeps every value.
    """

    mixing: Array
    gain: Array
    contrast: Array
    toe: Array
    knee: Array
    glare: Array
    black: Array
    levels: int

    @classmethod
    def plain(cls, n: int = 1) -> Camera:
        """Return ``n`` cameras that record linear sRGB as it is."""
        none, one = np.zeros(n), np.ones(n)
        return cls(
            mixing=np.broadcast_to(np.eye(3), (n, 3, 3)),
            gain=np.ones((n, 3)),
            contrast=one,
            toe=none,
            knee=one,
            glare=none,
            black=none,
            levels=0,
        )


def draw_cameras(source: np.random.Generator | ArrayLike, n: int) -> Camera:
    """Return ``n`` cameras as the rows ``camera.*`` have them.

    Parameters
    ----------
    source : numpy.random.Generator or array_like
        A generator, or the standard normals themselves, ``(n, NORMALS)``: zeros give the usual camera.
    n : int
    """
    if isinstance(source, np.random.Generator):
        z: Array = source.standard_normal((n, NORMALS))
    else:
        z = np.asarray(source, dtype=np.float64).reshape(n, NORMALS)
    mixing = np.zeros((n, 3, 3))
    off = row("camera.mixing").at(z[:, : len(_OFF)])
    for k, (i, j) in enumerate(_OFF):
        mixing[:, i, j] = off[:, k]
    mixing[:, range(3), range(3)] = 1 - mixing.sum(axis=2)
    drawn = {name: row(f"camera.{name}").at(z[:, len(_OFF) + k]) for k, name in enumerate(_ROWS)}
    balance = np.stack([drawn["balance.red"], np.ones(n), drawn["balance.blue"]], axis=1)
    return Camera(
        mixing=mixing,
        gain=drawn["exposure"][:, None] * balance,
        contrast=drawn["contrast"],
        toe=drawn["toe"],
        knee=drawn["knee"],
        glare=drawn["glare"],
        black=drawn["black"],
        levels=int(value("camera.levels")),
    )


def tone(light: ArrayLike, *, contrast: ArrayLike, toe: ArrayLike, knee: ArrayLike) -> Array:
    r"""Return what a reader decodes where a camera's curve is not sRGB's.

    .. math:: y = x^{c} \left(\frac{x\,(1 + s)}{x + s}\right)^{\tau}

    The slope of log y on log x is c well above the knee s and c + tau well
    below it; black and white stay. ``c = 1, tau = 0`` changes nothing.

    Parameters
    ----------
    light : array_like
        Linear, 0 to 1.
    contrast, toe, knee : array_like
        c, tau and s > 0; they broadcast against ``light``. Rising as long as c > 0 and c + tau > 0.
    """
    x = np.clip(np.asarray(light, dtype=np.float64), 0, 1)
    s = np.asarray(knee, dtype=np.float64)
    # x^c (x(1+s)/(x+s))^tau with the powers of x taken together, so that black never divides
    steep = np.maximum(np.asarray(contrast) + np.asarray(toe), 0)
    return np.asarray(x**steep * ((1 + s) / (x + s)) ** np.asarray(toe))


def photograph(linear_rgb: ArrayLike, camera: Camera, *, frame: ArrayLike | None = None) -> Array:
    """Return what a reader gets of a scene that N cameras took.

    Parameters
    ----------
    linear_rgb : array_like
        Linear sRGB ``(3,)``, or ``(N, ..., 3)``; a first axis of 1 is seen by every camera.
    camera : Camera
    frame : array_like, optional
        Mean light of the whole frame, ``(3,)`` or ``(N, 3)``, for the glare; that of
        ``linear_rgb`` itself if left out.

    Returns
    -------
    ndarray
        Linear sRGB as decoded from the file, ``(N, ..., 3)``, 0 to 1.

    References
    ----------
    Veiling glare as a share of the frame's light: [ISO9358].
    Checked in ``tests/published/test_optics_camera.py``.
    """
    scene = np.atleast_2d(np.asarray(linear_rgb, dtype=np.float64))
    spare = scene.ndim - 2
    light = scene.mean(axis=tuple(range(1, 1 + spare))) if frame is None else np.atleast_2d(frame)
    light = _among(np.asarray(light, dtype=np.float64), spare)
    glare = _among(camera.glare[:, None], spare)
    lit = (1 - glare) * scene + glare * light
    # One product of matrices a camera: a whole picture is then as cheap as its pixels are many.
    pixels = lit.reshape(len(lit), -1, 3) @ camera.mixing.transpose(0, 2, 1)
    mixed = pixels.reshape(-1, *lit.shape[1:])
    raw = mixed * _among(camera.gain, spare) + _among(camera.black[:, None], spare)
    toned = tone(
        raw,
        contrast=_among(camera.contrast[:, None], spare),
        toe=_among(camera.toe[:, None], spare),
        knee=_among(camera.knee[:, None], spare),
    )
    toned = np.clip(toned, 0, 1)
    if not camera.levels:
        return toned
    return decode(np.round(encode(toned) * camera.levels) / camera.levels)


def channel_density_seen(ink_rgb: ArrayLike, bare_rgb: ArrayLike, camera: Camera) -> Array:
    """Return the channel density ``(N, 3)`` that is read of ink on a support in each camera's picture.

    Parameters
    ----------
    ink_rgb, bare_rgb : array_like
        True linear channels of the stroke and of the bare support, ``(3,)`` or ``(N, 3)``.
        The frame is taken as bare support: ink covers little of a page.
    """
    ink, bare = (photograph(rgb, camera, frame=bare_rgb) for rgb in (ink_rgb, bare_rgb))
    return channel_density(ink, bare)


@attrs.frozen(kw_only=True, eq=False)
class Doing:
    """What of a channel density is the camera's doing: read minus true, over the cameras.

    ``shift`` (3,) is its mean, ``covariance`` (3, 3) how cameras differ, ``doubt`` (3, 3)
    both: the mean square of what is read about what is there.
    """

    shift: Array
    covariance: Array

    @property
    def doubt(self) -> Array:
        """Return covariance and squared shift together, for whoever takes a reading for the truth."""
        return np.asarray(self.covariance + np.outer(self.shift, self.shift))


def density_spread(ink_rgb: ArrayLike, bare_rgb: ArrayLike, camera: Camera) -> Doing:
    """Return how much of the density of ink ``(3,)`` on a support ``(3,)`` is the cameras' doing."""
    off = channel_density_seen(ink_rgb, bare_rgb, camera) - channel_density(ink_rgb, bare_rgb)
    return Doing(shift=off.mean(axis=0), covariance=np.cov(off.T, bias=True))


#: Cameras of unknown make that stand for all of them.
MAKES = 1024


@functools.cache
def makes() -> Camera:
    """Return cameras of unknown make, the same every time."""
    return draw_cameras(np.random.default_rng(0), MAKES)


def density_doubt(density: ArrayLike, bare_rgb: ArrayLike) -> Array:
    """Return the error covariance ``(3, 3)`` that a camera of unknown make gives to a channel density.

    Parameters
    ----------
    density : array_like
        Channel density ``(3,)`` of ink on a bare support.
    bare_rgb : array_like
        Linear channels ``(3,)`` of that support.
    """
    bare = np.asarray(bare_rgb, dtype=np.float64)
    return density_spread(from_density(density, bare), bare, makes()).doubt


def _among(of_camera: Array, spare: int) -> Array:
    """Return an array of N cameras with ``spare`` axes put in behind the first, to meet a picture's."""
    return of_camera.reshape(of_camera.shape[0], *(1,) * spare, *of_camera.shape[1:])

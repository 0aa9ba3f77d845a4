"""Compiled solver: one solution after another, the fast way and where it fails the certain way.

Unknowns are the logarithms of the free components' activities, H+ among them.
Electroneutrality is used as a balance of H+: with the total of each other
component fixed, "charges sum to nothing" and "H+ bound and free sums to
``-(sum z T + strong)``" are the same equation. At fixed activity coefficients
the problem is then the minimum of a convex function, the dual of the Gibbs
energy: its solution is unique, and the balance of H+ rises with H+.

* ``_newton``: logarithms of all balances and of ionic strength together. Where
  one total is off by more than a factor e it is first brought near by itself.
* ``_bracketed``: a bracket of ionic strength, in it one of pH, in it the convex
  mass balances with backtracking. Slow, and unable to fail.

Plain functions on flat arrays; numba compiles each on its first call. ``act``
lists the species that can be there; ``parts`` and ``coefs`` give their
components (H+ first, -1 to fill up) and counts; ``place`` says which unknown a
component is. All in one file, because numba's cache is renewed only when the
file of the function that is called from outside has changed.
"""

# ruff: noqa: ANN001, ANN202
# mypy: disallow-untyped-defs=False, disallow-incomplete-defs=False, check-untyped-defs=False
from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from inkhorn.chemistry.arrays import Array
from inkhorn.chemistry.threads import in_parts

_H = 0  # index of H+ among the components
_LN_10 = float(np.log(10))
# numbers-in-code: the range of double precision
_HIGHEST = 300  # of an exponent, against overflow on the way
_TINY = 1e-300
_SMALL = 1e-9
_TOLERANCE = 1e-11
_ITERATIONS = 60
_STEP = 3
_WORTH_A_THREAD = 128  # rows: below, handing them over takes longer than solving them
_START = 2  # pH from which a solution without free acid is approached


@njit(cache=True)
def _gammas(strength, a, b, act, charges, kind, size, linear, numbers, out, slope):
    """Natural log of each species' activity coefficient, and its slope in ln I, into ``out`` and ``slope``."""
    davies, salting, limit = numbers[0], numbers[1], numbers[3]
    i = min(strength, limit)
    free = _LN_10 if strength < limit else 0.0  # held above the limit
    root = np.sqrt(i)
    one = 1 + root
    plain = _LN_10 * a * (root / one - davies * i)
    plain_slope = free * a * (0.5 * root / (one * one) - davies * i)
    for s in act:
        z2 = charges[s] * charges[s]
        if kind[s] == 0:
            wide = 1 / (1 + b * size[s] * root)
            out[s] = _LN_10 * (-a * z2 * root * wide + linear[s] * i)
            slope[s] = free * (-0.5 * a * z2 * root * wide * wide + linear[s] * i)
        elif kind[s] == 1:
            out[s] = -plain * z2
            slope[s] = -plain_slope * z2
        else:
            out[s] = _LN_10 * salting * i
            slope[s] = free * salting * i


@njit(cache=True)
def _amounts(lam, ln_aw, ln_k, gam, act, parts, coefs, water, out):
    """Molality of each species from the log activities of the components, into ``out``."""
    for s in act:
        e = ln_k[s] - gam[s] + water[s] * ln_aw
        for p in range(parts.shape[1]):
            c = parts[s, p]
            if c < 0:
                break
            e += coefs[s, p] * lam[c]
        out[s] = np.exp(min(e, _HIGHEST))


@njit(cache=True)
def _strength_of(n, act, charges, strong):
    """Ionic strength, the untracked strong ions counted as singly charged."""
    total = abs(strong)
    for s in act:
        total += charges[s] * charges[s] * n[s]
    return 0.5 * total


@njit(cache=True)
def _ln_water(n, act, fall):
    """Natural log of the activity of water (Raoult's law, as the reference program has it)."""
    total = 0.0
    for s in act:
        total += n[s]
    return np.log(max(1 - fall * total, 0.5))


@njit(cache=True)
def _eliminate(m, v, k):
    """Solve the leading ``k`` equations of ``m x = v`` in place; False where singular."""
    for i in range(k):
        p = i
        for r in range(i + 1, k):
            if abs(m[r, i]) > abs(m[p, i]):
                p = r
        if abs(m[p, i]) < _TINY:
            return False
        if p != i:
            for c in range(i, k):
                m[i, c], m[p, c] = m[p, c], m[i, c]
            v[i], v[p] = v[p], v[i]
        for r in range(i + 1, k):
            f = m[r, i] / m[i, i]
            if f != 0:
                for c in range(i + 1, k):
                    m[r, c] -= f * m[i, c]
                v[r] -= f * v[i]
    for i in range(k - 1, -1, -1):
        for c in range(i + 1, k):
            v[i] -= m[i, c] * v[c]
        v[i] /= m[i, i]
    return True


@njit(cache=True)
def _balances(n, slope, act, parts, coefs, charges, totals, strong, strength, place, k, jac, res, up, down):
    """Log residuals of the ``k`` balances and of the ionic strength, and their Jacobian.

    Unknown 0 is ln a(H+), the last one ln I; ``place`` says which unknown a
    component is. Returns the largest residual of the components.
    """
    plus = max(0.0, -totals[_H], _TINY)
    minus = max(0.0, totals[_H], _TINY)
    level = max(0.5 * abs(strong), _TINY)
    for i in range(k + 1):
        res[i] = _TINY
        up[i] = 0.0
        down[i] = 0.0
        for j in range(k + 1):
            jac[i, j] = 0.0
    for s in act:
        m = n[s]
        h = coefs[s, 0] * m if parts[s, 0] == _H else 0.0
        if h > 0:
            plus += h
            up[k] -= h * slope[s]
        elif h < 0:
            minus -= h
            down[k] += h * slope[s]
        q = 0.5 * charges[s] * charges[s] * m
        level += q
        jac[k, k] += q * slope[s]
        for p in range(parts.shape[1]):
            c = parts[s, p]
            if c < 0:
                break
            i, f = place[c], coefs[s, p]
            if h > 0:
                up[i] += h * f
            elif h < 0:
                down[i] -= h * f
            jac[k, i] -= q * f
            if c == _H:
                continue
            w = f * m
            res[i] += w
            jac[i, k] -= w * slope[s]
            for o in range(parts.shape[1]):
                d = parts[s, o]
                if d < 0:
                    break
                jac[i, place[d]] += w * coefs[s, o]
    res[0] = np.log(plus / minus)
    for j in range(k + 1):
        jac[0, j] = up[j] / plus - down[j] / minus
    worst = abs(res[0])
    for c in range(1, place.size):
        i = place[c]
        if i < 0:
            continue
        inverse = 1 / res[i]
        for j in range(k + 1):
            jac[i, j] *= inverse
        res[i] = np.log(res[i] / totals[c])
        worst = max(worst, abs(res[i]))
    res[k] = np.log(strength / level)
    for j in range(k + 1):
        jac[k, j] /= level
    jac[k, k] += 1.0
    return worst


@njit(cache=True)
def _newton(lam, n, start, totals, strong, ln_k, a, b, table, act, place, k, work):
    """Newton on log balances and ln I together; returns (done, strength)."""
    parts, coefs, water, charges, kind, size, linear, numbers = table
    gam, slope, jac, res, up, down = work
    strength, ln_aw = max(start, _SMALL), 0.0
    for _ in range(_ITERATIONS):
        _gammas(strength, a, b, act, charges, kind, size, linear, numbers, gam, slope)
        _amounts(lam, ln_aw, ln_k, gam, act, parts, coefs, water, n)
        worst = _balances(
            n, slope, act, parts, coefs, charges, totals, strong, strength, place, k, jac, res, up, down
        )
        fresh_aw = _ln_water(n, act, numbers[2])
        if worst < _TOLERANCE and abs(res[k]) < _TOLERANCE and abs(fresh_aw - ln_aw) < _TOLERANCE:
            return True, strength
        far = False
        for i in range(1, k):
            if abs(res[i]) > 1:
                far = True
        if far:  # bring each total near by itself, at this pH
            for c in range(1, place.size):
                i = place[c]
                if i >= 0:
                    lam[c] -= res[i] / max(jac[i, i], 1.0)
            continue
        if not _eliminate(jac, res, k + 1):
            return False, strength
        largest = 0.0
        for i in range(k):
            largest = max(largest, abs(res[i]))
        if not largest < np.inf:
            return False, strength
        scale = 1.0 if largest < _STEP else _STEP / largest
        for c in range(place.size):
            if place[c] >= 0:
                lam[c] -= scale * res[place[c]]
        strength = min(strength * np.exp(-min(max(scale * res[k], -1.0), 1.0)), 10 * numbers[3])
        ln_aw = fresh_aw
    return False, strength


@njit(cache=True)
def _dual(n, lam, act, totals, place):
    """Value of the convex dual: all molalities less the totals' share of the log activities."""
    value = 0.0
    for s in act:
        value += n[s]
    for c in range(1, place.size):
        if place[c] >= 0:
            value -= totals[c] * lam[c]
    return value


@njit(cache=True)
def _slopes(n, act, parts, coefs, place, k, grad, hess):
    """Take sums of the components and the dual's second derivatives, H+ held fixed."""
    for i in range(k):
        grad[i] = 0.0
        for j in range(k):
            hess[i, j] = 0.0
    for s in act:
        for p in range(parts.shape[1]):
            c = parts[s, p]
            if c < 0:
                break
            if c == _H:
                continue
            w = coefs[s, p] * n[s]
            grad[place[c]] += w
            for o in range(parts.shape[1]):
                d = parts[s, o]
                if d < 0:
                    break
                if d != _H:
                    hess[place[c], place[d]] += w * coefs[s, o]
    hess[0, 0] = 1.0


@njit(cache=True)
def _convex(lam, n, totals, ln_k, ln_aw, gam, act, parts, coefs, water, place, k, work):
    """Mass balances at a fixed pH: Newton with backtracking on the convex dual; returns H+ bound and free."""
    hess, grad, step = work[2], work[3], work[4]
    trial = lam.copy()
    # numbers-in-code: rounds before giving up
    for _ in range(40):  # bring each total near before Newton
        _amounts(lam, ln_aw, ln_k, gam, act, parts, coefs, water, n)
        _slopes(n, act, parts, coefs, place, k, grad, hess)
        far = 0.0
        for c in range(1, place.size):
            if place[c] >= 0:
                gap = np.log(totals[c] / max(grad[place[c]], _TINY))
                far = max(far, abs(gap))
                lam[c] += gap / 3
        if far < 1:
            break
    # numbers-in-code: rounds before giving up
    for _ in range(200):
        _amounts(lam, ln_aw, ln_k, gam, act, parts, coefs, water, n)
        _slopes(n, act, parts, coefs, place, k, grad, hess)
        value = _dual(n, lam, act, totals, place)
        worst = 0.0
        for c in range(1, place.size):
            i = place[c]
            if i >= 0:
                worst = max(worst, abs(np.log(max(grad[i], _TINY) / totals[c])))
                grad[i] -= totals[c]
        step[:] = grad
        if worst < _TOLERANCE / 10 or not _eliminate(hess, step, k):
            break
        slope = 0.0
        for i in range(1, k):
            slope += grad[i] * step[i]
        size = 1.0
        for _ in range(60):
            for c in range(place.size):
                trial[c] = lam[c]
                if c != _H and place[c] >= 0:
                    trial[c] -= size * step[place[c]]
            _amounts(trial, ln_aw, ln_k, gam, act, parts, coefs, water, n)
            if _dual(n, trial, act, totals, place) <= value - 1e-6 * size * slope + abs(value) * 1e-15:
                break
            size *= 0.5
        lam[:] = trial
        if size * slope <= abs(value) * 1e-16:
            break
    _amounts(lam, ln_aw, ln_k, gam, act, parts, coefs, water, n)
    held = 0.0
    for s in act:
        if parts[s, 0] == _H:
            held += coefs[s, 0] * n[s]
    return held


@njit(cache=True)
def _at_strength(lam, n, strength, totals, strong, ln_k, a, b, table, act, place, k, work):
    """Solution at given activity coefficients, pH bracketed and halved; returns its ionic strength."""
    parts, coefs, water, charges, kind, size, linear, numbers = table
    gam, slope = work[0], work[1]
    _gammas(strength, a, b, act, charges, kind, size, linear, numbers, gam, slope)
    ln_aw = 0.0
    for _ in range(3):
        # numbers-in-code: a bracket wider than any pH
        low, high = -20 * _LN_10, 5 * _LN_10  # of ln a(H+)
        for _ in range(60):
            lam[_H] = 0.5 * (low + high)
            held = _convex(lam, n, totals, ln_k, ln_aw, gam, act, parts, coefs, water, place, k, work)
            if held > totals[_H]:
                high = lam[_H]
            else:
                low = lam[_H]
        ln_aw = _ln_water(n, act, numbers[2])
    return _strength_of(n, act, charges, strong)


@njit(cache=True)
def _bracketed(lam, n, totals, strong, ln_k, a, b, table, act, place, k, work):
    """Bracket the ionic strength around `at_strength`; returns it."""
    low, high = 0.0, 1e-3
    while high < 1e6:
        if _at_strength(lam, n, high, totals, strong, ln_k, a, b, table, act, place, k, work) <= high:
            break
        low, high = high, 4 * high
    # numbers-in-code: halvings of a bracket, down to rounding
    for _ in range(45):
        mid = 0.5 * (low + high)
        if _at_strength(lam, n, mid, totals, strong, ln_k, a, b, table, act, place, k, work) > mid:
            low = mid
        else:
            high = mid
    return 0.5 * (low + high)


@njit(cache=True)
def _begin(t, balance, place, lam):
    """First guess: every component free, H+ as the free acid or at a low pH."""
    for c in range(place.size):
        lam[c] = np.log(t[c]) if place[c] > 0 else 0.0
    lam[_H] = np.log(min(balance, 1.0)) if balance > 1e-6 else -_START * _LN_10


@njit(cache=True)
def _choose(t, parts, place, act):
    """Give a number to the components that are there and list the species they can make; returns both counts."""
    k = 0
    for c in range(place.size):
        place[c] = -1
        if c == _H or t[c] > 0:
            place[c] = k
            k += 1
    species = 0
    for s in range(parts.shape[0]):
        there = True
        for p in range(parts.shape[1]):
            c = parts[s, p]
            if c >= 0 and place[c] < 0:
                there = False
        if there:
            act[species] = s
            species += 1
    return k, species


@njit(cache=True, nogil=True)
def _solve_all(totals, strong, ln_k, a, b, table, masters, robust, out, ln_h, strengths):
    """Solve each row; counts the rows that needed the bracketed way."""
    parts, charges = table[0], table[3]
    species, components = parts.shape[0], totals.shape[1]
    room = np.empty(species, np.int64)
    place = np.empty(components, np.int64)
    lam, kept = np.empty(components), np.empty(species)
    work = (
        np.zeros(species),
        np.zeros(species),
        np.zeros((components + 1, components + 1)),
        np.zeros(components + 1),
        np.zeros(components + 1),
        np.zeros(components + 1),
    )
    fallen = 0
    for row in range(totals.shape[0]):
        t, n, q = totals[row].copy(), out[row], strong[row]
        balance, guess = -q, 0.5 * abs(q)
        for c in range(1, components):
            z = charges[masters[c]]
            balance -= z * t[c]
            guess += 0.5 * 0.5 * z * z * t[c]
        t[_H] = balance
        k, count = _choose(t, parts, place, room)
        act = room[:count]
        kk = ln_k[row % ln_k.shape[0]]
        aa, bb = a[row % a.size], b[row % b.size]
        _begin(t, balance, place, lam)
        done, strength = False, 0.0
        if not robust:
            done, strength = _newton(lam, n, guess, t, q, kk, aa, bb, table, act, place, k, work)
        if not done:
            fallen += 1
            _begin(t, balance, place, lam)
            strength = _bracketed(lam, n, t, q, kk, aa, bb, table, act, place, k, work)
            kept[:] = n
            sure = lam[_H]
            ok, finer = _newton(lam, n, strength, t, q, kk, aa, bb, table, act, place, k, work)
            if ok:
                strength = finer
            else:
                lam[_H] = sure
                n[:] = kept
        ln_h[row] = lam[_H]
        strengths[row] = strength
    return fallen


def solve_rows(
    totals: Array,
    *,
    strong: Array,
    ln_k: Array,
    a: Array,
    b: Array,
    table: tuple[Any, ...],
    masters: NDArray[np.int64],
    robust: bool = False,
) -> tuple[Array, Array, Array, int]:
    """Solve ``N`` solutions.

    Parameters
    ----------
    totals : ndarray
        ``(N, C)``, mol/kg; the column of H+ is ignored.
    strong : ndarray
        ``(N,)``, eq/kg.
    ln_k : ndarray
        ``(1 or N, S)``, natural log.
    a, b : ndarray
        ``(1 or N,)``, Debye-Hueckel parameters.
    table : tuple of ndarray
        Components of each species (S, P), H+ first and -1 to fill up; their
        counts (S, P); water, charges, kind, ion size, linear (S,); and the
        four numbers davies, salting, water activity, limit.
    masters : ndarray
        ``(C,)``, which species each component is.
    robust : bool, optional
        Go the bracketed way for every row (for checks).

    Returns
    -------
    tuple
        Molalities ``(N, S)``, ln activity of H+ ``(N,)``, ionic strength
        ``(N,)``, and how many rows went the bracketed way.
    """
    rows = totals.shape[0]
    amounts = np.zeros((rows, table[0].shape[0]))
    ln_h, strengths = np.zeros(rows), np.zeros(rows)

    def part(of: slice) -> int:
        own_k, own_a, own_b = (x[of] if len(x) == rows else x for x in (ln_k, a, b))
        return int(
            _solve_all(
                totals[of],
                strong[of],
                own_k,
                own_a,
                own_b,
                table,
                masters,
                robust,
                amounts[of],
                ln_h[of],
                strengths[of],
            )
        )

    fallen = sum(in_parts(part, rows, least=_WORTH_A_THREAD))
    return amounts, ln_h, strengths, fallen

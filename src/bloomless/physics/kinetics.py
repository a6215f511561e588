"""Closed forms of isothermal crystallisation used in the literature, to compare data and curves with."""

from __future__ import annotations

import math

from bloomless.errors import OutsideValidity

__all__ = ["avrami", "avrami_half_time", "avrami_rate", "foubert", "foubert_half_time"]


def avrami(time: float, k: float, n: float) -> float:
    """Crystallised share of what will crystallise [-]: ``F = 1 − exp(−k tⁿ)``.

    Parameters
    ----------
    time
        In the unit that ``k`` is in, usually minutes.
    k
        Rate constant [1/timeⁿ].
    n
        Exponent: 4 sporadic nuclei and spherulites, 3 instantaneous and spherulites, 2–1 plates or needles.
    """
    return 1.0 - math.exp(-k * time**n)


def avrami_half_time(k: float, n: float) -> float:
    """Time until half has crystallised: ``(ln 2/k)^(1/n)``."""
    return float((math.log(2.0) / k) ** (1.0 / n))


def avrami_rate(crystallised: float, k: float, n: float) -> float:
    """Rate form for a temperature that changes [1/time]: ``n k^(1/n) (1 − F)(−ln(1 − F))^((n−1)/n)``.

    Isokinetic: holds only if n does not depend on temperature; needs ``0 < F < 1`` to start.

    Raises
    ------
    OutsideValidity
        If F is not between 0 and 1.
    """
    if not 0.0 < crystallised < 1.0:
        raise OutsideValidity(f"The rate form needs a crystallised share between 0 and 1, not {crystallised:g}.")
    left = 1.0 - crystallised
    return float(n * k ** (1.0 / n) * left * (-math.log(left)) ** ((n - 1.0) / n))


def foubert(time: float, rate: float, n: float, start: float) -> float:
    """Share not yet crystallised [-], first-order forward and order-n reverse reaction.

    ``dh/dt = K (hⁿ − h)``; closed form ``h = {1 + [(1 − F₀)^(1−n) − 1] exp((n−1) K t)}^(1/(1−n))``.

    Parameters
    ----------
    time, rate
        Time and ``K``, in matching units.
    n
        Order of the reverse reaction, above 1.
    start
        Crystallised share at time 0, between 0 and 1.

    Raises
    ------
    OutsideValidity
        If n or the start is outside that.

    References
    ----------
    Foubert et al. 2002; the form is from memory and agrees with the abstract, the closed form is derived.
    """
    return float((1.0 + _lead(n, start) * math.exp((n - 1.0) * rate * time)) ** (1.0 / (1.0 - n)))


def foubert_half_time(rate: float, n: float, start: float) -> float:
    """Time until half has crystallised: ``ln[(2^(n−1) − 1)/((1−F₀)^(1−n) − 1)]/((n−1) K)``; see ``foubert``."""
    return math.log((2.0 ** (n - 1.0) - 1.0) / _lead(n, start)) / ((n - 1.0) * rate)


def _lead(n: float, start: float) -> float:
    if not (n > 1.0 and 0.0 < start < 1.0):
        raise OutsideValidity(f"The model needs n > 1 and a start between 0 and 1, not {n:g} and {start:g}.")
    return float((1.0 - start) ** (1.0 - n) - 1.0)

"""How the temperature answers power: five heat stores and an offset, learned as the session goes, a second at a time.

Written out for its six unknowns: nothing else here is done so often, and loops over lists cost five times as much.
"""

from __future__ import annotations

from math import exp

TAUS_S = (2.5, 10.0, 40.0, 160.0, 640.0)
"""Time constants of die, spreader, heatsink foot, fins and case: each four times the last, so that any is near one."""
_FIRST, _SECOND, _THIRD, _FOURTH, _FIFTH = TAUS_S
SHARE_K, SHARE_DOUBT_K, START_DOUBT_K = 8.0, 12.0, 1.5
"""Before anything is seen: each part gives 8 ± 12 K at the first load's power, and the start is known to 1.5 K."""
NOISE_K2 = 4.0
"""Neighbouring seconds are not independent: 2 K each."""
STEP_SHARE, LOOK_SHARE = 0.15, 0.04
"""A power that moves by this share begins a new answer; looks at it are spaced by this share of its age."""

Five = tuple[float, float, float, float, float]
"""One number for each time constant."""
_AT_REST: Five = (0.0, 0.0, 0.0, 0.0, 0.0)


def _steps(dt_s: float) -> Five:
    """The share of its way that each store goes in a time [s]."""
    return (
        1.0 - exp(-dt_s / _FIRST),
        1.0 - exp(-dt_s / _SECOND),
        1.0 - exp(-dt_s / _THIRD),
        1.0 - exp(-dt_s / _FOURTH),
        1.0 - exp(-dt_s / _FIFTH),
    )


class ThermalAnswer:
    """T = start + offset + Σ share · state; each state follows relative power with its time constant.

    Recursive least squares over six unknowns. Looks are spaced by the age of the last step of power: it costs next to
    nothing, and long plateaus do not drown the steps.
    """

    __slots__ = (
        "_cov", "_is_start_seen", "_last_s", "_look_s", "_power_w", "_reference_w", "_start_c", "_start_w", "_step_s",
        "_steps", "_steps_for_s", "is_known", "shares", "states",
    )  # fmt: skip

    def __init__(self) -> None:
        """Start with what is common to all machines."""
        self.states = _AT_REST
        self.shares = (SHARE_K, SHARE_K, SHARE_K, SHARE_K, SHARE_K, 0.0)
        doubt, offset = SHARE_DOUBT_K**2, START_DOUBT_K**2
        # rows of the upper triangle, one after the other
        self._cov = (
            doubt, 0.0, 0.0, 0.0, 0.0, 0.0,
            doubt, 0.0, 0.0, 0.0, 0.0,
            doubt, 0.0, 0.0, 0.0,
            doubt, 0.0, 0.0,
            doubt, 0.0,
            offset,
        )  # fmt: skip
        self.is_known = False
        """True once a load was seen to start."""
        self._last_s = self._step_s = 0.0
        self._look_s = float("-inf")
        self._start_c = self._start_w = self._power_w = 0.0
        self._reference_w = 0.0
        self._is_start_seen = False
        self._steps_for_s = 0.0
        self._steps = _AT_REST

    def feed(self, t_s: float, power_w: float, temp_c: float, *, is_loaded: bool) -> None:
        """Take a second's mean of power and temperature, limited or not."""
        if not self.is_known and not self._begins(t_s, power_w, temp_c, is_loaded=is_loaded):
            return
        dt_s, self._last_s = t_s - self._last_s, t_s
        if dt_s > 30.0:
            dt_s = 30.0
        if dt_s != self._steps_for_s:
            self._steps_for_s, self._steps = dt_s, _steps(dt_s)
        relative = (power_w - self._start_w) / self._reference_w
        a, b, c, d, e = self.states
        step_a, step_b, step_c, step_d, step_e = self._steps
        self.states = (
            a + step_a * (relative - a),
            b + step_b * (relative - b),
            c + step_c * (relative - c),
            d + step_d * (relative - d),
            e + step_e * (relative - e),
        )
        if abs(power_w - self._power_w) > STEP_SHARE * self._reference_w:
            self._power_w, self._step_s = power_w, t_s
        if t_s >= self._look_s:
            self._look_s = t_s + max(1.0, LOOK_SHARE * (t_s - self._step_s)) - 0.05
            self._learn(temp_c - self._start_c)

    def _begins(self, t_s: float, power_w: float, temp_c: float, *, is_loaded: bool) -> bool:
        """Before a load was seen to start: whether this is it."""
        if not is_loaded:
            share = 0.2 if self._is_start_seen else 1.0
            self._is_start_seen = True
            self._start_w += share * (power_w - self._start_w)
            self._start_c += share * (temp_c - self._start_c)
            self._last_s = t_s
            return False
        if not self._is_start_seen:
            return False  # what it was like without load was never seen
        self._reference_w = max(power_w - self._start_w, 0.3 * power_w)
        self._power_w, self._step_s = power_w, t_s
        self.is_known = self._reference_w > 0.0
        return self.is_known

    def _learn(self, rise_k: float) -> None:
        a, b, c, d, e = self.states
        aa, ab, ac, ad, ae, ao, bb, bc, bd, be, bo, cc, cd, ce, co, dd, de, do, ee, eo, oo = self._cov
        gain_a = aa * a + ab * b + ac * c + ad * d + ae * e + ao
        gain_b = ab * a + bb * b + bc * c + bd * d + be * e + bo
        gain_c = ac * a + bc * b + cc * c + cd * d + ce * e + co
        gain_d = ad * a + bd * b + cd * c + dd * d + de * e + do
        gain_e = ae * a + be * b + ce * c + de * d + ee * e + eo
        gain_o = ao * a + bo * b + co * c + do * d + eo * e + oo
        scale = NOISE_K2 + (gain_a * a + gain_b * b + gain_c * c + gain_d * d + gain_e * e + gain_o)
        of_a, of_b, of_c, of_d, of_e, offset = self.shares
        wrong = (rise_k - (of_a * a + of_b * b + of_c * c + of_d * d + of_e * e + offset)) / scale
        self.shares = (
            of_a + wrong * gain_a,
            of_b + wrong * gain_b,
            of_c + wrong * gain_c,
            of_d + wrong * gain_d,
            of_e + wrong * gain_e,
            offset + wrong * gain_o,
        )
        self._cov = (
            aa - gain_a * gain_a / scale,
            ab - gain_a * gain_b / scale,
            ac - gain_a * gain_c / scale,
            ad - gain_a * gain_d / scale,
            ae - gain_a * gain_e / scale,
            ao - gain_a * gain_o / scale,
            bb - gain_b * gain_b / scale,
            bc - gain_b * gain_c / scale,
            bd - gain_b * gain_d / scale,
            be - gain_b * gain_e / scale,
            bo - gain_b * gain_o / scale,
            cc - gain_c * gain_c / scale,
            cd - gain_c * gain_d / scale,
            ce - gain_c * gain_e / scale,
            co - gain_c * gain_o / scale,
            dd - gain_d * gain_d / scale,
            de - gain_d * gain_e / scale,
            do - gain_d * gain_o / scale,
            ee - gain_e * gain_e / scale,
            eo - gain_e * gain_o / scale,
            oo - gain_o * gain_o / scale,
        )

    def move(self, states: Five, power_w: float, age_s: float) -> tuple[float, float]:
        """Kelvin, and their variance, by which it would move in ``age_s`` from ``states`` on at a constant power."""
        relative = (power_w - self._start_w) / self._reference_w
        a, b, c, d, e = states
        return self._answer((relative - a, relative - b, relative - c, relative - d, relative - e), age_s)

    def dip(self, power_w: float, age_s: float) -> tuple[float, float]:
        """Kelvin, and their variance, by which a step of so many watts moves it within ``age_s``."""
        pull = power_w / self._reference_w
        return self._answer((pull, pull, pull, pull, pull), age_s)

    def _answer(self, pulls: Five, age_s: float) -> tuple[float, float]:
        a, b, c, d, e = pulls
        a *= 1.0 - exp(-age_s / _FIRST)
        b *= 1.0 - exp(-age_s / _SECOND)
        c *= 1.0 - exp(-age_s / _THIRD)
        d *= 1.0 - exp(-age_s / _FOURTH)
        e *= 1.0 - exp(-age_s / _FIFTH)
        aa, ab, ac, ad, ae, _, bb, bc, bd, be, _, cc, cd, ce, _, dd, de, _, ee, _, _ = self._cov
        variance = (
            a * (aa * a + ab * b + ac * c + ad * d + ae * e)
            + b * (ab * a + bb * b + bc * c + bd * d + be * e)
            + c * (ac * a + bc * b + cc * c + cd * d + ce * e)
            + d * (ad * a + bd * b + cd * c + dd * d + de * e)
            + e * (ae * a + be * b + ce * c + de * d + ee * e)
        )
        of_a, of_b, of_c, of_d, of_e, _ = self.shares
        return of_a * a + of_b * b + of_c * c + of_d * d + of_e * e, variance if variance > 0.0 else 0.0

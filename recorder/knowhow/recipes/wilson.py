"""How sure a share of accepted splices is: Wilson's score interval."""

from __future__ import annotations

import math

from recorder.knowhow.recipes.answer import Share

# 97.5 % quantile of the standard normal distribution, for 95 % in the middle.
_Z = 1.959963984540054


def percent(part: float) -> str:
    """Whole percents; what is neither all nor nothing does not read as such: '<1', '>99'."""
    whole = round(100 * part)
    if whole == 100 and part < 1:
        return ">99"
    return "<1" if whole == 0 and part > 0 else str(whole)


def share(accepted: int, of: int) -> Share:
    """The interval in which the true share lies at 95 %; from 0 to 1 where nothing was tried.

    E. B. Wilson, "Probable inference, the law of succession, and statistical inference", J. Am.
    Stat. Assoc. 22 (1927) 209-212; as in the NIST/SEMATECH e-Handbook, 7.2.4.1. Raises ValueError
    unless 0 <= accepted <= of.
    """
    if not 0 <= accepted <= of:
        raise ValueError(f"{accepted} of {of} is no share")
    if of == 0:
        return Share(accepted=0, of=0, low=0.0, high=1.0)
    part, square = accepted / of, _Z * _Z
    middle = (part + square / (2 * of)) / (1 + square / of)
    half = _Z * math.sqrt(part * (1 - part) / of + square / (4 * of * of)) / (1 + square / of)
    return Share(
        accepted=accepted,
        of=of,
        low=0.0 if accepted == 0 else middle - half,
        high=1.0 if accepted == of else middle + half,
    )

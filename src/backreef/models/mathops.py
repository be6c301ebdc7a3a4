"""Elementary functions that serve numbers, arrays and symbols alike.

A rate law is written once, with these functions and ``+ - * /``. Called with arrays it is the oracle;
called with the symbols of `symbols.py` it is recorded and becomes compiled code. Anything a law does must
go through here.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Quantity = Any
"""A float, a numpy array (lanes last) or a `symbols.Symbol`: laws treat all three alike."""

SMOOTH_MINIMUM_THETA = 0.999
"""Roundness of `smooth_minimum`: 1 would be the sharp minimum. A numerical choice, see docs/adr."""


def _recorded(*values: Quantity) -> Any:
    """Give the first symbol among the values, or None when all are plain numbers."""
    for value in values:
        if hasattr(value, "recorder"):
            return value
    return None


def exp(x: Quantity) -> Quantity:
    """Give e to the power x. [-]"""
    return x.exp() if hasattr(x, "recorder") else np.exp(x)


def log(x: Quantity) -> Quantity:
    """Give the natural logarithm of x > 0. [-]"""
    return x.log() if hasattr(x, "recorder") else np.log(x)


def sqrt(x: Quantity) -> Quantity:
    """Give the square root of x >= 0."""
    return x.sqrt() if hasattr(x, "recorder") else np.sqrt(x)


def select(test: Quantity, positive: Quantity, otherwise: Quantity) -> Quantity:
    """Give `positive` in the lanes where test > 0 and `otherwise` elsewhere."""
    symbol = _recorded(test, positive, otherwise)
    if symbol is not None:
        return symbol.recorder.select(test, positive, otherwise)
    return np.where(np.asarray(test) > 0.0, positive, otherwise)


def maximum(a: Quantity, b: Quantity) -> Quantity:
    """Give the larger one; sharp, so only for values that no derivative is taken of."""
    return select(a - b, a, b)


def minimum(a: Quantity, b: Quantity) -> Quantity:
    """Give the smaller one; sharp, so only for values that no derivative is taken of."""
    return select(b - a, a, b)


def smooth_minimum(a: Quantity, b: Quantity) -> Quantity:
    """Give a smooth form of min(a, b) for a, b >= 0; exactly 0 where either is 0 and never above either.

    2ab / (a + b + sqrt((a + b)^2 - 4 theta a b) + 1e-30) with theta = 0.999: at a = b it lies 3 % below the
    minimum.
    """
    total = a + b
    return 2.0 * a * b / (total + sqrt(total * total - 4.0 * SMOOTH_MINIMUM_THETA * a * b + 1e-60) + 1e-30)


def ramp(x: Quantity, width: Quantity) -> Quantity:
    """Give a smooth form of max(0, x): 0 up to 0, x^2 / (2 width) up to `width`, x - width / 2 beyond."""
    return select(x, select(x - width, x - 0.5 * width, x * x / (2.0 * width)), 0.0 * x)


def saturation(x: Quantity, half: Quantity) -> Quantity:
    """Give the Monod term x / (half + x). [-]"""
    return x / (half + x)


def power(x: Quantity, exponent: Quantity) -> Quantity:
    """Give x to any real power, for x > 0."""
    return exp(exponent * log(x))

"""Numbers of mathematics and nature that several models share."""

from __future__ import annotations

LN_2 = 0.6931471805599453
"""Natural logarithm of two. [-]"""
LN_10 = 2.302585092994046
"""Natural logarithm of ten. [-]"""
KELVIN_AT_0_C = 273.15
"""Definition of the Celsius scale. [K]"""
BOLTZMANN_EV_PER_K = 8.62e-5
"""Boltzmann's constant as rounded in the sources of our temperature factors. [eV/K]"""

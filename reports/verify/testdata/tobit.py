"""Fits the rotation of a film to isolation readings of which some only say "at least", in decibels: the normal density
of every reading times, for a bound, the normal distribution function (J. Tobin, Econometrica 26, 24, 1958). Reads the
bound that the instrument stops at and its noise in dB, then "wavelength in nm, isolation in dB" a line, "nan" for a
reading beyond the stop. Prints the angle in degrees and its standard uncertainty from the curvature."""
import sys

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.stats import norm

stop, noise = map(float, sys.stdin.readline().split())
nm, read = np.loadtxt(sys.stdin).T
beyond = np.isnan(read)


def isolation(angle):
    rotation = angle * (1 - 0.07 * (nm - 1550) / 45)
    return 0.35 - 10 * np.log10(np.sin(np.radians(rotation - 45)) ** 2 + 1 / (1 + 10 ** 9))


def surprise(angle):
    model = isolation(angle)
    return -norm.logpdf(read[~beyond], model[~beyond], noise).sum() - norm.logcdf((model[beyond] - stop) / noise).sum()


grid = np.linspace(44.9, 45.2, 601)
start = min(grid, key=surprise)
best = minimize_scalar(surprise, bounds=(start - 1e-3, start + 1e-3), method="bounded", options={"xatol": 1e-7}).x
h = 2e-4
print(best, 1 / np.sqrt((surprise(best + h) - 2 * surprise(best) + surprise(best - h)) / h ** 2))

// Package fitting fits models to readings of isolation, in leakage amplitude: near the null of the leakage a decibel
// means nothing, and the amplitude is what an angle error moves in proportion.
//
// A Fitter compares models with readings: residuals whitened by the covariance, and for each bound ("at least 62 dB")
// the likelihood of a reading beyond it (J. Tobin, Econometrica 26, 24, 1958). Search finds the well of chi-squared to
// go down into, a Hypothesis is a set of free parameters with its fit, and FitWithErrors fits the common errors of
// wavelength and temperature as well, exactly. Residual is what is left of one reading once the errors that it shares
// with others are estimated.
package fitting

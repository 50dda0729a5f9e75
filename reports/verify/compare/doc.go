// Package compare sets readings beside models, one by one and as curves over wavelength: the difference, the
// uncertainty on either side, and the normalized error E_n (ISO 13528).
package compare

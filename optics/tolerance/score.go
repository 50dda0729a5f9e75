package tolerance

import "gonum.org/v1/gonum/stat/distuv"

// Score returns the value below which a standard normal variable stays with probability p, from 0 to 1. It is that of
// distuv to the bit, whose middle is written out here, in a form that can be called by the million (M. J. Wichura,
// Algorithm AS 241, Applied Statistics 37, 477, 1988).
func Score(p float64) float64 {
	d := p - 0.5
	if !(d <= 0.425 && d >= -0.425) {
		return distuv.UnitNormal.Quantile(p)
	}
	z := 0.180625 - d*d
	top := ((((((2509.0809287301226727*z+33430.575583588128105)*z+67265.770927008700853)*z+45921.953931549871457)*z+
		13731.693765509461125)*z+1971.5909503065514427)*z+133.14166789178437745)*z + 3.387132872796366608
	bottom := ((((((5226.495278852854561*z+28729.085735721942674)*z+39307.89580009271061)*z+21213.794301586595867)*z+
		5394.1960214247511077)*z+687.1870074920579083)*z+42.313330701600911252)*z + 1
	return d * top / bottom
}

package vocab

import (
	"math"
)

var _ = Register(function("log10", "logarithm to base ten", "log10(1000)", "above zero", aboveZero, math.Log10))

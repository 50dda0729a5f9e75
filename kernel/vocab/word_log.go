package vocab

import (
	"math"
)

var _ = Register(function("log", "natural logarithm", "log(10)", "above zero", aboveZero, math.Log))

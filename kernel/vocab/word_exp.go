package vocab

import (
	"math"
)

var _ = Register(function("exp", "e to the power x", "exp(1)", "", everywhere, math.Exp))

package vocab

import (
	"math"
)

var _ = Register(inverse("atan", "angle whose tangent is x, from −90° to 90°", "atan(1)", "", everywhere, math.Atan))

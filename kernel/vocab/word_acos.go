package vocab

import (
	"math"
)

var _ = Register(inverse("acos", "angle whose cosine is x, from 0° to 180°", "acos(0.5)", "from -1 to 1",
	withinOne, math.Acos))

package vocab

import (
	"math"
)

var _ = Register(inverse("asin", "angle whose sine is x, from −90° to 90°", "asin(0.5)", "from -1 to 1",
	withinOne, math.Asin))

package vocab

import (
	"math"
)

var _ = Register(trigonometric("sin", "sine of an angle", "sin(30*deg)", math.Sin))

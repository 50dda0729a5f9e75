package vocab

import (
	"math"
)

var _ = Register(trigonometric("cos", "cosine of an angle", "cos(60*deg)", math.Cos))

package vocab

import (
	"math"
)

var _ = Register(trigonometric("tan", "tangent of an angle", "tan(13*deg)", math.Tan))

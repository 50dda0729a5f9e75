package vocab

import "wedgework/optics/tolerance"

var _ = Register(toleranceWord(tolerance.Triangular, "tolerance with a triangular distribution", "half-width"))

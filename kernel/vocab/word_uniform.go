package vocab

import "wedgework/reports/verify"

var _ = Register(toleranceWord(verify.Uniform, "tolerance with a uniform distribution", "half-width"))

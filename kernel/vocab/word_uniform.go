package vocab

import "wedgework/reports/verify"

var _ = Register(toleranceWord(verify.Uniform, "a tolerance with every value between two bounds equally likely", "the half-width"))

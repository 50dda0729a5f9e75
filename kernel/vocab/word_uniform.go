package vocab

import "wedgework/reports/verify"

var _ = Register(toleranceWord(verify.Uniform, "a tolerance within which every value is equally likely", "the half-width"))

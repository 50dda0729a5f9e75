package vocab

import "wedgework/reports/verify"

var _ = Register(toleranceWord(verify.Normal, "a tolerance with a normal distribution", "the standard deviation"))

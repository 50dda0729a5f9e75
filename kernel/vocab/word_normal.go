package vocab

import "wedgework/reports/verify"

var _ = Register(toleranceWord(verify.Normal, "tolerance with a normal distribution", "standard deviation"))

package vocab

var _ = Register(boundWord("at_least", "lower limit of a figure", "at_least(30*dB)", true))

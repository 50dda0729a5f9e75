package vocab

var _ = Register(boundWord("at_least", "a bound that a figure must not fall below", "at_least(30*dB)", true))

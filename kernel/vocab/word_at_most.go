package vocab

var _ = Register(boundWord("at_most", "a bound that a figure must not exceed", "at_most(0.6*dB)", false))

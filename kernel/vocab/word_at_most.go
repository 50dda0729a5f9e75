package vocab

var _ = Register(boundWord("at_most", "upper limit of a figure", "at_most(0.6*dB)", false))

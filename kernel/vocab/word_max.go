package vocab

var _ = Register(extreme("max", "maximum of several values, or of a list, sweep or series", "max(0.41*dB, 0.38*dB)", 1))

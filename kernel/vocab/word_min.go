package vocab

var _ = Register(extreme("min", "minimum of several values, or of a list, sweep or series", "min(31.2*dB, 30.4*dB)",
	-1))

package vocab

// spellings are what people write for the names of the vocabulary: units in words and with their signs, and the modules
// of another language, whose functions stand here by themselves.
var spellings = func() map[string]string {
	m := map[string]string{}
	for name, texts := range map[string][]string{
		"nm":  {"nanometer", "nanometers", "nanometre", "nanometres", "NM"},
		"um":  {"µm", "μm", "micron", "microns", "micrometer", "micrometers", "micrometre", "micrometres"},
		"mm":  {"millimeter", "millimeters", "millimetre", "millimetres", "MM"},
		"deg": {"°", "degree", "degrees", "Deg", "DEG"},
		"rad": {"radian", "radians"}, "mrad": {"milliradian", "milliradians"},
		"degC":   {"°C", "celsius", "Celsius", "DegC"},
		"kelvin": {"K", "Kelvin"},
		"dB":     {"db", "DB", "decibel", "decibels"},
		"ps":     {"picosecond", "picoseconds"},
		"GHz":    {"gigahertz", "ghz"},
		"tesla":  {"T", "Tesla"}, "mT": {"millitesla"},
		"percent": {"%", "percentage"},
	} {
		for _, t := range texts {
			m[t] = name
		}
	}
	const alone = "functions stand by themselves: write sin(x), sqrt(x), min(...)"
	for _, module := range []string{"np", "numpy", "math", "cmath", "scipy"} {
		m[module] = alone
	}
	for _, module := range []string{"plt", "pyplot", "matplotlib"} {
		m[module] = "write plot(x, y) or plot(series)"
	}
	for _, module := range []string{"pd", "pandas"} {
		m[module] = `write measured("name", default="file.csv") for readings, table(rows) for tables`
	}
	m["Out"] = "give a result a name to use it again; _ is the result of the last cell"
	m["In"] = "the source of a cell is no value"
	m["_"] = "_ is the value of the last cell, and there is none yet"
	m["isolation"] = "write s.backward(1550*nm).isolation, with s a stack"
	m["insertion_loss"] = "write s.forward(1550*nm).insertion_loss, with s a stack"
	m["open"] = "a cell opens no files: measured() reads readings"
	m["input"] = `write given("name", default), which --set name=... replaces`
	m["isinstance"] = `write type(x) == "quantity"`
	m["float32"], m["float64"] = "write float(x)", "write float(x)"
	m["arange"], m["linspace"] = "write sweep(start, stop, step)", "write sweep(start, stop, count=101)"
	return m
}()

package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
)

// lotFile writes the sweeps of a lot into one file, as a bench does that measures a tray of units in one go: a column
// says of which unit a row is.
func lotFile(dir, lot string, all []unit) error {
	var b bytes.Buffer
	var day string
	for _, u := range all {
		if u.lot != lot {
			continue
		}
		for line := range bytes.Lines(sweep(u)) {
			switch {
			case line[0] == '#' || bytes.HasPrefix(line, []byte("wavelength")) && day != "":
			case day == "":
				day = u.day
				fmt.Fprintf(&b, "# note: invented data, made by testdata/demo/generate\n# lot: %s\n# measured: %s\n"+
					"# source polarization: min-max\n# operator: bench 2\n# power meter: PM-11\n"+
					"# power meter calibration due: 2027-05-12\nunit,%s", lot, day, line)
			default:
				fmt.Fprintf(&b, "%s,%s", u.serial, line)
			}
		}
	}
	return os.WriteFile(filepath.Join(dir, "lot-"+lot+".csv"), b.Bytes(), 0o644)
}

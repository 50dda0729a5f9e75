// Command generate writes the demo sweeps of testdata/demo: invented isolators for an invented job, the 1550 nm
// interrogator of a seabed hydrophone array that works from -5 to 70 degC. Run it from the top of the repository:
//
//	go run ./testdata/demo/generate testdata/demo
//
// The sweeps are made from closed forms alone: Malus's law for the leak, a power fraction for the
// extinction ratio, one reflection beating with the leak, a fixture floor, an instrument's noise. None of
// the program's own optics is used, so that what a report finds in them was not put there by itself.
package main

import (
	"bytes"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// unit is one invented isolator: what was planted in it.
type unit struct {
	serial     string
	error      float64 // rotation error at 1550 nm and 23 degC, deg
	extinction float64 // of the film, dB
	lot, day   string
	step       float64 // of the sweep, nm
	seed       uint64
}

// All units: three with a cause each, and a lot whose films the lapping machine grinds thinner from one to the next.
func units() []unit {
	all := []unit{
		{"0417", +0.06, 42, "26-11", "2026-11-18", 0.5, 1}, // as designed
		{"0418", -0.60, 42, "26-11", "2026-11-18", 0.5, 2}, // film ground too thin: about 0.6 deg short
		{"0419", +0.04, 30, "26-11", "2026-11-18", 0.5, 3}, // film that depolarizes
	}
	rng := rand.New(rand.NewPCG(2612, 0))
	for i := range 12 {
		u := unit{serial: fmt.Sprintf("%04d", 501+i), lot: "26-12", day: "2026-11-24", step: 2, seed: uint64(501 + i)}
		u.error = 0.14 - 0.024*float64(i) + 0.015*rng.NormFloat64()
		u.extinction = 42 + 0.4*rng.NormFloat64()
		if u.serial == "0508" {
			u.extinction = 38.5 // a film of another wafer
		}
		all = append(all, u)
	}
	return all
}

// What all units share.
const (
	perNM       = -0.07   // deg/nm
	perKelvin   = -0.06   // deg/K
	reflectance = 0.0002  // of the film's faces
	index       = 2.33    // of the film
	film        = 391.3e3 // thickness, nm
	loss        = 0.335   // dB forward: collimators, film, coatings, walk-off
	floor       = 62.0    // dB: what the fixture reads with no light through the unit
)

// What the bench adds.
const (
	noise     = 0.04  // dB, each point
	lossNoise = 0.008 // dB, each point
	detector  = 0.03  // of the floor's power, each point
	runLevel  = 0.03  // dB, each temperature
	runNM     = 0.01  // nm, each temperature
	runKelvin = 0.25  // K, each temperature
	scale     = 0.02  // dB, the whole unit: power-meter linearity
	sweepFrom = 1500.0
	sweepTo   = 1580.0
	degree    = math.Pi / 180
)

var temperatures = []float64{-5, 23, 70}

func main() {
	if len(os.Args) != 2 {
		log.Fatal("usage: generate FOLDER")
	}
	for _, u := range units() {
		name := filepath.Join(os.Args[1], "lot-"+u.lot+"-unit-"+u.serial+".csv")
		if err := os.WriteFile(name, sweep(u), 0o644); err != nil {
			log.Fatal(err)
		}
	}
	folder := filepath.Join(os.Args[1], "instruments")
	if err := instruments(folder, units()[0]); err != nil {
		log.Fatal(err)
	}
	if err := lotFile(folder, "26-12", units()); err != nil {
		log.Fatal(err)
	}
}

func sweep(u unit) []byte {
	rng := rand.New(rand.NewPCG(2611, u.seed))
	var b bytes.Buffer
	fmt.Fprintf(&b, "# note: invented data, made by testdata/demo/generate\n"+
		"# unit: %s\n# lot: %s\n# part: HA-1550 isolator core\n# measured: %s\n"+
		"# source polarization: min-max\n# operator: bench 2\n# chamber: CH-2\n"+
		"# tunable source: TS-04\n# tunable source calibration due: 2027-03-01\n"+
		"# power meter: PM-11\n# power meter calibration due: 2027-05-12\n"+
		"# reference taken: %s\n", u.serial, u.lot, u.day, u.day)
	fmt.Fprintln(&b, "wavelength [nm],temperature [degC],isolation [dB],insertion loss [dB],PDL [dB],u(isolation) [dB]")
	level := scale * rng.NormFloat64()
	for _, temperature := range temperatures {
		run := level + runLevel*rng.NormFloat64()
		shift, heat := runNM*rng.NormFloat64(), runKelvin*rng.NormFloat64()
		for nm := sweepFrom; nm <= sweepTo; nm += u.step {
			leak, forward := actual(u, nm+shift, temperature+heat)
			dark := math.Pow(10, -floor/10)
			power := leak + dark*(1+detector*rng.NormFloat64())
			isolation := -10*math.Log10(power) + run + noise*rng.NormFloat64()
			insertion := -10*math.Log10(forward) + 0.3*run + lossNoise*rng.NormFloat64()
			pdl := math.Abs(0.02 + 0.006*rng.NormFloat64())
			spread := math.Hypot(noise, 10/math.Ln10*detector*dark/power)
			fmt.Fprintf(&b, "%.2f,%.1f,%.3f,%.4f,%.3f,%.3f\n", nm, temperature, isolation, insertion, pdl, spread)
		}
	}
	return b.Bytes()
}

// actual is what the unit does without the bench: the power that leaks backward in the worst state of
// polarization, and the power that gets through forward.
func actual(u unit, nm, celsius float64) (leak, forward float64) {
	// The slopes are those of a 45 deg film and go with its thickness.
	angle := (45 + u.error) * (1 + (perNM*(nm-1550)+perKelvin*(celsius-23))/45)
	error := (angle - 45) * degree
	depolarized := 1 / (1 + math.Pow(10, u.extinction/10))
	through := math.Pow(10, -loss/10)
	sin, cos := math.Sin(error), math.Cos(error)
	// A double bounce in the film lands in the passed polarization and beats with the leak. The o and e
	// rays cross the film at different angles, so one of the two beats is always near its worst.
	beat := 2 * math.Pi * 2 * index * film / nm
	worst := 0.0
	for _, lag := range [2]float64{0, 2.4} {
		re, im := -sin+reflectance*math.Cos(beat+lag), reflectance*math.Sin(beat+lag)
		worst = max(worst, re*re+im*im)
	}
	return through * ((1-depolarized)*worst + depolarized*cos*cos), through * ((1-depolarized)*cos*cos +
		depolarized*sin*sin)
}

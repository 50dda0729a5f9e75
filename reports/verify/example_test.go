package verify_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"wedgework/optics/element"
	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
)

// singleStage is a single stage: two wedges of YVO4 and a garnet film between them.
func singleStage() *stack.Stack {
	crystal, err := material.Named("YVO4")
	if err != nil {
		log.Fatal(err)
	}
	film := material.Garnet{Name: "film B", Index: 2.33, Rotation: 1150 * float64(quantity.Degree) / 1e-2,
		PerKelvin: -0.06 * float64(quantity.Degree), PerMetre: -0.07e9 * float64(quantity.Degree),
		Extinction: quantity.Ratio(42), Absorption: 59, At: 1550 * quantity.Nanometre,
		Temperature: quantity.Celsius(23)}
	ar := element.Coating{Reflectance: 0.0002}
	wedge := func(side element.Side, axis float64) element.Wedge {
		return element.Wedge{Crystal: crystal, Slanted: side, Apex: 5 * quantity.Degree,
			Thickness: 0.5 * quantity.Millimetre, Axis: quantity.Angle(axis) * quantity.Degree, Coating: ar}
	}
	gap := element.Gap{Length: 0.1 * quantity.Millimetre}
	s, err := stack.New(stack.Spec{
		Elements: []element.Element{wedge(element.Front, 22.5), gap,
			element.Rotator{Garnet: film, Angle: 45 * quantity.Degree, At: 1550 * quantity.Nanometre,
				Temperature: quantity.Celsius(23), Coating: ar},
			gap, wedge(element.Back, 67.5)},
		Beam: element.Collimator{Waist: 200 * quantity.Micrometre, WorkingDistance: 6 * quantity.Millimetre,
			Loss: 0.22},
		AlignAt: 1550 * quantity.Nanometre, AlignTemperature: quantity.Celsius(23),
	})
	if err != nil {
		log.Fatal(err)
	}
	return s
}

// specification is that of an invented unit of the demo lot, read from a file of the laboratory.
func specification(unit string) verify.Spec {
	name := "lot-26-11-unit-" + unit + ".csv"
	data, err := os.ReadFile("../../testdata/demo/" + name)
	if err != nil {
		log.Fatal(err)
	}
	table, err := measured.Read(measured.NewFile(name, data))
	if err != nil {
		log.Fatal(err)
	}
	readings, err := verify.FromTable(table)
	if err != nil {
		log.Fatal(err)
	}
	return verify.Spec{
		Model:    verify.ForStack(singleStage()),
		Readings: readings,
		Limits: limits.Limits{{Quantity: limits.Isolation, AtLeast: true, Value: 30, Low: 1535 * quantity.Nanometre,
			High: 1565 * quantity.Nanometre, TemperatureLow: quantity.Celsius(23),
			TemperatureHigh: quantity.Celsius(23)}},
		Budget: uncertainty.Budget{
			Contributions: []uncertainty.Contribution{{Name: "repeatability", Value: quantity.Of(0.04, "dB")},
				{Name: "power_meter", Value: quantity.Of(0.03, "dB")}, {Name: "wavelength", Value: quantity.Of(0.02,
					"nm")},
				{Name: "temperature", Value: quantity.Of(0.3, "kelvin")}},
			Floor: &uncertainty.Floor{Level: quantity.Of(62, "dB"), Uncertainty: quantity.Of(0.5, "dB")},
		},
		Tolerances: map[string]verify.Tolerance{
			"rotator1.angle":      {Shape: verify.Uniform, Value: quantity.Of(0.3, "deg")},
			"rotator1.extinction": {Shape: verify.Uniform, Value: quantity.Of(3, "dB")},
		},
		Fit: []string{"rotator1.angle", "rotator1.extinction"},
	}
}

// A unit is verified against its model, its limits and the quality of its readings.
func ExampleRun() {
	r, err := verify.Run(context.Background(), specification("0417"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("unit", r.Unit)
	fmt.Println("model agreement:", r.Agreement.Outcome)
	fmt.Println("limit conformity:", r.Conformity.Outcome)
	fmt.Println("data quality:", r.Quality.Outcome)
	// Output:
	// unit 0417
	// model agreement: pass
	// limit conformity: pass
	// data quality: pass
}

// The diagnosis says which parameters depart from what was specified, and by how much.
func ExampleDiagnosis() {
	r, err := verify.Run(context.Background(), specification("0418"))
	if err != nil {
		log.Fatal(err)
	}
	for _, d := range r.Diagnosis.Departures {
		fmt.Printf("%s: %.1f %s, tolerance ±%.1f: %v\n", d.Path, d.Value, d.Unit.Symbol(), d.Tolerance, d.Within)
	}
	fmt.Println("cause:", r.Diagnosis.Causes[0])
	for _, a := range r.Diagnosis.Departures[0].Alike {
		fmt.Println("or", a.Path)
	}
	// Output:
	// rotator1.angle: 44.4 deg, tolerance ±0.3: fail
	// rotator1.extinction: 42.0 dB, tolerance ±3.0: pass
	// cause: rotator1.angle
	// or wedge1.axis
	// or wedge1.roll
	// or wedge2.axis
	// or wedge2.roll
}

// A limit is decided with the uncertainty of the figure that is compared with it.
func ExampleDecision() {
	r, err := verify.Run(context.Background(), specification("0419"))
	if err != nil {
		log.Fatal(err)
	}
	d := r.Decisions[0]
	fmt.Printf("%s (%s): at least %g dB\n", d.Figure(), d.Condition(), d.Limit.Value)
	fmt.Printf("margin above the guard band: %v, %v\n", d.Margin > d.GuardBand, d.Outcome)
	// Output:
	// minimum isolation (1535 nm to 1565 nm, 23 °C): at least 30 dB
	// margin above the guard band: false, fail
}

package measured_test

import (
	"errors"
	"fmt"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
)

// A file of readings becomes one table with units; every reading keeps the line it is from.
func ExampleRead() {
	t, err := measured.Read(measured.NewFile("unit.csv", []byte(`# unit: 0417
# measured: 2026-11-18
wavelength [nm],temperature [degC],isolation [dB],insertion loss [dB]
1549.5,23.0,42.10,0.31
1550.0,23.0,43.25,0.31
1550.5,23.0,42.90,0.32
`)))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("unit", t.Unit()+",", t.Rows(), "rows")
	fmt.Printf("%s, %.0f °C: %.2f dB at %s\n", quantity.FromSI(float64(t.Wavelength[1]), quantity.MustNamed("nm")),
		t.Temperature[1].Celsius(), t.Isolation[1], t.Place(1))
	// Output:
	// unit 0417, 3 rows
	// 1550 nm, 23 °C: 43.25 dB at unit.csv, line 5
}

// A decimal comma, semicolons and tabs are read as the labs write them; a field that is no number is refused by line
// and column.
func ExampleRefusal() {
	t, err := measured.Read(measured.NewFile("komma.csv",
		[]byte("wavelength [nm];isolation [dB];temperature [degC]\n1550,5;41,25;23,0\n1551,0;40,75;23,0\n")))
	fmt.Println(t.Isolation, err)
	_, err = measured.Read(measured.NewFile("bad.csv",
		[]byte("wavelength [nm],temperature [degC],isolation [dB]\n1550.0,23.0,4l.2\n")))
	var refusal *measured.Refusal
	if errors.As(err, &refusal) {
		fmt.Printf("%s, line %d, column %d: found %s\n", refusal.File, refusal.Line, refusal.Column, refusal.Found)
	}
	// Output:
	// [41.25 40.75] <nil>
	// bad.csv, line 2, column 3: found "4l.2"
}

// Readings at one temperature are a run.
func ExampleTable_Runs() {
	t, err := measured.Read(measured.NewFile("hot.csv", []byte(`wavelength [nm],temperature [degC],isolation [dB]
1540,23.0,36.1
1550,23.1,43.2
1540,69.9,30.2
1550,70.0,33.5
`)))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range t.Runs() {
		fmt.Printf("%.2f °C: rows %v\n", r.Temperature.Celsius(), r.Rows)
	}
	// Output:
	// 23.05 °C: rows [0 1]
	// 69.95 °C: rows [2 3]
}

// A file with several units is split by unit, in the order of the file.
func ExampleTable_Split() {
	t, err := measured.Read(measured.NewFile("lot.csv", []byte(`unit,wavelength [nm],temperature [degC],isolation [dB]
0501,1550,23.0,41.0
0502,1550,23.0,39.5
`)))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, one := range t.Split() {
		fmt.Println(one.Unit(), one.Isolation)
	}
	// Output:
	// 0501 [41]
	// 0502 [39.5]
}

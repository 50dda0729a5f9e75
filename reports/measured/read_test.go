package measured

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wedgework/optics/quantity"
)

// canonical is the example of the vocabulary with a second temperature and what else a file may hold.
const canonical = `# unit: 0417
# lot: 26-11
# invented readings
# measured: 2026-11-18
# source polarization: scrambled
wavelength [nm],temperature [degC],isolation [dB],insertion loss [dB],PDL [dB],u(isolation) [dB],chamber
1528.00,23.0,38.91,0.412,0.03,0.15,B
# opened the chamber here
1528.10,23.0,38.85,,0.03,,B
1528.00,70,24.2,0.43,,0.2,
`

func read(t *testing.T, text string) *Table {
	t.Helper()
	table, err := Read(NewFile("sweep.csv", []byte(text)))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// closely compares what was converted: within a few roundings of a float64.
var closely = cmp.Options{
	cmp.Transformer("length", func(l quantity.Length) float64 { return float64(l) }),
	cmp.Transformer("temperature", func(t quantity.Temperature) float64 { return float64(t) }),
	cmpopts.EquateApprox(1e-15, 0), cmpopts.EquateNaNs(), cmpopts.IgnoreUnexported(Table{}),
}

func TestReadCanonical(t *testing.T) {
	got := read(t, canonical)
	nan := math.NaN()
	want := &Table{
		Meta: []KeyValue{
			{"unit", "0417", 1}, {"lot", "26-11", 2}, {"measured", "2026-11-18", 4}, {"source polarization",
				"scrambled", 5},
		},
		Remarks:       []Remark{{"invented readings", 3}, {"opened the chamber here", 8}},
		Wavelength:    []quantity.Length{1528e-9, 1528.1e-9, 1528e-9},
		Temperature:   []quantity.Temperature{296.15, 296.15, 343.15},
		Isolation:     []float64{38.91, 38.85, 24.2},
		InsertionLoss: []float64{0.412, nan, 0.43},
		PDL:           []float64{0.03, 0.03, nan},
		U:             map[string][]float64{"isolation": {0.15, nan, 0.2}},
		Line:          []int{7, 9, 10},
		Unknown:       []string{"chamber"},
	}
	if diff := cmp.Diff(got, want, closely, cmpopts.IgnoreFields(Table{}, "File", "Columns")); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
	if got.File.Name != "sweep.csv" || string(got.File.Data) != canonical {
		t.Errorf("the table's file is %q with %d bytes, want the file it was read from", got.File.Name,
			len(got.File.Data))
	}
	if got := got.Unit() + "/" + got.Lot() + "/" + string(got.Polarization()); got != "0417/26-11/scrambled" {
		t.Errorf("unit/lot/polarization = %s, want 0417/26-11/scrambled", got)
	}
	last := got.Columns[len(got.Columns)-1]
	if diff := cmp.Diff(last.Fields, []string{"B", "B", ""}); diff != "" {
		t.Errorf("fields of the unknown column, -got +want:\n%s", diff)
	}
	if got, want := got.Columns[5].Head, "u(isolation) [dB]"; got != want {
		t.Errorf("head of column 6 = %q, want %q", got, want)
	}
}

// SHA-256 of "abc": FIPS 180-4, example of NIST's Cryptographic Standards and Guidelines.
func TestNewFileHash(t *testing.T) {
	const want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if got := NewFile("x", []byte("abc")).SHA256; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// The same readings in every dress a file may come in.
func TestReadDresses(t *testing.T) {
	plain := read(t, "wavelength [nm],temperature [degC],isolation [dB]\n1550,23,40.5\n1551,23,\n")
	for _, c := range []struct{ name, in string }{
		{"CRLF", "wavelength [nm],temperature [degC],isolation [dB]\r\n1550,23,40.5\r\n1551,23,\r\n"},
		{"no newline at the end", "wavelength [nm],temperature [degC],isolation [dB]\n1550,23,40.5\n1551,23,"},
		{"byte order mark", "\xef\xbb\xbfwavelength [nm],temperature [degC],isolation [dB]\n1550,23,40.5\n1551,23,\n"},
		{"quotes and spaces", "\"wavelength [nm]\", temperature [degC] , \"isolation [dB]\"\n 1550 , 23 " +
			",\"40.5\"\n1551,23, \n"},
		{"case and underscores", "WAVELENGTH [NM],Temperature[°C],Isolation [db]\n1550,23,40.5\n1551,23,\n"},
		{"another order", "isolation [dB],temperature [degC],wavelength [nm]\n40.5,23,1550\n,23,1551\n"},
		{"micrometres and kelvin", "wavelength [um],temperature [K],isolation " +
			"[dB]\n1.550,296.15,4.05e1\n1.551,296.15,\n"},
		{"micro signs", "wavelength [µm],temperature [kelvin],isolation [dB]\n1.550,296.15,40.5\n1.551,296.15,\n"},
		{"blank lines", "\nwavelength [nm],temperature [degC],isolation [dB]\n\n1550,23,40.5\n\n1551,23,\n"},
		{"temperature of all in another case",
			"#Temperature: 296.15 K\nwavelength [nm],isolation [dB]\n1550,40.5\n1551,\n"},
		{"one temperature for all", "# temperature: 23 degC\nwavelength [nm],isolation [dB]\n1550,40.5\n1551,\n"},
	} {
		got := read(t, c.in)
		if diff := cmp.Diff(got, plain, closely, cmpopts.IgnoreFields(Table{}, "File", "Columns", "Line", "Meta",
			"Unused")); diff != "" {
			t.Errorf("%s, -got +want:\n%s", c.name, diff)
		}
	}
}

// ITU-T G.694.1 anchors its grid at 193.1 THz and lists 1552.52 nm for it; c is exact in the SI, and
// 299792458 / 193.1e12 = 1552.524381 nm.
func TestReadFrequency(t *testing.T) {
	got := read(t, "frequency [THz],temperature [degC],isolation [dB],u(frequency) [GHz]\n193.1,23,40,1\n")
	const tolerance = 5e-15 // metre: half of the last digit quoted
	if d := float64(got.Wavelength[0]) - 1552.52438e-9; math.Abs(d) > tolerance {
		t.Errorf("193.1 THz is %.6f nm, want 1552.52438 nm", float64(got.Wavelength[0])*1e9)
	}
	// c u(f) / f^2: 1 GHz at 193.1 THz is 8.04 pm, the usual figure of the trade
	if d := got.U[Wavelength][0] - 8.04e-12; math.Abs(d) > 5e-15 {
		t.Errorf("u(wavelength) of 1 GHz = %.4g m, want 8.04e-12 m", got.U[Wavelength][0])
	}
	got = read(t, "frequency [GHz],temperature [degC],isolation [dB]\n193100,23,40\n")
	if d := float64(got.Wavelength[0]) - 1552.52438e-9; math.Abs(d) > tolerance {
		t.Errorf("193100 GHz is %.6f nm, want 1552.52438 nm", float64(got.Wavelength[0])*1e9)
	}
}

func TestReadOtherFiguresAndUncertainties(t *testing.T) {
	got := read(t, "wavelength [nm],temperature [degC],dgd [ps],return_loss [dB],u(dgd) [fs],u(Temperature) "+
		"[K],u(wavelength) [nm]\n"+
		"1550,-5,0.25,60,10,0.5,0.02\n")
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"DGD", got.DGD[0], 0.25e-12},
		{"return loss", got.ReturnLoss[0], 60},
		{"u(DGD)", got.U[DGD][0], 10e-15},
		{"u(temperature)", got.U[Temperature][0], 0.5},
		{"u(wavelength)", got.U[Wavelength][0], 0.02e-9},
		{"temperature", float64(got.Temperature[0]), 268.15},
	} {
		if !cmp.Equal(c.got, c.want, closely) {
			t.Errorf("%s = %g, want %g", c.name, c.got, c.want)
		}
	}
	if got.Figure(Isolation) != nil {
		t.Errorf("isolation = %v, want nil for an absent column", got.Isolation)
	}
}

const head = "wavelength [nm],temperature [degC],isolation [dB]\n"

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"empty", "", "sweep.csv: found an empty file, expected a head of columns"},
		{"byte order mark only", "\xef\xbb\xbf\r\n", "found an empty file"},
		{"comments only", "# unit: 1\n", "found comment lines only"},
		{"head only", "# unit: 1\n" + head, "line 2: found nothing after the heads of the columns, expected rows of " +
			"readings"},
		{"NUL", head + "1550,23,\x0040\n", "line 2: found a NUL byte"},
		{"no head", "1550,23,40\n", "line 1: found numbers, expected the heads of the columns"},
		{"no unit", "wavelength,temperature [degC],isolation [dB]\n1550,23,40\n",
			`line 1, column 1: found "wavelength", expected its unit in square brackets, as in wavelength [nm]`},
		{"no unit of an uncertainty", "wavelength [nm],isolation [dB],u(isolation)\n1550,40,1\n",
			`column 3: found "u(isolation)", expected its unit in square brackets, as in u(isolation) [dB]`},
		{"empty unit", "wavelength [ ],isolation [dB]\n1550,40\n", "expected its unit in square brackets"},
		{"unknown unit", "wavelength [furlong],isolation [dB]\n1550,40\n",
			`column 1: found "wavelength [furlong]", expected a known unit: wavelength is in nm or um`},
		{"wrong dimension", "wavelength [nm],isolation [nm]\n1550,40\n",
			`column 2: found "isolation [nm]", expected another unit: nm is a length, and isolation is in dB`},
		{"power for a loss", "wavelength [nm],isolation [dBm]\n1550,40\n", "dBm is a power, and isolation is in dB"},
		{"unit on a serial number", "wavelength [nm],isolation [dB],unit [dB]\n1550,40,1\n",
			"expected unit without a unit"},
		{"no wavelength", "temperature [degC],isolation [dB]\n23,40\n",
			"line 1: found no wavelength column, expected wavelength [nm] or frequency [THz]"},
		{"two axes", "wavelength [nm],frequency [THz],isolation [dB]\n1550,193,40\n", "expected one of them"},
		{"no readings", "wavelength [nm],temperature [degC],colour\n1550,23,red\n",
			"line 1: found no column of readings"},
		{"no temperature", "wavelength [nm],isolation [dB]\n1550,40\n",
			"found no temperature, expected a column temperature [degC]"},
		{"temperature of all without unit", "# temperature: 23\nwavelength [nm],isolation [dB]\n1550,40\n",
			`line 1 (# temperature): found "23", expected a number and its unit, as in 23 degC`},
		{"duplicate column", "wavelength [nm],isolation [dB],Isolation [dB]\n1550,40,40\n",
			"line 1, column 3: found \"Isolation [dB]\", a column there already is, expected it once, as in column 2"},
		{"duplicate unknown column", "wavelength [nm],isolation [dB],note,Note\n1550,40,,\n", "column 4"},
		{"uncertainty of nothing", "wavelength [nm],isolation [dB],u(PDL) [dB]\n1550,40,1\n",
			"column 3 (u(PDL) [dB]): found \"u(PDL) [dB]\", expected a column pdl"},
		{"short row", head + "1550,23,40\n1551,23\n", "line 3: found 2 fields, expected 3 as in the head on line 1"},
		{"decimal commas", head + "1550,0,23,0,40,5\n",
			"line 2: found 6 fields, expected 3 as in the head on line 1 (a decimal comma"},
		{"word", head + "1550,23,high\n", `found "high", expected a number such as 38.91`},
		{"infinity", head + "1550,23,-inf\n", "expected a number, a bound such as >62, or an empty field"},
		{"hexadecimal", head + "1550,23,0x28\n", `found "0x28", expected a number`},
		{"unit in the field", head + "1550 nm,23,40\n",
			"column 1 (wavelength [nm]): found \"1550 nm\", expected a number alone"},
		{"typographic minus", head + "1550,−5,40\n", "expected a hyphen for the minus sign"},
		{"out of float64", head + "1550,23,1e999\n", "expected a number that a float64 can hold"},
		{"two points", head + "1550,23,4.0.1\n", "expected a number such as 38.91"},
		{"no wavelength in a row", head + ",23,40\n",
			"line 2, column 1 (wavelength [nm]): found an empty field, expected a wavelength in every row"},
		{"no temperature in a row", head + "1550,,40\n", "expected a temperature in every row"},
		{"negative wavelength", head + "-1550,23,40\n",
			`found "-1550", expected a wavelength between 300 nm and 20 µm`},
		{"wavelength in another unit", head + "1.55,23,40\n", "expected a wavelength between"},
		{"frequency in another unit", "frequency [GHz],temperature [degC],isolation [dB]\n193.1,23,40\n",
			"expected an optical frequency"},
		{"below absolute zero", head + "1550,-300,40\n", "expected a temperature between -203 degC and 200 degC"},
		{"transmission for a loss", head + "1550,23,-40\n", `found "-40", expected a loss, which is positive in dB`},
		{"negative PDL", "wavelength [nm],temperature [degC],PDL [dB]\n1550,23,-0.1\n",
			"expected a PDL between 0 dB and 150 dB"},
		{"negative uncertainty", "wavelength [nm],temperature [degC],isolation [dB],u(isolation) [dB]\n1550,23,40,-1\n",
			"expected a standard uncertainty"},
		{"half a repeat", "wavelength [nm],temperature [degC],isolation [dB],repeat\n1550,23,40,1.5\n",
			"expected a whole number"},
		{"open quote", head + "1550,23,\"40\n1551,23,41\n", "line 2: found a quoted field that does not end"},
		{"line end in quotes", head + "1550,23,\"40\n\"\n", "line 2, column 3: found a quoted field that runs over"},
		{"bare quote", head + "1550,23,4\"0\n", "line 2: found a quote inside a field"},
		{"polarization", "# source polarization: random\n" + head + "1550,23,40\n",
			`line 1 (# source polarization): found "random", expected scrambled, min-max or fixed-unknown`},
		{"metadata twice", "# unit: 1\n# Unit: 2\n" + head + "1550,23,40\n",
			`line 2 (# Unit): found "2", which says another unit than "1" on line 1`},
		{"metadata without value", "# lot:\n" + head + "1550,23,40\n", "line 1 (# lot): found no value"},
		{"unit missing in a row", "wavelength [nm],temperature [degC],isolation [dB],unit\n1550,23,40,7\n1551,23,40,\n",
			"line 3, column 4 (unit): found an empty field, expected the unit of every row"},
	} {
		table, err := Read(NewFile("sweep.csv", []byte(c.in)))
		var refusal *Refusal
		if err == nil {
			t.Errorf("%s: got %+v, want a refusal with %q", c.name, table, c.want)
		} else if !errors.As(err, &refusal) {
			t.Errorf("%s: got a %T, want a *Refusal", c.name, err)
		} else if !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %q,\nwant it to contain %q", c.name, err, c.want)
		}
	}
}

func TestForwardAndBackwardRowsMayShareAPlace(t *testing.T) {
	got := read(t, "wavelength [nm],temperature [degC],isolation [dB],insertion loss [dB]\n1550,23,40,\n1550,23,,0.4\n")
	if got.Rows() != 2 {
		t.Errorf("got %d rows, want 2", got.Rows())
	}
}

func TestMetadataKeysInAnyCase(t *testing.T) {
	got := read(t, "# Source_Polarization: Scrambled\n"+head+"1550,23,40\n")
	if got := got.Polarization(); got != Scrambled {
		t.Errorf("Polarization() = %q, want %q", got, Scrambled)
	}
	if v, ok := got.Value("SOURCE POLARIZATION"); !ok || v != "Scrambled" {
		t.Errorf("Value() = %q, %t, want Scrambled", v, ok)
	}
	if got := read(t, head+"1550,23,40\n").Polarization(); got != Unstated {
		t.Errorf("Polarization() of a file that says nothing = %q, want none", got)
	}
}

func TestRepeatsAreNumbered(t *testing.T) {
	got := read(t, "wavelength [nm],temperature [degC],isolation [dB],repeat\n1550,23,40,1\n1550,23,40.1,2\n")
	if diff := cmp.Diff(got.Repeat, []int{1, 2}); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

func TestNotesNameTheNearestColumn(t *testing.T) {
	got := read(t, "wavelength [nm],temperature [degC],isolation [dB],insertion los "+
		"[dB],operator\n1550,23,40,0.4,AB\n").Notes()
	want := []string{
		`column "insertion los [dB]" of sweep.csv is not known and not used; the nearest name known is insertion loss`,
		`column "operator" of sweep.csv is not known and not used`,
	}
	if diff := cmp.Diff(got, want); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(canonical))
	f.Add([]byte("\xef\xbb\xbf" + head + "1550,23,\"40\"\r\n"))
	f.Add([]byte("# temperature: 23 degC\nfrequency [THz],u(frequency) [GHz],PDL " +
		"[dB],unit,lot,repeat\n193.1,1,,7,a,1\n"))
	files, err := filepath.Glob(corpus + "/*")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range files {
		if data, err := os.ReadFile(path); err == nil && len(data) < 1<<16 {
			f.Add(data) // text in every dress, and workbooks
		}
	}
	f.Add([]byte("wavelength [nm],[dB],isolation [dB]\n1550,0x1p-2,1e999\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := Read(NewFile("f", data))
		if err != nil {
			var refusal *Refusal
			if !errors.As(err, &refusal) || refusal.Found == "" || refusal.Want == "" {
				t.Fatalf("%T %v: want a *Refusal that says what was found and expected", err, err)
			}
			return
		}
		n := table.Rows()
		if n == 0 || len(table.Wavelength) != n || len(table.Temperature) != n && !table.IsReference() {
			t.Fatalf("%d rows, %d wavelengths, %d temperatures: want as many of each and at least one",
				n, len(table.Wavelength), len(table.Temperature))
		}
		for i, l := range table.Wavelength {
			if !(l > 0) || math.IsInf(float64(l), 0) || table.Temperature != nil && !(table.Temperature[i] > 0) {
				t.Fatalf("row %d at %g m: want wavelength and temperature positive", i, l)
			}
		}
	})
}

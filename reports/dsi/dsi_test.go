package dsi

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/optics/quantity"
	"wedgework/reports/dsi/dsitest"
	"wedgework/reports/record"
	"wedgework/reports/uncertainty"
)

// The part of the schema of D-SI that is used here, transcribed by hand. Sources: SI_Format.xsd of version 2.1.0 (PTB,
// 2022-01-21, doi 10.5281/zenodo.3366901) for the order within si:real and for the patterns of numbers; the classes
// that a user generated from version 2.2 for the order within measurementUncertaintyUnivariate and expandedMU, which
// replaced expandedUnc there. The pattern of valueExpandedMU is taken to be that of 2.1.0's uncertaintyValueType. The
// pattern of units is that of the wiki of D-SI (prefix, unit, exponent), for the identifiers used here only.
var schema = map[string]struct {
	children []string // in their order; a question mark: may be missing
	text     string   // pattern of a text
}{
	"real":  {children: []string{"label?", "value", "unit", "measurementUncertaintyUnivariate?"}},
	"label": {text: `(?s).*`},
	"value": {text: `[-+]?((\d*\.\d+)|(\d+\.\d*)|(\d+\.?))([Ee][-+]?\d+)?`},
	"unit":  {text: `((\\(` + prefixes + `))?\\(` + identifiers + `)(\\tothe\{-?\d\})?)+`},

	"measurementUncertaintyUnivariate": {children: []string{"expandedMU"}},
	"expandedMU": {children: []string{"valueExpandedMU",
		"coverageFactor", "coverageProbability"}},

	"valueExpandedMU":     {text: `\+?((\d*\.\d+)|(\d+\.\d*)|(\d+\.?))([Ee][-+]?\d+)?`},
	"coverageFactor":      {text: `\+?(([1-9]\d*\.\d*)|([1-9]\d*))`},
	"coverageProbability": {text: `\+?((0(\.\d*)?)|(1(\.0*)?))`},
}

const (
	prefixes    = `femto|pico|nano|micro|milli|centi|kilo|mega|giga|tera`
	identifiers = `one|percent|decibel|metre|degree|radian|arcminute|degreecelsius|kelvin|tesla|second|watt|hertz`
)

// node is an element with what it holds.
type node struct {
	name     xml.Name
	children []*node
	text     string
}

func tree(t testing.TB, data []byte) *node {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(data))
	root := &node{}
	path := []*node{root}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return root.children[0]
		}
		if err != nil {
			t.Fatal(err)
		}
		at := path[len(path)-1]
		switch x := token.(type) {
		case xml.StartElement:
			n := &node{name: x.Name}
			at.children, path = append(at.children, n), append(path, n)
		case xml.EndElement:
			path = path[:len(path)-1]
		case xml.CharData:
			at.text += string(x)
		}
	}
}

// valid lists what of the elements of D-SI below n is not as the schema has it.
func valid(n *node) (wrong []string) {
	if n.name.Space == Namespace {
		rule, known := schema[n.name.Local]
		if !known {
			return []string{"element " + n.name.Local}
		}
		if rule.text != "" && (!regexp.MustCompile("^(?:"+rule.text+")$").MatchString(n.text) || len(n.children) > 0) {
			wrong = append(wrong, fmt.Sprintf("%s is %q", n.name.Local, n.text))
		}
		at := 0
		for _, want := range rule.children {
			name, optional := strings.CutSuffix(want, "?")
			switch {
			case at < len(n.children) && n.children[at].name == (xml.Name{Space: Namespace, Local: name}):
				at++
			case !optional:
				wrong = append(wrong, n.name.Local+" lacks "+name)
			}
		}
		if rule.text == "" && at < len(n.children) {
			wrong = append(wrong, n.name.Local+" holds "+n.children[at].name.Local+" out of place")
		}
	}
	for _, c := range n.children {
		wrong = append(wrong, valid(c)...)
	}
	return wrong
}

// sample is a record with every kind of number, and texts that XML has to escape.
func sample() *record.Record {
	hostile := `<a> & "b" \u202e ]]>`
	return &record.Record{
		Program: record.Program{Name: "wedgework", Version: "1.2"}, Number: "QR-17", Issued: "2026-11-25",
		Header: record.Header{Part: hostile},
		Inputs: []record.Input{{Name: "sweep", Unit: "0417", File: record.Source{Name: "a.csv", SHA256: "ab"},
			Meta: []record.Field{{Name: "power meter", Value: "PM-11"},
				{Name: "power meter calibration due", Value: "2027-05-12"}, {Name: "operator", Value: hostile}}}},
		Units: []record.Unit{{
			Unit: "0417", Lot: "26-11", Input: "a.csv", Measured: "2026-11-18",
			Verdicts: []record.Verdict{{Subject: "limit conformity", Outcome: "pass", Sentence: hostile}},
			Limits: []record.Limit{
				{Quantity: "isolation", Rule: "at least", Limit: "30.00", Unit: "dB", Over: "1535 nm to 1565 nm, 23 °C",
					Statistic: "minimum", Measured: "30.820", Margin: "0.82",
					Uncertainty: "0.20", Low: "30.62", High: "31.02",
					Guard: "1", GuardBand: "0.20", Conformance: "0.999999", FalseAcceptance: "0.000001",
					Outcome:  "pass",
					Decision: "guard band"},
				{Quantity: "isolation", Rule: "at least", Limit: "50.00", Unit: "dB", Over: "70 °C", Measured: "62.00",
					Bound: true, Margin: "12.00", Outcome: "pass", Why: hostile},
				{Quantity: "DGD", Rule: "at most", Limit: "0.30", Unit: "ps", Over: "23 °C", Measured: "-0.010",
					Margin:      "0.31",
					Uncertainty: "0.05", Lopsided: true, Outcome: "undecided"}},
			Figures: []record.Compared{{Name: "wavelength of the peak", At: "23 °C", Unit: "nm",
				Measured: record.Interval{Value: "1541.3", Low: "1540.8", High: "1541.8"},
				Specified: record.Model{Interval: record.Interval{Value: "1551.0", Low: "1550.0"},
					NormalizedError: "-1.68"},
				Diagnosed: &record.Model{Interval: record.Interval{Value: "1541.4"}, NormalizedError: "-0.33"},
				Why:       "because"}},
			Diagnosis: record.Diagnosis{Fitted: []record.Fitted{{Name: "rotator1.per_nm", Unit: "deg/nm",
				Specified: "-0.07",
				Value:     "-0.0700", Low: "-0.0710", High: "-0.0690", Departure: "0.0000", Uncertainty: "0.0010",
				Tolerance: "0.01",
				Within:    "pass", Explanation: "x", Note: hostile}}},
			Budgets: []record.Budget{{Figure: "minimum isolation, 1535 nm to 1565 nm, 23 °C", Unit: "dB", K: "2.0",
				Expanded: "0.20"}},
		}},
	}
}

// The file is as the schema has it; what is not is told.
func TestSchema(t *testing.T) {
	data, err := Write(sample())
	if err != nil {
		t.Fatal(err)
	}
	if wrong := valid(tree(t, data)); len(wrong) > 0 {
		t.Errorf("not as the schema has it: %v\n%s", wrong, data)
	}
	for _, want := range []string{`<si:unit>\degree\nano\metre\tothe{-1}</si:unit>`, `<si:value>30.820</si:value>`,
		`<si:valueExpandedMU>0.20</si:valueExpandedMU>`, `<si:coverageFactor>2.0</si:coverageFactor>`,
		`<instrument kind="power meter" calibrationDue="2027-05-12">PM-11</instrument>`,
		"no accreditation is claimed"} {
		if !bytes.Contains(data, []byte(want)) {
			t.Errorf("the file lacks %s", want)
		}
	}
	for from, to := range map[string]string{
		`<si:unit>\decibel</si:unit>`:                     `<si:unit>dB</si:unit>`,
		`<si:value>30.820</si:value>`:                     `<si:value>30,820</si:value>`,
		`<si:coverageFactor>2.0</si:coverageFactor>`:      `<si:coverageFactor>0.5</si:coverageFactor>`,
		`<si:coverageProbability>0.9545<`:                 `<si:coverageProbability>95.45<`,
		`<si:label>measured</si:label>`:                   `<si:label>measured</si:label><si:extra/>`,
		`<si:valueExpandedMU>0.20</si:valueExpandedMU>`:   ``,
		`<si:valueExpandedMU>0.20</si:valueExpandedMU>\n`: `<si:valueExpandedMU>-0.20</si:valueExpandedMU>`,
		`<si:unit>\degree\nano\metre\tothe{-1}</si:unit>`: `<si:unit>\degree/\nano\metre</si:unit>`,
	} {
		broken := bytes.Replace(data, []byte(strings.TrimSuffix(from, `\n`)), []byte(to), 1)
		if bytes.Equal(broken, data) || len(valid(tree(t, broken))) == 0 {
			t.Errorf("%s for %s passes", to, from)
		}
	}
	p, err := strconv.ParseFloat(coverage, 64)
	if err != nil || math.Abs(p-uncertainty.Confidence) > 0.5e-4 {
		t.Errorf("coverage probability %s, the uncertainties have %g", coverage, uncertainty.Confidence)
	}
}

// What is read back is the record, to the digit.
func TestRoundTrip(t *testing.T) {
	r := sample()
	data, err := Write(r)
	if err != nil {
		t.Fatal(err)
	}
	got, err := dsitest.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	want := slices.Clone(r.Units)
	want[0].Budgets = nil // its factor is carried, not the budget
	if diff := cmp.Diff(got, want); diff != "" {
		t.Errorf("-read back +record:\n%s", diff)
	}
	if again, err := Write(r); err != nil || !bytes.Equal(again, data) {
		t.Errorf("the second file differs (%v)", err)
	}
	if _, err := dsitest.Read([]byte("<other/>")); err == nil {
		t.Error("another file is read")
	}
	if data, err := Write(&record.Record{}); err != nil || data != nil {
		t.Errorf("a record without units gives %q, %v", data, err)
	}
}

func TestUnit(t *testing.T) {
	for symbol, want := range map[string]string{"": `\one`, "dB": `\decibel`, "nm": `\nano\metre`,
		"1/K": `\kelvin\tothe{-1}`, "deg/K": `\degree\kelvin\tothe{-1}`,
		"deg/(nm K)": `\degree\nano\metre\tothe{-1}\kelvin\tothe{-1}`,
		"mm²":        `\milli\metre\tothe{2}`} {
		if got, err := Unit(symbol); err != nil || got != want {
			t.Errorf("%q: %s, %v, want %s", symbol, got, err, want)
		}
	}
	for _, bad := range []string{"furlong", "deg/furlong", "/", "dBm"} {
		if got, err := Unit(bad); err == nil {
			t.Errorf("%q gives %s", bad, got)
		}
	}
	// Every unit of the cells has an identifier, but for levels above a milliwatt, which D-SI does not have.
	for _, name := range quantity.Names() {
		u, _ := quantity.Named(name)
		got, err := Unit(u.Symbol())
		if name != "dBm" && (err != nil || !regexp.MustCompile("^"+schema["unit"].text+"$").MatchString(got)) {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}

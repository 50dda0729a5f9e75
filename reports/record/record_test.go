package record

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wedgework/reports/document"
)

func sample() *Record {
	return &Record{
		Program: Program{Name: "wedgework", Version: "1.2.0", Go: "go1.26.8"},
		Header: Header{
			Title: "Isolator <0417>", Part: "IS-1550", Revision: "B", Change: "CR-118",
			Extra: []document.Field{{Name: "operator", Value: "AB"}, {Name: "chamber", Value: "2"}},
		},
		Issued:    "2026-11-25",
		Notebook:  Source{Name: "verify.ipynb", SHA256: "aa", Bytes: 10},
		Executed:  Source{Name: "executed-verify.ipynb", SHA256: "cc", Bytes: 30},
		Constants: []Source{{Name: "YVO4", SHA256: "dd", Bytes: 40}},
		Inputs: []Input{{
			Name: "sweep", File: Source{Name: "0417.csv", SHA256: "bb", Bytes: 20}, Rows: 2, Unit: "0417", Lot: "26-11",
			Meta: []Field{{Name: "measured", Value: "2026-11-18"}},
		}},
		Settings: []Setting{{Name: "apex", Value: "5 deg", Expression: "5*deg", Bound: true}},
		Units: []Unit{{
			Unit: "0417", Lot: "26-11", Input: "0417.csv",
			Verdicts: []Verdict{{Subject: "limit conformity", Outcome: "pass", Sentence: "all limits are kept"}},
			Limits: []Limit{{Quantity: "isolation", Rule: "at least", Over: "23 °C", Unit: "dB", Limit: "30.00",
				Measured: "34.10", Margin: "4.10", Outcome: "pass"}},
			Model: []Figure{{Name: "rotator1.angle", Value: "45.00", Unit: "deg"}},
			Figures: []Compared{{Name: "least isolation", Unit: "dB", Measured: Interval{"34.10", "33.90", "34.31"},
				Specified: Model{Interval{"36.00", "33.00", ""}, "0.61"}}},
		}},
		Cautions: []string{"invisible laser radiation"},
	}
}

func TestRecordBytes(t *testing.T) {
	got, err := sample().Bytes()
	if err != nil {
		t.Fatal(err)
	}
	const want = `{
  "schema": "wedgework record",
  "version": 1,
  "program": {
    "name": "wedgework",
    "version": "1.2.0",
    "go": "go1.26.8"
  },
  "header": {
    "title": "Isolator <0417>",
    "part": "IS-1550",
    "revision": "B",
    "change": "CR-118",
    "extra": [
      {
        "name": "operator",
        "value": "AB"
      },
      {
        "name": "chamber",
        "value": "2"
      }
    ]
  },
  "issued": "2026-11-25",
  "notebook": {
    "name": "verify.ipynb",
    "sha256": "aa",
    "bytes": 10
  },
  "executed": {
    "name": "executed-verify.ipynb",
    "sha256": "cc",
    "bytes": 30
  },
  "constants": [
    {
      "name": "YVO4",
      "sha256": "dd",
      "bytes": 40
    }
  ],
  "inputs": [
    {
      "name": "sweep",
      "file": {
        "name": "0417.csv",
        "sha256": "bb",
        "bytes": 20
      },
      "rows": 2,
      "unit": "0417",
      "lot": "26-11",
      "metadata": [
        {
          "name": "measured",
          "value": "2026-11-18"
        }
      ]
    }
  ],
  "settings": [
    {
      "name": "apex",
      "value": "5 deg",
      "expression": "5*deg",
      "bound": true
    }
  ],
  "units": [
    {
      "unit": "0417",
      "lot": "26-11",
      "input": "0417.csv",
      "verdicts": [
        {
          "subject": "limit conformity",
          "outcome": "pass",
          "sentence": "all limits are kept"
        }
      ],
      "limits": [
        {
          "quantity": "isolation",
          "rule": "at least",
          "limit": 30.00,
          "unit": "dB",
          "over": "23 °C",
          "statistic": "",
          "measured": 34.10,
          "margin": 4.10,
          "uncertainty": null,
          "low": null,
          "high": null,
          "guard": null,
          "guard_band": null,
          "conformance": null,
          "false_acceptance": null,
          "false_rejection": null,
          "outcome": "pass"
        }
      ],
      "figures": [
        {
          "name": "least isolation",
          "unit": "dB",
          "measured": {
            "value": 34.10,
            "low": 33.90,
            "high": 34.31
          },
          "specified": {
            "value": 36.00,
            "low": 33.00,
            "high": null,
            "normalized_error": 0.61
          }
        }
      ],
      "model": [
        {
          "name": "rotator1.angle",
          "value": 45.00,
          "unit": "deg"
        }
      ],
      "diagnosis": {
        "sentence": ""
      }
    }
  ],
  "cautions": [
    "invisible laser radiation"
  ]
}
`
	if diff := cmp.Diff(string(got), want); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

func TestRecordReadsBack(t *testing.T) {
	data, err := sample().Bytes()
	if err != nil {
		t.Fatal(err)
	}
	got, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, sample()); diff != "" {
		t.Errorf("-got +want:\n%s", diff)
	}
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"not JSON", `{`, "not a record"},
		{"another schema", `{"schema":"recipe","version":1}`, `found schema "recipe", expected "wedgework record"`},
		{"later version", `{"schema":"wedgework record","version":2}`,
			"found version 2 of the record, expected 1 to 1"},
		{"no version", `{"schema":"wedgework record"}`, "found version 0"},
		{"two records", `{"schema":"wedgework record","version":1} {}`, "expected the end of the file"},
		{"a word for a number", `{"schema":"wedgework record","version":1,"units":[{"model":[{"value":"45"}]}]}`,
			"where a number or null is expected"},
	} {
		r, err := Read([]byte(c.in))
		if err == nil {
			t.Errorf("%s: got %+v, want an error with %q", c.name, r, c.want)
		} else if !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %q, want it to contain %q", c.name, err, c.want)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     Number
	}{
		{30, 2, "30.00"},
		{-0.001, 2, "0.00"},
		{-0.006, 2, "-0.01"},
		{1e21, 0, "1000000000000000000000"},
		{math.NaN(), 2, ""},
		{math.Inf(-1), 2, ""},
	} {
		if got := Decimal(c.v, c.decimals); got != c.want {
			t.Errorf("Decimal(%g, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
	if got := Number("30.00").Float(); got != 30 {
		t.Errorf("Float() = %g, want 30", got)
	}
	if got := Number("").Float(); !math.IsNaN(got) {
		t.Errorf("Float() of the empty number = %g, want NaN", got)
	}
	for _, bad := range []Number{"+1", "0x10", "NaN", "1.", "true", `"1"`, "1 2"} {
		if b, err := bad.MarshalJSON(); err == nil {
			t.Errorf("%q is written as %s, want an error", string(bad), b)
		}
	}
}

// TestMost: a record beyond the bound is neither written nor read.
func TestMost(t *testing.T) {
	r := Record{Cautions: []string{strings.Repeat("x", Most)}}
	if _, err := r.Bytes(); err == nil || !strings.Contains(err.Error(), "report fewer units at once") {
		t.Errorf("written: %v", err)
	}
	long := append([]byte(`{"schema":"wedgework/record","version":1,"cautions":["`), bytes.Repeat([]byte("x"), Most)...)
	if _, err := Read(append(long, `"]}`...)); err == nil || !strings.Contains(err.Error(), "expected at most 33554432") {
		t.Errorf("read: %.200v", err)
	}
}

// BenchmarkRead reads a record as large as that of a lot of some hundred units.
func BenchmarkRead(b *testing.B) {
	var r Record
	for range 4000 {
		r.Units = append(r.Units, Unit{Unit: "0417", Verdicts: []Verdict{{"s", "pass", strings.Repeat("word ", 200)}}})
	}
	data, err := r.Bytes()
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := Read(data); err != nil {
			b.Fatal(err)
		}
	}
}

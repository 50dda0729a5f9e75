package notebooks

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	reader "rsc.io/pdf"

	"wedgework/reports/record"
)

// alternatives reads what stands for the figures of a report where nobody sees them.
func alternatives(t *testing.T, path string) []string {
	t.Helper()
	r, err := reader.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	var walk func(e reader.Value)
	walk = func(e reader.Value) {
		if e.Key("S").Name() == "Figure" {
			all = append(all, e.Key("Alt").Text())
		}
		for i := range e.Key("K").Len() {
			if k := e.Key("K").Index(i); !k.Key("S").IsNull() {
				walk(k)
			}
		}
	}
	walk(r.Trailer().Key("Root").Key("StructTreeRoot").Key("K"))
	return all
}

// alternativeTexts asks of every figure that it states a result in numbers with their units, and of the figures of
// isolation that they have those of the record, and the reading that the file of the unit has.
func alternativeTexts(t *testing.T, name, path string) {
	t.Helper()
	var rec record.Record
	data, err := os.ReadFile(strings.TrimSuffix(path, ".pdf") + ".json")
	if err == nil {
		err = json.Unmarshal(data, &rec)
	}
	if err != nil {
		t.Fatal(err)
	}
	all := alternatives(t, path)
	if len(all) < 3 {
		t.Errorf("%s: %d figures", name, len(all))
	}
	result := regexp.MustCompile(`[0-9](\) dB| dB| nm|°| readings)|^QR code: WR-`)
	for _, alt := range all {
		if !result.MatchString(alt) || len([]rune(alt)) > 1000 || strings.Contains(alt, "unnamed") {
			t.Errorf("%s: the text of a figure states no result, or too much: %q", name, alt)
		}
	}
	text := strings.Join(all, "\n")
	for _, u := range rec.Units {
		for _, l := range u.Limits {
			if l.Quantity != "isolation" {
				continue
			}
			want := fmt.Sprintf("Minimum isolation (%s ± %s) dB", l.Measured, l.Uncertainty)
			if !strings.Contains(text, want) || !strings.Contains(text, fmt.Sprintf("limit at least %s dB: %s", l.Limit,
				l.Outcome)) {
				t.Errorf("%s, unit %s: no figure says %q, %s", name, u.Unit, want, l.Outcome)
			}
			if !strings.HasSuffix(l.Over, ", 23 °C") {
				continue
			}
			value, at := lowestReading(t, u.Unit)
			said := regexp.MustCompile(regexp.QuoteMeta(want) + `[^;]*; closest reading ([0-9.]+) dB at ([0-9.]+) nm, 23 °C`).
				FindStringSubmatch(text)
			if said == nil {
				t.Errorf("%s, unit %s: no closest reading", name, u.Unit)
				continue
			}
			// the reading is said without the light of the fixture's floor, which is 0.02 dB of these at most
			if got, _ := strconv.ParseFloat(said[1], 64); math.Abs(got-value) > 0.025 || said[2] != at {
				t.Errorf("%s, unit %s: closest reading %s dB at %s nm, the file has %.2f dB at %s nm", name, u.Unit,
					said[1], said[2], value, at)
			}
		}
	}
}

// lowestReading reads the lowest isolation at 23 °C between 1535 and 1565 nm from the file of a demo unit.
func lowestReading(t *testing.T, unit string) (value float64, at string) {
	t.Helper()
	f, err := os.Open("../testdata/demo/lot-26-11-unit-" + unit + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, h := range rows[0] {
		column[strings.Fields(h)[0]] = i
	}
	value = math.Inf(1)
	for _, row := range rows[1:] {
		number := func(name string) float64 {
			v, err := strconv.ParseFloat(row[column[name]], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		nm, isolation := number("wavelength"), number("isolation")
		if math.Abs(number("temperature")-23) < 1 && nm >= 1535 && nm <= 1565 && isolation < value {
			value, at = isolation, strconv.FormatFloat(nm, 'f', -1, 64)
		}
	}
	return value, at
}

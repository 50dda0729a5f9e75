package verify_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/verify"
)

// TestOutliers: wild readings are named by their lines, and the rest is diagnosed as if they had not been taken.
func TestOutliers(t *testing.T) {
	sound := run(t, scenario(short(), other))
	if len(sound.Outliers) > 0 {
		t.Fatalf("sound readings are called outliers: %v", sound.Outliers)
	}
	for _, c := range []struct {
		name string
		by   map[int]float64 // row: dB
	}{
		{"one far off", map[int]float64{40: -30}},
		{"one just off", map[int]float64{300: 0.6}},
		{"at the ends of a sweep", map[int]float64{0: -3, 160: 2}},
		{"neighbours", map[int]float64{100: -12, 101: -11.7, 102: 4}},
		{"a handful", map[int]float64{10: 5, 77: -5, 200: 0.8, 290: -0.7, 333: 3, 401: -9}},
	} {
		s := scenario(short(), other)
		var want []int
		for i, dB := range c.by {
			iso(&s.Readings.Rows[i]).Value += dB
			want = append(want, s.Readings.Rows[i].Line)
		}
		slices.Sort(want)
		r := run(t, s)
		var got []int
		for _, o := range r.Outliers {
			got = append(got, o.Line)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: lines %v are outliers, want %v", c.name, got, want)
		}
		for _, p := range r.Points {
			if p.Outlier != slices.Contains(want, p.Line) {
				t.Errorf("%s: the reading of line %d is marked %v", c.name, p.Line, p.Outlier)
			}
		}
		for k, d := range r.Diagnosis.Departures {
			// What a handful of 483 readings knows is lost, and no more.
			if e := sound.Diagnosis.Departures[k]; math.Abs(d.Value-e.Value) > 0.3*max(e.Sigma, (e.High-e.Low)/4) {
				t.Errorf("%s: %s is %.4f, and %.4f without outliers", c.name, d.Path, d.Value, e.Value)
			}
		}
		if r.Quality.Outcome == document.Pass || !strings.Contains(r.Quality.Sentence, "line") {
			t.Errorf("%s: data quality %v: %s", c.name, r.Quality.Outcome, r.Quality.Sentence)
		}
	}
}

// TestNoOutliersOfAWrongModel: a model that does not fit makes no outliers.
func TestNoOutliersOfAWrongModel(t *testing.T) {
	s := scenario(short(), other)
	each(&s, func(r *verify.Reading) { iso(r).Value += 2 * math.Sin(float64(r.Wavelength)*5e8) })
	r, err := verify.Run(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Outliers) > 0 || r.Diagnosis.Agreement != document.Fail {
		t.Errorf("%d outliers, agreement as diagnosed %v", len(r.Outliers), r.Diagnosis.Agreement)
	}
}

package readings

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/reports/limits"
	"wedgework/reports/verify/text"
)

// Doubt is a reason for which readings are no evidence of what a unit does: they contradict the bench, not a limit. The
// quality of the data then fails, and no limit that they bear on is met.
type Doubt struct {
	Name     string // of the check that finds it
	Quantity limits.Quantity
	Sentence string
	Obs      []int // observations
}

// Covers reports whether the doubt bears on a limit.
func (u Doubt) Covers(m *Measurement, l limits.Limit) bool {
	return u.Quantity == l.Quantity.Reading() && slices.ContainsFunc(u.Obs, func(i int) bool {
		return l.Covers(m.Obs[i].Wavelength, m.Obs[i].Temperature, TemperatureMargin)
	})
}

// The names of the doubts, which are those of the checks.
const (
	BelowFloor = "readings above the floor"
	Gain       = "readings without gain"
	Stuck      = "readings that vary"
)

// findDoubts finds them all.
func (m *Measurement) findDoubts() []Doubt {
	var all []Doubt
	if m.Floor != nil {
		all = m.doubt(all, BelowFloor, limits.Isolation, m.below(limits.Isolation), fmt.Sprintf(
			"%%d readings show less power than the floor of %.1f dB%%s: the floor or the readings are wrong",
			m.Floor.Level))
	}
	for _, q := range limits.Quantities {
		if ScaleOf(q) == Level {
			all = m.doubt(all, Gain, q, m.below(q), "%d readings of "+text.Spoken(q)+
				" show gain%s, which a passive part cannot have: check sign and reference")
		}
	}
	for run, r := range m.Runs {
		for _, q := range limits.Quantities {
			if ScaleOf(q) == Square {
				// near zero such readings are equal to the last digit, whatever noise a budget states for others
				continue
			}
			if at := m.stuck(run, q); len(at) > 0 {
				all = append(all, Doubt{Name: Stuck, Quantity: q, Obs: at, Sentence: fmt.Sprintf(
					"all %d readings of %s at %s are %g dB: the instrument seems to be stuck", len(at), text.Spoken(q),
					text.Celsius(r.Temperature), m.Obs[at[0]].Read)})
			}
		}
	}
	return all
}

// doubt adds one with the lines it is about, if there are any.
func (m *Measurement) doubt(all []Doubt, name string, q limits.Quantity, at []int, sentence string) []Doubt {
	if len(at) == 0 {
		return all
	}
	const shown = 5
	var lines []string
	for _, i := range at[:min(len(at), shown)] {
		lines = append(lines, fmt.Sprint(m.Rows[m.Obs[i].Row].Line))
	}
	where := " (lines " + strings.Join(lines, ", ") + ")"
	if len(at) == 1 {
		where = " (line " + lines[0] + ")"
	} else if len(at) > shown {
		where = fmt.Sprintf(" (lines %s and %d more)", strings.Join(lines, ", "), len(at)-shown)
	}
	said := fmt.Sprintf(sentence, len(at), where)
	if len(at) == 1 {
		said = strings.NewReplacer("readings show", "reading shows", "the readings are", "the reading is").Replace(
			strings.Replace(said, "readings of", "reading of", 1))
	}
	return append(all, Doubt{Name: name, Quantity: q, Sentence: said, Obs: at})
}

// below lists the observations of a quantity whose value is negative by more than their uncertainty: twice it for one
// reading, and for many as far as one of them lies by chance with the same probability (Bonferroni's bound).
func (m *Measurement) below(q limits.Quantity) []int {
	var at []int
	n := 0
	for _, o := range m.Obs {
		if o.Quantity == q {
			n++
		}
	}
	if n == 0 {
		return nil
	}
	k := -distuv.UnitNormal.Quantile(distuv.UnitNormal.CDF(-Coverage) / float64(n))
	for i, o := range m.Obs {
		if o.Quantity == q && !o.Bound && o.Value < -k*m.darkness(i) {
			at = append(at, i)
		}
	}
	return at
}

// darkness is the standard uncertainty of an observation whose true value is nothing: what its level and the floor are
// uncertain by. Where a curve runs is no matter there.
func (m *Measurement) darkness(i int) float64 {
	o := &m.Obs[i]
	u := o.LevelNoise(m.Budget)
	if o.Backward() {
		return math.Hypot(m.Floor.Standard, m.Floor.Power*PerDecibel*u)
	}
	return u
}

// stuckLeast is how many equal readings are no chance: any noise of half the last digit makes 2^-7 of it.
const stuckLeast = 8

// stuck lists the observations of a sweep if all of them were read equal, though noise is stated that would move them:
// a bench whose noise is below its last digit may read a flat loss many times over.
func (m *Measurement) stuck(run int, q limits.Quantity) []int {
	var at []int
	for i, o := range m.Obs {
		if o.Run != run || o.Quantity != q || o.Bound {
			continue
		}
		if len(at) > 0 && o.Read != m.Obs[at[0]].Read {
			return nil
		}
		at = append(at, i)
	}
	if len(at) < stuckLeast || !m.moves(at) {
		return nil
	}
	return at
}

// moves reports whether readings should differ in the digits in which they are given: noise of a quarter of the last
// digit moves one in twenty of them.
func (m *Measurement) moves(at []int) bool {
	digit := m.Digit[m.Obs[at[0]].Quantity]
	if digit == 0 {
		digit = LastDigit(m.Obs[at[0]].Read)
	}
	for _, i := range at {
		if m.Obs[i].PointNoise(m.Budget) >= digit/4 {
			return true
		}
	}
	return false
}

// LastDigit is the unit of the last decimal that a number is written with, at least 1e-6.
func LastDigit(v float64) float64 {
	for digit := 1.0; digit > 1e-6; digit /= 10 {
		if math.Abs(v/digit-math.Round(v/digit)) < 1e-6 {
			return digit
		}
	}
	return 1e-6
}

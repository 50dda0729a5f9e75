package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
)

// Errors of an instrument that whole sweeps share. The file states their size, the reader what each moves:
//
//	# source drift: 0.02 dB         standard uncertainty by which the source differs from what it was at the
//	                                reference, once for every sweep of every launch state
//	# launch state error: 0.5 deg   standard uncertainty of each of four launch states, along either direction across
//	                                it on the Poincaré sphere; the same in all sweeps
//
// A drift moves all powers of a sweep alike. A launch state that is off by small angles a and b across it moves the
// power by m.(a, b), with m the part across the state of the vector (m12, m13, m14) of the unit.
const (
	driftKey      = "source drift"
	stateErrorKey = "launch state error"
)

// share is how much an error that readings share moves one of them, as a reading of a reference would: the number of
// the error, and by how much for a change of it by 1.
type share struct {
	point int32
	by    float32
}

// systematic adds the errors that the file states to the powers of a direction, of one launch state or of four.
func (l *losses) systematic(direction string, d []*division) error {
	var drift float64
	if err := l.level(&drift, l.t, driftKey, 0); err != nil {
		return err
	}
	off, err := l.stateError()
	if err != nil || drift == 0 && (off == 0 || len(d) < 4) {
		return err
	}
	for k := range d {
		d[k].more, d[k].drift = make([][]share, len(d[k].dB)), drift
		if drift > 0 {
			l.drifts(direction, k, d[k], drift)
		}
	}
	if off > 0 && len(d) == 4 {
		l.statesOff(direction, d, off)
	}
	return nil
}

// stateError reads the uncertainty of the launch states, in radians on the sphere.
func (l *losses) stateError() (float64, error) {
	i := slices.IndexFunc(l.t.Meta, func(kv KeyValue) bool { return keyOf(kv.Key) == stateErrorKey })
	if i < 0 {
		return 0, nil
	}
	name := jones("11", "phase")
	c := column{Column: Column{Name: name, Uncertainty: true}, kind: kinds[name]}
	v, err := metaNumber(&c, l.t.Meta[i].Value)
	if err != nil {
		r := reader{Table: l.t}
		return 0, r.refuseMeta(l.t.Meta[i], quote(l.t.Meta[i].Value),
			"an angle that is not negative and its unit, as in 0.5 deg")
	}
	return v, nil
}

// entered adds an error to those that readings share, and returns its number.
func (l *losses) entered(what string, u float64) int32 {
	n := int32(l.t.SharedErrors())
	from := Source{l.t.File, l.t.Sheet}
	l.t.References = append(l.t.References, Reference{Key: referenceKeyOf(from, what), From: from, U: []float64{u},
		What: what})
	return n
}

// drifts adds an error for each sweep.
func (l *losses) drifts(direction string, state int, d *division, drift float64) {
	for k, rows := range l.t.Sweeps() {
		n := l.entered(strings.TrimSpace(fmt.Sprintf("drift of the source in sweep %d %s %s", k+1, direction,
			stateName(d, state))), drift)
		for _, i := range rows {
			d.more[i] = append(d.more[i], share{n, 1})
		}
	}
}

func stateName(d *division, state int) string {
	if d.alone {
		return ""
	}
	return states[state]
}

// across are the two axes of the sphere across each launch state: 0 and 90 deg lie on the first, 45 deg on the second,
// circular light on the third.
var across = [4][2]int{{1, 2}, {1, 2}, {0, 2}, {0, 1}}

// statesOff adds two errors for each launch state.
func (l *losses) statesOff(direction string, d []*division, off float64) {
	var numbers [4][2]int32
	for k := range d {
		for j := range numbers[k] {
			numbers[k][j] = l.entered(fmt.Sprintf("error %d of the launch state %s %s", j+1, direction, states[k]), off)
		}
	}
	for i := range d[0].dB {
		f := transmissions(d, i)
		v := f.vector()
		for k := range d {
			for j, axis := range across[k] {
				if by := v[axis] / f.t[k] / relative; by == by && !math.IsInf(by, 0) {
					d[k].more[i] = append(d[k].more[i], share{numbers[k][j], float32(by)})
				}
			}
		}
	}
}

// meanShares are those of the mean of n rows.
func (d *division) meanShares(rows []int) []share {
	var all []share
	sum := 0.0
	for _, i := range rows {
		if v := quantity.Ratio(d.dB[i]); v == v {
			sum += v
		}
	}
	for _, i := range rows {
		weight := quantity.Ratio(d.dB[i]) / sum
		if weight != weight {
			continue
		}
		for _, s := range d.more[i] {
			by := float32(weight) * s.by
			if k := slices.IndexFunc(all, func(o share) bool { return o.point == s.point }); k >= 0 {
				all[k].by += by
			} else {
				all = append(all, share{s.point, by})
			}
		}
	}
	return all
}

package recording

import (
	"math"

	"wedgework/reports/record"
	"wedgework/reports/verify"
)

func leakRecord(l verify.Ledger) record.Leak {
	r := record.Leak{
		Name: l.Why, At: plain(nanometres(l.Wavelength)) + " nm, " + plain(l.Temperature.Celsius()) + " °C",
		Sum: leakPower(l.Sum), Reading: leakPower(l.Read),
	}
	for _, p := range l.Parts {
		r.Parts = append(r.Parts, record.LeakPart{Name: p.Name, LeakPower: leakPower(p.Power)})
	}
	return r
}

// leakPower prints a leak in millionths and in dB; below a hundred dB there is none to speak of (a choice).
func leakPower(p float64) record.LeakPower {
	if p < 1e-10 {
		return record.LeakPower{}
	}
	digits := 1
	if p < 1e-6 {
		digits = 2
	}
	return record.LeakPower{Millionths: record.Decimal(p*1e6, digits), Isolation: record.Decimal(-10*math.Log10(p), 1)}
}

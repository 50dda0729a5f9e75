package polar

import "math"

// Transmission is what four launch states of polarization tell of a part: its mean transmission over all
// states and the greatest and least one.
type Transmission struct {
	Mean, T1, T2 float64 // power transmissions: (T1+T2)/2, the greatest and the least

	// DMean, DT1 and DT2 are the derivatives by the four transmissions, for the uncertainty of each.
	DMean, DT1, DT2 [4]float64
}

// FourStates returns the transmissions over all states of polarization from those of four launch states:
// linear at 0, 90 and 45 deg, and circular. The first row of the part's Mueller matrix follows from them,
// and with it the extremes m11 +- |(m12, m13, m14)| (IEC 61300-3-2, TIA-455-198: the Mueller method). Linear at
// -45 deg and the other circular state do as well, for they turn the sign of one element. Noise can make T2
// negative where the part extinguishes one state.
func FourStates(t [4]float64) Transmission {
	m11 := (t[0] + t[1]) / 2
	m := [3]float64{(t[0] - t[1]) / 2, t[2] - m11, t[3] - m11}
	r := math.Sqrt(m[0]*m[0] + m[1]*m[1] + m[2]*m[2])
	x := Transmission{Mean: m11, T1: m11 + r, T2: m11 - r}
	unit := [3]float64{1, 0, 0} // where all states fare alike no direction is preferred
	if r > 0 {
		unit = [3]float64{m[0] / r, m[1] / r, m[2] / r}
	}
	x.DMean = [4]float64{0.5, 0.5, 0, 0}
	dr := [4]float64{
		(unit[0] - unit[1] - unit[2]) / 2,
		(-unit[0] - unit[1] - unit[2]) / 2,
		unit[1],
		unit[2],
	}
	for i, d := range dr {
		x.DT1[i], x.DT2[i] = x.DMean[i]+d, x.DMean[i]-d
	}
	return x
}

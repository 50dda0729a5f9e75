package verify

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"wedgework/reports/limits"
)

// A raw extreme of many readings is as much the noise's as the unit's. With Spec.Smooth the statistic of a limit is the
// extreme of readings smoothed first: each is replaced by the value there of a parabola through the readings of its run
// within that distance (A. Savitzky and M. J. E. Golay, Analytical Chemistry 36, 1627, 1964, for spacings of any kind).

// smoothLeast is how many readings a window needs for a parabola to take anything off their noise.
const smoothLeast = 5

// window is the weights with which readings enter a smoothed one.
type window struct {
	at     []int // observations
	weight []float64
}

// noise is by how much the window divides errors that no two readings share.
func (w window) noise() float64 {
	sum := 0.0
	for _, v := range w.weight {
		sum += v * v
	}
	return math.Sqrt(sum)
}

func (w window) of(value func(i int) float64) float64 {
	sum := 0.0
	for k, i := range w.at {
		sum += w.weight[k] * value(i)
	}
	return sum
}

// window returns how observation i is smoothed; itself alone where too few readings are near.
func (x *examiner) window(i int) window {
	alone := window{[]int{i}, []float64{1}}
	if x.spec.Smooth <= 0 {
		return alone
	}
	o := x.d.obs[i]
	var w window
	for k, b := range x.d.obs {
		if b.run == o.run && b.backward == o.backward && math.Abs(float64(b.l-o.l)) <= float64(x.spec.Smooth)*(1+1e-9) && !x.isOut(k) {
			if b.backward && x.censored[k] {
				return alone // a bound is not an average's business
			}
			w.at = append(w.at, k)
		}
	}
	if len(w.at) < smoothLeast || x.isOut(i) {
		return alone
	}
	a := mat.NewDense(len(w.at), 3, nil)
	for k, j := range w.at {
		s := float64((x.d.obs[j].l - o.l) / x.spec.Smooth)
		a.SetRow(k, []float64{1, s, s * s})
	}
	// The value at the middle is the first coefficient: the first row of the pseudo-inverse.
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) || svd.Values(nil)[2] < 1e-6 {
		return alone
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	w.weight = make([]float64, len(w.at))
	for k := range w.weight {
		for q, s := range svd.Values(nil) {
			w.weight[k] += v.At(0, q) / s * u.At(k, q)
		}
	}
	return w
}

// smoothTrials is how often noise is drawn for the bias of a smoothed extreme: neighbours share readings, so that
// there is no product of probabilities as for raw ones. It settles the bias to a twentieth of the noise.
const smoothTrials = 400

// smoothedBias is the expected smoothed extreme less the true one, in dB, from the point-wise uncertainties and the best
// model's curve; what a parabola cuts off a peak counts as well.
func (x *examiner) smoothedBias(l limits.Limit, all []candidate) float64 {
	sense := 1.0
	if !l.AtLeast {
		sense = -1
	}
	truth, u := map[int]float64{}, map[int]float64{}
	least := math.Inf(1)
	for _, c := range all {
		for _, i := range c.window.at {
			o := x.d.obs[i]
			truth[i], u[i] = sense*x.best[i], x.own.Point(i)
			if o.backward {
				p := max(x.best[i], math.SmallestNonzeroFloat64)
				truth[i], u[i] = sense*decibels(math.Sqrt(p)), u[i]/(max(p, x.value[i])*perDecibel)
			}
		}
		least = min(least, truth[c.obs])
	}
	rng := rand.New(rand.NewPCG(1, 0x5e))
	sum := 0.0
	drawn := map[int]float64{}
	for range smoothTrials {
		clear(drawn)
		got := math.Inf(1)
		for _, c := range all {
			got = min(got, c.window.of(func(i int) float64 {
				v, ok := drawn[i]
				if !ok {
					v = truth[i] + u[i]*rng.NormFloat64()
					drawn[i] = v
				}
				return v
			}))
		}
		sum += got
	}
	return sense * (sum/smoothTrials - least)
}

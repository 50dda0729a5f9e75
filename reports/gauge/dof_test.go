package gauge_test

import (
	"math"
	"testing"

	"wedgework/reports/uncertainty"
)

// The degrees of freedom of a bias by hand (JCGM 100:2008, G.4.1): six readings have five, of the line through them
// four; a certificate with 10 adds its own.
func TestDegreesOfFreedomOfABias(t *testing.T) {
	values := []float64{30.01, 30.05, 29.98, 30.03, 30.00, 30.02}
	const certificate = 0.02
	s := standard(t, values, nil, uncertainty.Estimate{Value: 30, Standard: certificate, DOF: 10})
	mean, squares := 0.0, 0.0
	for _, v := range values {
		mean += v / 6
	}
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	read := math.Sqrt(squares / 5 / 6)
	u2 := read*read + certificate*certificate
	want := u2 * u2 / (math.Pow(read, 4)/5 + math.Pow(certificate, 4)/10)
	if math.Abs(s.Bias.DOF-want) > 1e-9 || math.Abs(s.Bias.Standard-math.Sqrt(u2)) > 1e-12 {
		t.Errorf("u %.6g with %.6g degrees of freedom, want %.6g with %.6g", s.Bias.Standard, s.Bias.DOF, math.Sqrt(u2),
			want)
	}
	line := math.Sqrt(s.Now.Standard*s.Now.Standard - certificate*certificate)
	want = math.Pow(s.Now.Standard, 4) / (math.Pow(line, 4)/4 + math.Pow(certificate, 4)/10)
	if math.Abs(s.Now.DOF/want-1) > 1e-9 {
		t.Errorf("at the end of the line %.6g degrees of freedom, want %.6g", s.Now.DOF, want)
	}
}

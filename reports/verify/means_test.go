package verify_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify"
	"wedgework/reports/verify/verifytest"
)

// TestOtherPolarizations: readings of one statistic over polarization decide limits on the others. The truth is the
// optics' own; what was read needs no way to go, and the truth lies within every coverage interval.
func TestOtherPolarizations(t *testing.T) {
	s := verifytest.SingleStage(t, 42, 0.0002).WithGhosts(stack.GhostsIncoherent)
	at := func(nm float64, d stack.Direction) stack.Point {
		p, err := s.At(d, quantity.Length(nm)*quantity.Nanometre, quantity.Celsius(23))
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	truths := map[limits.Quantity]func(nm float64) float64{
		limits.Isolation:         func(nm float64) float64 { return at(nm, stack.Backward).Isolation() },
		limits.IsolationMean:     func(nm float64) float64 { return at(nm, stack.Backward).IsolationMean() },
		limits.InsertionLoss:     func(nm float64) float64 { return at(nm, stack.Forward).InsertionLossMax() },
		limits.InsertionLossMean: func(nm float64) float64 { return at(nm, stack.Forward).InsertionLoss() },
		limits.InsertionLossMin:  func(nm float64) float64 { return at(nm, stack.Forward).InsertionLossMin() },
	}
	for _, c := range []struct {
		source, pdl     string
		isolation, loss limits.Quantity // what is read
	}{{"scrambled", "", limits.IsolationMean, limits.InsertionLossMean},
		{"scrambled", "PDL [dB]", limits.IsolationMean, limits.InsertionLossMean},
		{"min-max", "", limits.Isolation, limits.InsertionLoss}} {
		var text strings.Builder
		fmt.Fprintf(&text, "# unit: 1\n# measured: 2026-11-18\n# source polarization: %s\nwavelength "+
			"[nm],temperature [degC],isolation [dB],insertion loss [dB],%s\n", c.source, c.pdl)
		for nm := 1530.0; nm <= 1570; nm++ {
			fmt.Fprintf(&text, "%g,23,%.5f,%.5f,", nm, truths[c.isolation](nm), truths[c.loss](nm))
			if c.pdl != "" {
				fmt.Fprintf(&text, "%.6f", at(nm, stack.Forward).PDL())
			}
			text.WriteString("\n")
		}
		r, err := verify.FromTable(tableOf(t, "means.csv", strings.ReplaceAll(text.String(), ",\n", "\n")))
		if err != nil {
			t.Fatal(err)
		}
		spec := verify.Spec{Model: verify.ForStack(s), Readings: r, Budget: uncertainty.Budget{
			Contributions: []uncertainty.Contribution{{Name: "repeatability", Value: quantity.Of(0.01, "dB")}}}}
		for _, q := range limits.Figures[:5] {
			l := limitOn(q, 0.5)
			spec.Limits = append(spec.Limits, l)
		}
		v, err := verify.Run(context.Background(), spec)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range v.Decisions {
			q := d.Limit.Quantity
			want := truths[q](1550)
			for nm := float64(d.Limit.Low) * 1e9; nm <= float64(d.Limit.High)*1e9+1e-6; nm += 0.5 {
				if d.Limit.AtLeast {
					want = min(want, truths[q](nm))
				} else {
					want = max(want, truths[q](nm))
				}
			}
			if !d.Decided || !(d.Low < want && want < d.High) || d.High-d.Low > 0.1 {
				t.Errorf("%s%s: %s is %.4f to %.4f dB, want %.4f", c.source, c.pdl, q, d.Low, d.High, want)
			}
			if read := q == c.isolation || q == c.loss; read != (d.Correction == 0) {
				t.Errorf("%s%s: %s has a correction of %g dB", c.source, c.pdl, q, d.Correction)
			}
		}
	}
}

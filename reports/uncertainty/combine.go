package uncertainty

import (
	"math"

	"wedgework/optics/quantity"
)

// Line is one contribution to the uncertainty of one figure.
type Line struct {
	Name         string
	Value        quantity.Quantity
	Distribution Distribution
	Divisor      float64
	Standard     float64 // in the unit of Value
	Sensitivity  float64 // figure's unit per unit of Value
	Contribution float64 // standard, in the figure's unit: |Sensitivity| Standard
	DOF          float64 // 0 stands for infinite
	Shared       Shared
	Share        float64 // of the variance
}

// Combined is the uncertainty of a figure, line by line.
type Combined struct {
	Lines    []Line
	Standard float64
	DOF      float64 // effective; 0 stands for infinite
	K        float64 // coverage factor at Confidence
	Expanded float64
}

// Combine adds independent contributions to one figure (JCGM 100:2008, 5.1.2): u^2 = sum of (c_i u_i)^2, effective
// degrees of freedom by Welch and Satterthwaite (G.4), and U = k u at Confidence. Lines that contribute nothing are
// left out.
func Combine(lines []Line) Combined {
	var c Combined
	var u, dof []float64
	sum := 0.0
	for _, l := range lines {
		if l.Contribution == 0 {
			continue
		}
		c.Lines = append(c.Lines, l)
		u, dof = append(u, l.Contribution), append(dof, l.DOF)
		sum += l.Contribution * l.Contribution
	}
	for i := range c.Lines {
		c.Lines[i].Share = u[i] * u[i] / sum
	}
	c.Standard, c.DOF = math.Sqrt(sum), WelchSatterthwaite(u, dof)
	c.Expanded, c.K = Estimate{Standard: c.Standard, DOF: c.DOF}.Expanded()
	return c
}

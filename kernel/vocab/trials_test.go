package vocab

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/limits"
)

// TestYieldAllowsForTheSurface: a unit that is nearer to its limit than the surface was seen to be off counts at
// neither end of the interval for certain.
func TestYieldAllowsForTheSurface(t *testing.T) {
	list := []wanted{{tolerance.Figure{Quantity: tolerance.Isolation, Wavelengths: make([]quantity.Length, 1),
		Temperatures: make([]quantity.Temperature, 1)},
		&limits.Limit{Quantity: tolerance.Isolation, AtLeast: true, Value: 40}}}
	found := &tolerance.Outcome{Nominal: []float64{41}, Values: [][]float64{{40.05, 39.95, 41, 39}}, Surface: true,
		Off: []float64{0.1}, Good: []int{2}, AllGood: 2}
	got := newTrials(list, found, 4, 1, "")
	low, _ := tolerance.Yield(1, 4)
	_, high := tolerance.Yield(3, 4)
	if got.good != 2 || got.low != low || got.high != high {
		t.Errorf("%d units, %g to %g, want 2, %g to %g", got.good, got.low, got.high, low, high)
	}
	found.Surface = false // each evaluated by itself: nothing is off
	got = newTrials(list, found, 4, 1, "")
	if low, high := tolerance.Yield(2, 4); got.low != low || got.high != high {
		t.Errorf("%g to %g, want %g to %g", got.low, got.high, low, high)
	}
}

// TestBetweenCorners: what is worse for the stack itself than at any corner is said.
func TestBetweenCorners(t *testing.T) {
	at := func(q string) wanted {
		return wanted{figure: tolerance.Figure{Quantity: q, Wavelengths: make([]quantity.Length, 1),
			Temperatures: make([]quantity.Temperature, 1)}}
	}
	c := Corners{wanted: []wanted{at(tolerance.Isolation), at(tolerance.InsertionLoss), at(tolerance.PDL)},
		found: &tolerance.Corners{Nominal: []float64{40, 0.5, 0.1}, Worst: []tolerance.Corner{{Value: 30}, {Value: 0.4},
			{Value: 0.2}}}}
	if said := c.between(); len(said) != 1 || !strings.HasPrefix(said[0], "insertion loss, ") {
		t.Errorf("said %q, want it of the insertion loss", said)
	}
	c.found.Nominal[0] = 29
	if said := c.between(); len(said) != 2 {
		t.Errorf("said %q, want it of the isolation as well", said)
	}
}

func TestPercent(t *testing.T) {
	for share, want := range map[float64]string{0: "0.0 %", 1: "100.0 %", 0.5: "50.0 %", 0.995: "99.50 %",
		0.999963: "99.9963 %", 0.003: "0.30 %"} {
		if got := percent(share); got != want {
			t.Errorf("%g is %s, want %s", share, got, want)
		}
	}
}

// TestWorstOverCountsWhatIsAsked: the note under the figures speaks of the wavelengths and temperatures that the limits
// span, and of no others.
func TestWorstOverCountsWhatIsAsked(t *testing.T) {
	const note = "Each figure is the worst over its wavelengths and temperatures and over polarization."
	for over, want := range map[string]string{
		`over=1550*nm`: note,
		`over=sweep(1535*nm, 1565*nm, 1*nm)`: note +
			" A limit is checked at 9 wavelengths of its band, the ends included.",
		`over=1550*nm, temperature=sweep(-5*degC, 70*degC,
    5*kelvin)`: note + " A limit is checked at 5 temperatures of its range, the ends included.",
		`over=sweep(1535*nm, 1565*nm, 1*nm), temperature=sweep(-5*degC, 70*degC,
    5*kelvin)`: note +
			" A limit is checked at 9 wavelengths of its band and 5 temperatures of its range, the ends included.",
		`over=sweep(1535*nm, 1565*nm, 1*nm), temperature=sweep(23*degC, 23.0*degC + 0*kelvin,
    1*kelvin)`: note + " A limit is checked at 9 wavelengths of its band, the ends included.",
	} {
		l, err := runScript(newFakeHost(t), "limits(isolation=at_least(30*dB), "+over+")")
		if err != nil {
			t.Fatal(over, err)
		}
		if got := worstOver(limitedBy(l.(*Limits))); got != want {
			t.Errorf("%s: %q, want %q", over, got, want)
		}
	}
}

// TestSearchDoesNotClimbRipple: parallel bare faces make fringes over the length of a gap. A search looks at the mean
// of them, as a stack whose double reflections add in power has it, unless it is told to look at the fringes.
func TestSearchDoesNotClimbRipple(t *testing.T) {
	source := strings.NewReplacer(`apex=5*deg,`, `apex=5*deg, coating="bare",`, `at=1550*nm)`,
		`at=1550*nm, coating="bare")`).Replace(exampleStack)
	if source == exampleStack {
		t.Fatal("no face is bare")
	}
	const ask = `.search(vary={"gap1.length": (0.5*mm, 0.5025*mm)}, maximize=lambda t: -t.forward(1550*nm).insertion_loss`
	quiet := strings.Replace(source, "working_distance=10*mm)", `working_distance=10*mm), ghosts="incoherent"`, 1)
	v := run1(t, newFakeHost(t), source+`free = s`+ask+`)
fringe = s`+ask+`, ghosts="coherent")
`+strings.Replace(quiet, "\ns = ", "\nq = ", 1)+`
mean = q.adjusted(free.at).forward(1550*nm).insertion_loss
[(free.value + mean)/dB, (free.before + q.forward(1550*nm).insertion_loss)/dB, (fringe.value - free.value)/dB,
    (fringe.value + fringe.stack.forward(1550*nm).insertion_loss)/dB]`)
	list, _ := elements(v)
	var x []float64
	for _, e := range list {
		f, _ := plain(e)
		x = append(x, f)
	}
	const rounding = 1e-9 // dB
	if math.Abs(x[0]) > rounding || math.Abs(x[1]) > rounding {
		t.Errorf("the values of a search are off the ripple-free ones by %g and %g dB", x[0], x[1])
	}
	if !(x[2] > 0.1) || math.Abs(x[3]) > rounding {
		t.Errorf("on the fringes a search finds %g dB more, and is off by %g dB", x[2], x[3])
	}
	shown, err := Show(run1(t, newFakeHost(t), source+"s"+ask+")"))
	if err != nil || !strings.Contains(fmt.Sprint(shown), "ripple is averaged out") {
		t.Errorf("the result does not say how double reflections count: %v %v", shown, err)
	}
}

// TestLimitsInTheirUnits: a limit on a delay is in picoseconds, as it is written, and the figure of a study in seconds.
func TestLimitsInTheirUnits(t *testing.T) {
	at := tolerance.Figure{Quantity: tolerance.DGD, Wavelengths: make([]quantity.Length, 1),
		Temperatures: make([]quantity.Temperature, 1)}
	w := wanted{at, &limits.Limit{Quantity: tolerance.DGD, Value: 0.1}}
	for seconds, keeps := range map[float64]bool{0.05e-12: true, 0.0999e-12: true, 0.1001e-12: false, 3e-12: false} {
		if w.keeps(seconds) != keeps {
			t.Errorf("%g s against 0.1 ps: %v", seconds, !keeps)
		}
	}
	if w.keepsBy(0.09e-12, 0.02e-12) || !w.keepsBy(0.11e-12, -0.02e-12) {
		t.Error("a margin of a delay is not in the unit of the delay")
	}
	if by := w.missedBy(0.3e-12); math.Abs(by-0.2) > 1e-12 {
		t.Errorf("0.3 ps misses 0.1 ps by %g", by)
	}
	if got := w.bound(); got != "≤ 0.1 ps" {
		t.Errorf("bound %q", got)
	}
	at.Quantity = tolerance.ReturnLoss
	w = wanted{at, &limits.Limit{Quantity: tolerance.ReturnLoss, AtLeast: true, Value: 55}}
	if w.keeps(54.9) || !w.keeps(55.1) || w.bound() != "≥ 55 dB" || w.name() != "return loss" {
		t.Errorf("return loss: %s %s", w.name(), w.bound())
	}
}

package model

import (
	"context"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/verify/readings"
)

// Direction tells forward light from backward light.
type Direction = stack.Direction

// The two directions.
const (
	Forward  = stack.Forward
	Backward = stack.Backward
)

// Transmission holds the greatest and least power transmission over polarization.
type Transmission struct{ T1, T2 float64 }

// Mean returns the transmission of scrambled light.
func (t Transmission) Mean() float64 { return (t.T1 + t.T2) / 2 }

// Ripple is what the phases of ghosts, which Over averages out, leave open backward: the standard deviations of the
// mean transmission and of T1.
type Ripple struct{ Mean, T1 float64 }

// Returned is the share of launched power that comes back to its port, over all states of polarization the greatest,
// reflections added in power; Ripple is the standard deviation that their phases leave open.
type Returned struct{ Power, Ripple float64 }

// Axes is what arrives along the axes of the receiving fibre. Crossed is the power along the axis that the light should
// not leave along, over that along the other, for light launched along the axis that it should leave along: 10^(-ER/10).
// Slow and Fast are the transmissions of light launched along either axis.
type Axes struct{ Crossed, Slow, Fast float64 }

// Parameter is an adjustable number of the model: "rotator1.angle" and its value.
type Parameter struct {
	Path    string
	Value   quantity.Quantity
	Omitted bool // the drawing is without it (element.Parameter)
}

// Model is what verify needs of a stack; ForStack makes one of a *stack.Stack. A model is never changed,
// and its methods may be called by several goroutines.
type Model interface {
	// Over returns the transmissions at one temperature with ghost ripple averaged out.
	Over(ctx context.Context, d Direction, ls []quantity.Length, t quantity.Temperature) ([]Transmission, error)
	// Ghosts returns the power that ghosts add to the backward T1, which Over has in it.
	Ghosts(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error)
	// Ripple returns what the phases of ghosts leave open of the backward transmissions.
	Ripple(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Ripple, error)
	// Delays returns the square of the forward differential group delay, in ps^2.
	Delays(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]float64, error)
	// StepDelay returns the differential group delay in ps that an instrument finds between two wavelengths.
	StepDelay(a, b quantity.Length, t quantity.Temperature) (float64, error)
	// Returned returns what comes back to the port that more comes back to.
	Returned(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Returned, error)
	// Axes returns what arrives along the axes of the receiving fibre; nil where the fibres have none.
	Axes(ctx context.Context, ls []quantity.Length, t quantity.Temperature) ([]Axes, error)
	// Adjusted returns a changed copy.
	Adjusted(values map[string]quantity.Quantity) (Model, error)
	// Parameters lists all adjustable numbers in a fixed order.
	Parameters() []Parameter
	// Cautions lists what the model warns of.
	Cautions() []string
}

// anchorer is a Model that is cheaper to evaluate along given sweeps, and so are its adjusted copies, once it has
// prepared itself for them. What it then says is the same.
type anchorer interface {
	Anchored(ctx context.Context, sweeps []readings.Sweep) (Model, error)
}

// cheaper is a Model that may be evaluated for less, where less will do.
type cheaper interface {
	// Rough is the model at its cheapest, wrong by as much as its ghosts may change: to find where to look closely.
	Rough() Model
	// Coarse is wrong by much less than readings are uncertain: for weights, for where to linearize, and for pictures.
	Coarse() Model
	// Nearby is coarse, and adjusted copies take its ghosts, unless a coating is adjusted: for derivatives by little
	// steps, and to seek what is then evaluated by the model itself. How the leakage changes ghosts over a tolerance is
	// not in it.
	Nearby() Model
}

func Rough(m Model) Model {
	if c, ok := m.(cheaper); ok {
		return c.Rough()
	}
	return m
}

func Coarse(m Model) Model {
	if c, ok := m.(cheaper); ok {
		return c.Coarse()
	}
	return m
}

func Nearby(m Model) Model {
	if c, ok := m.(cheaper); ok {
		return c.Nearby()
	}
	return m
}

func Anchor(ctx context.Context, m Model, sweeps []readings.Sweep) (Model, error) {
	if a, ok := m.(anchorer); ok {
		return a.Anchored(ctx, sweeps)
	}
	return m, nil
}

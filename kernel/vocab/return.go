package vocab

import (
	"math"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// portParam is the collimator that light leaves and comes back to.
var portParam = Param{Name: "port", Kind: choice("launching",
	"receiving"), Mode: Keyword, Default: starlark.String("launching"),
	Doc: "the collimator from which the light is launched and which receives the reflections"}

// portOf returns the direction of the light that leaves the port of a call.
func portOf(a Args) stack.Direction {
	if a.Text("port") == "receiving" {
		return stack.Backward
	}
	return stack.Forward
}

// returnLoss is the method of a stack.
func (s *Stack) returnLoss(t *starlark.Thread, a Args) (starlark.Value, error) {
	at, err := conditionsOf(a)
	if err != nil {
		return nil, err
	}
	if err := s.about(t, at.wavelengths, at.temperatures); err != nil {
		return nil, err
	}
	return at.returnLoss(t, s.stack, portOf(a), a.Bool("coherent"))
}

// returnLoss computes for the cell of the thread.
func (c conditions) returnLoss(thread *starlark.Thread, s *stack.Stack, d stack.Direction,
	coherent bool) (starlark.Value, error) {
	c.ctx, c.work = session.ContextOf(thread), session.Begin(thread, "return loss")
	defer c.work.End()
	return c.each("return loss", decibel, func(t, l int) (float64, error) {
		r, err := s.ReturnLoss(d, c.wavelengths[l], c.temperatures[t], coherent)
		return r.Loss, err
	})
}

// reflections is the method of a stack.
func (s *Stack) reflections(t *starlark.Thread, a Args) (starlark.Value, error) {
	l, at := a.Length("wavelength"), a.Temperature("temperature")
	if err := s.about(t, []quantity.Length{l}, []quantity.Temperature{at}); err != nil {
		return nil, err
	}
	r, err := s.stack.ReturnLoss(portOf(a), l, at, false)
	if err != nil {
		return nil, err
	}
	d := starlark.NewDict(len(r.Parts))
	for _, p := range r.Parts {
		if math.IsInf(p.Loss, 1) {
			continue
		}
		if err := d.SetKey(starlark.String(p.Name), Quantity{quantity.Of(p.Loss, "dB")}); err != nil {
			return nil, err
		}
	}
	d.Freeze()
	return d, nil
}

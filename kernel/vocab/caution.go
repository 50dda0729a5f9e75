package vocab

import (
	"slices"
	"sync"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// saidKey is the thread-local key of what the running cell has been cautioned about; a cell has a thread of its own.
const saidKey = "wedgework cautions"

// caution puts a sentence on the cell and into the report, once a cell for each topic: a loop over wavelengths says
// of the first how far it is outside a fit.
func caution(t *starlark.Thread, topic, text string) error {
	said, _ := t.Local(saidKey).(map[string]bool)
	if said == nil {
		said = map[string]bool{}
		t.SetLocal(saidKey, said)
	}
	if text == "" || said[topic] {
		return nil
	}
	said[topic] = true
	if host, err := hostOf(t); err == nil { // without a notebook there is no report to carry it
		host.Warn(text)
	}
	return show(t, session.Shown{Blocks: []document.Block{document.Caution{Text: text}}})
}

// outside cautions about a material used outside the range of its fit, but for sentences that have been said.
func outside(t *starlark.Thread, fit element.Fit, ls []quantity.Length, said func(text string) bool) error {
	if len(ls) == 0 {
		return nil
	}
	lo, hi := fit.Range()
	if l := slices.Min(ls); l < lo && !said(fit.Warning(l)) {
		if err := caution(t, fit.Name()+" below its fit", fit.Warning(l)); err != nil {
			return err
		}
	}
	if l := slices.Max(ls); l > hi && !said(fit.Warning(l)) {
		return caution(t, fit.Name()+" above its fit", fit.Warning(l))
	}
	return nil
}

// unsaid is what outside takes where nothing has been said before.
func unsaid(string) bool { return false }

// usedAt cautions about a material at the conditions of a computation: outside its fit, and far from room temperature.
func usedAt(t *starlark.Thread, fit element.Fit, at conditions) error {
	if err := farFromRoom(t, at.temperatures...); err != nil {
		return err
	}
	return outside(t, fit, at.wavelengths, unsaid)
}

// farFromRoom cautions about temperatures at which coefficients are extrapolated.
func farFromRoom(t *starlark.Thread, ts ...quantity.Temperature) error {
	if len(ts) == 0 {
		return nil
	}
	for _, at := range []quantity.Temperature{slices.Max(ts), slices.Min(ts)} {
		if err := caution(t, "far from room temperature", stack.FarFromRoom(at)); err != nil {
			return err
		}
	}
	return nil
}

// about cautions about the parts of a stack at the conditions of a computation: materials outside their fits, and what
// a part has to say when hot or cold that the stack has not said of itself.
func (s *Stack) about(t *starlark.Thread, ls []quantity.Length, ts []quantity.Temperature) error {
	if err := farFromRoom(t, ts...); err != nil {
		return err
	}
	known := sync.OnceValue(s.stack.Cautions)
	said := func(text string) bool { return text == "" || slices.Contains(known(), text) }
	for _, e := range s.stack.Spec().Elements {
		if fit := element.FitOf(e); fit != nil {
			if err := outside(t, fit, ls, said); err != nil {
				return err
			}
		}
		if h, ok := e.(element.Halves); ok {
			if err := outside(t, element.FitOf(h.Second), ls, said); err != nil {
				return err
			}
		}
		c, ok := e.(element.Cautious)
		if !ok || len(ts) == 0 {
			continue
		}
		for _, at := range []quantity.Temperature{slices.Max(ts), slices.Min(ts)} {
			for _, text := range c.Cautions(at) {
				if said(text) {
					continue
				}
				if err := caution(t, e.Label()+" "+text, text); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

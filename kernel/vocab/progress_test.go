package vocab

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

// Trials, searches and families say how far they have come as a part of the whole, and how long the rest will take.
func TestProgressHasAFraction(t *testing.T) {
	for _, c := range []struct{ task, call string }{
		{"sampling 3000000 units", `s.trials(3000000, {"rotator1.angle": normal(0.3*deg)}, wavelength=1550*nm)`},
		{"searching, stacks looked at", `two.search(vary={"wedge2.axis": (60*deg, 75*deg)}, ` +
			`maximize=lambda t: t.backward(sweep(1500*nm, 1600*nm, count=400)).isolation.min())`},
		{"searching, stacks looked at", `two.search(vary={"wedge2.axis": (60*deg, 75*deg)}, maximize=[lambda t: ` +
			`t.backward(sweep(1500*nm, 1600*nm, count=400)).isolation.min(), lambda t: t.backward(1540*nm).isolation])`},
		{"backward responses", `two.over("wedge1.apex", sweep(3*deg, 8*deg, count=400)).backward(wide).isolation`},
	} {
		h := newFakeHost(t)
		config := Config(h)
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		var mu sync.Mutex
		var told []session.Progress
		config.Progress = func(p session.Progress, _ func(notebook.Output) error) {
			mu.Lock()
			defer mu.Unlock()
			if told = append(told, p); len(told) > 3 && p.Done > 0 {
				cancel()
			}
		}
		s, err := session.New(config)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Run(ctx, session.Cell{Name: "set-up", Source: twoStages}, nil); err != nil {
			t.Fatal(err)
		}
		_, err = s.Run(ctx, session.Cell{Name: "cell", Source: c.call}, nil)
		cancel()
		mu.Lock()
		found := false
		for _, p := range told {
			left, ok := p.Left()
			found = found || p.Total > 0 && p.Done > 0 && p.Done < p.Total && ok && left > 0 &&
				strings.Contains(p.String(), " left") && strings.Contains(p.Task, strings.Fields(c.task)[0])
		}
		if !found {
			t.Errorf("%s: told %v (%v), want a part of a total and the time left", c.call, told, err)
		}
		mu.Unlock()
	}
}

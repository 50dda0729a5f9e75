package stack

import (
	"context"
	"fmt"
	"sync"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
)

// Response is what a stack does over a grid of wavelengths and temperatures, in one direction.
type Response struct {
	Direction    Direction
	Wavelengths  []quantity.Length
	Temperatures []quantity.Temperature
	Points       [][]Point // [temperature][wavelength]
}

// Over returns the response over a grid, computed in parallel. It returns the context's error when the
// context ends first, and otherwise the error of the first point, in the order of the grid, that has one.
func (s *Stack) Over(ctx context.Context, d Direction, ls []quantity.Length, ts []quantity.Temperature) (*Response,
	error) {
	return over(ctx, d, ls, ts, func(ls []quantity.Length, t quantity.Temperature, into []Point) error {
		return s.row(d, ls, t, into)
	})
}

// over computes the rows of a grid in parallel.
func over(ctx context.Context, d Direction, ls []quantity.Length, ts []quantity.Temperature, row row) (*Response,
	error) {
	if len(ls) == 0 || len(ts) == 0 {
		return nil, fmt.Errorf("a response needs at least one wavelength and one temperature")
	}
	r := &Response{Direction: d, Wavelengths: ls, Temperatures: ts, Points: make([][]Point, len(ts))}
	for i := range ts {
		r.Points[i] = make([]Point, len(ls))
	}
	// A chunk is a run of wavelengths at one temperature, so that a worker lays its course once for it.
	const chunk = 64
	perRow := (len(ls) + chunk - 1) / chunk
	progress := progressOf(ctx)
	if perRow*len(ts) == 1 { // a few points, as fits ask for by the thousand, are not worth what follows
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := row(ls, ts[0], r.Points[0]); err != nil {
			return nil, err
		}
		progress(len(ls), len(ls))
		return r, nil
	}
	var telling sync.Mutex
	done := 0
	err := parallel.Each(perRow*len(ts), func(i int) error {
		if ctx.Err() != nil {
			return nil // said below, before what other chunks have to say
		}
		at, from := i/perRow, i%perRow*chunk
		to := min(from+chunk, len(ls))
		if err := row(ls[from:to], ts[at], r.Points[at][from:to]); err != nil {
			return err
		}
		telling.Lock()
		defer telling.Unlock()
		done += to - from
		progress(done, len(ls)*len(ts))
		return nil
	})
	if ended := ctx.Err(); ended != nil {
		return nil, ended
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

// row fills in a run of wavelengths at one temperature.
func (s *Stack) row(d Direction, ls []quantity.Length, t quantity.Temperature, into []Point) error {
	if err := d.check(); err != nil {
		return err
	}
	if err := s.through(); err != nil {
		return err
	}
	return s.tuned(ls, t, func(q *tracer, c *course, k int, l quantity.Length) {
		into[k] = q.evaluate(s, c, d, l)
	})
}

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
		if err := s.row(d, ls, ts[0], r.Points[0]); err != nil {
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
		row, from := i/perRow, i%perRow*chunk
		to := min(from+chunk, len(ls))
		if err := s.row(d, ls[from:to], ts[row], r.Points[row][from:to]); err != nil {
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

// row fills in a run of wavelengths at one temperature. A panic in it is a mistake in this program, and becomes an
// error so that it does not take a session down.
func (s *Stack) row(d Direction, ls []quantity.Length, t quantity.Temperature, into []Point) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the response could not be computed: internal error: %v", r)
		}
	}()
	if err := d.check(); err != nil {
		return err
	}
	q := tracers.Get().(*tracer)
	defer tracers.Put(q)
	c := &q.room
	c.lay(s, t)
	for i, l := range ls {
		if err := c.tune(l); err != nil {
			return err
		}
		into[i] = q.evaluate(s, c, d, l)
	}
	return nil
}

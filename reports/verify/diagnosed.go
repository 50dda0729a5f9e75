package verify

import (
	"context"
)

// fan is a model with arms along the independent directions of what is not known of its parameters: to either side a
// model, coverage standard deviations away.
type fan struct {
	centre Model
	arms   [][2]Model // plus, minus
}

// spread evaluates the fan.
func (f *fan) spread(ctx context.Context, p *batch) (*spread, error) {
	s := &spread{arms: make([][2][]float64, len(f.arms))}
	err := each(2*len(f.arms)+1, func(i int) (err error) {
		if i == 2*len(f.arms) {
			s.centre, err = p.predict(ctx, f.centre)
		} else {
			s.arms[i/2][i%2], err = p.predict(ctx, f.arms[i/2][i%2])
		}
		return err
	})
	return s, err
}

package rerun

import (
	"context"
	"fmt"
	"maps"

	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

// drawer makes what a notebook keeps of outputs, text, HTML and pictures, from their blocks: one after the other, while
// later cells run. Blocks are not changed once they are emitted.
type drawer struct {
	ctx  context.Context
	jobs []*drawn
}

// drawn is one output on its way.
type drawn struct {
	cell  int
	data  map[string]any // of the output, which is complete when the run is over
	forms map[string]any
	err   error
	done  chan struct{}
}

// take begins to draw an output of a cell; one without blocks has all that it will have.
func (d *drawer) take(cell int, o notebook.Output) {
	if o.Blocks == nil || o.Data == nil {
		return
	}
	job := &drawn{cell: cell, data: o.Data, done: make(chan struct{})}
	var before *drawn
	if len(d.jobs) > 0 {
		before = d.jobs[len(d.jobs)-1]
	}
	d.jobs = append(d.jobs, job)
	go func() {
		defer close(job.done)
		if before != nil {
			<-before.done
		}
		if job.err = d.ctx.Err(); job.err == nil {
			job.forms, job.err = forms(o.Blocks)
		}
	}()
}

func forms(blocks []document.Block) (all map[string]any, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("showing its output: panic: %v", p)
		}
	}()
	return document.Bundle(blocks), nil
}

// settle waits until all is drawn, and puts it into the outputs. It returns early when the context ends: what is being
// drawn is then left to itself.
func (d *drawer) settle() error {
	for _, job := range d.jobs {
		select {
		case <-job.done:
		case <-d.ctx.Done():
			job = &drawn{cell: job.cell, err: d.ctx.Err()}
		}
		if job.err != nil {
			return &CellError{Number: job.cell, Message: job.err.Error(), Err: job.err}
		}
		maps.Copy(job.data, job.forms)
	}
	return nil
}

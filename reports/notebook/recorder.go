package notebook

// Recorder puts what running cells emit into a notebook, as front ends do. What is left there is the final
// state.
type Recorder struct {
	Notebook *Notebook

	cell     int  // the one that runs
	clearing bool // its outputs go away when the next one comes
}

// Begin makes cell i, counting from 0, the one that runs, and takes away the outputs it had.
func (r *Recorder) Begin(i, executionCount int) {
	r.cell, r.clearing = i, false
	c := r.Cell()
	c.Outputs, c.Count = nil, executionCount
}

// Cell returns the cell that runs.
func (r *Recorder) Cell() *Cell { return &r.Notebook.Cells[r.cell] }

// Take takes an output of the cell that runs. Text that follows text on the same stream joins it, so that
// a notebook does not depend on how its prints were cut up. An update replaces the data of every display
// of its name, in earlier cells too, and is lost when there is none. A clearing takes away what the cell
// has shown.
func (r *Recorder) Take(o Output) {
	c := r.Cell()
	switch o.Type {
	case UpdateOutput:
		r.update(o)
		return
	case ClearOutput:
		if r.clearing = o.Wait; !o.Wait {
			c.Outputs = nil
		}
		return
	}
	if r.clearing {
		c.Outputs, r.clearing = nil, false
	}
	if n := len(c.Outputs); n > 0 && o.Type == StreamOutput {
		if last := &c.Outputs[n-1]; last.Type == StreamOutput && last.Stream == o.Stream {
			last.Text += o.Text
			return
		}
	}
	if o.Type == ResultOutput {
		o.Count = c.Count
	}
	c.Outputs = append(c.Outputs, o)
	r.update(o) // an earlier display of the same name shows this too
}

func (r *Recorder) update(o Output) {
	if o.DisplayID == "" {
		return
	}
	for i := range r.Notebook.Cells {
		for j := range r.Notebook.Cells[i].Outputs {
			if shown := &r.Notebook.Cells[i].Outputs[j]; shown.DisplayID == o.DisplayID {
				shown.Data, shown.Meta, shown.Blocks = o.Data, o.Meta, o.Blocks
			}
		}
	}
}

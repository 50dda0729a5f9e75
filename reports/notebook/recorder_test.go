package notebook

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func stream(name, text string) Output { return Output{Type: StreamOutput, Stream: name, Text: text} }

func shows(id, text string) Output {
	return Output{Type: DisplayOutput, DisplayID: id, Data: map[string]any{"text/plain": text}}
}

func updates(id, text string) Output {
	o := shows(id, text)
	o.Type = UpdateOutput
	return o
}

func clears(wait bool) Output { return Output{Type: ClearOutput, Wait: wait} }

// TestRecorder holds what is left of a run against what the messaging protocol asks of a front end:
// jupyter_client, "Messaging in Jupyter", update_display_data and clear_output.
func TestRecorder(t *testing.T) {
	tests := []struct {
		name string
		emit []Output
		want []Output
	}{
		{"text joins on its stream", []Output{stream("stdout", "a"), stream("stdout", "b"), stream("stderr", "c"),
			stream("stdout", "d")},
			[]Output{stream("stdout", "ab"), stream("stderr", "c"), stream("stdout", "d")}},
		{"an update replaces", []Output{shows("bar", "1"), stream("stdout", "x"), updates("bar", "2")},
			[]Output{shows("bar", "2"), stream("stdout", "x")}},
		{"an update of nothing is lost", []Output{updates("bar", "2"), updates("", "3")}, nil},
		{"a display without a name is not updated", []Output{shows("", "1"), updates("", "2")},
			[]Output{shows("", "1")}},
		{"one name shown twice", []Output{shows("bar", "1"), shows("bar", "2")}, []Output{shows("bar", "2"),
			shows("bar", "2")}},
		{"a clearing", []Output{shows("", "1"), clears(false), shows("", "2")}, []Output{shows("", "2")}},
		{"one that waits", []Output{shows("", "1"), clears(true), stream("stdout", "x"), stream("stdout", "y")},
			[]Output{stream("stdout", "xy")}},
		{"one that waits for good", []Output{shows("", "1"), clears(true)}, []Output{shows("", "1")}},
		{"one at once after one that waits", []Output{shows("", "1"), clears(true), clears(false), shows("", "2"),
			shows("", "3")},
			[]Output{shows("", "2"), shows("", "3")}},
		{"a result takes the count", []Output{{Type: ResultOutput}}, []Output{{Type: ResultOutput, Count: 7}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := Recorder{Notebook: &Notebook{Cells: []Cell{{Type: CodeCell,
				Outputs: []Output{stream("stdout", "stale")}}}}}
			r.Begin(0, 7)
			for _, o := range tt.emit {
				r.Take(o)
			}
			if diff := cmp.Diff(r.Cell().Outputs, tt.want); diff != "" {
				t.Errorf("outputs (-got +want):\n%s", diff)
			}
		})
	}
}

// TestRecorderAcrossCells: a later cell updates what an earlier one shows, and a clearing that waits ends
// with its cell.
func TestRecorderAcrossCells(t *testing.T) {
	r := Recorder{Notebook: &Notebook{Minor: 5, Cells: []Cell{{Type: CodeCell}, {Type: CodeCell}}}}
	r.Begin(0, 1)
	r.Take(shows("bar", "1"))
	r.Take(clears(true))
	r.Begin(1, 2)
	r.Take(updates("bar", "2"))
	r.Take(stream("stdout", "x"))
	for i, want := range [][]Output{{shows("bar", "2")}, {stream("stdout", "x")}} {
		if diff := cmp.Diff(r.Notebook.Cells[i].Outputs, want); diff != "" {
			t.Errorf("cell %d (-got +want):\n%s", i+1, diff)
		}
	}
	data, err := r.Notebook.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	back, err := Read(data)
	if err != nil {
		t.Fatal(err)
	}
	if got := back.Cells[0].Outputs[0]; got.DisplayID != "" || len(got.Extra) != 0 {
		t.Errorf("a display's name is transient, and the file holds %+v", got)
	}
}

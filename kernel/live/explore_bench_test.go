package live

import (
	"testing"

	"wedgework/kernel/transport"
)

// What the sliders of a design cost: one stack assembled, its response over 36 wavelengths computed and plotted.
const exploredDesign = `c = crystal("YVO4")
def design(apex):
    w1 = wedge(c, apex=apex, thickness=0.5*mm, axis=22.5*deg, slanted="front")
    w2 = wedge(c, apex=apex, thickness=0.5*mm, axis=67.5*deg, slanted="back")
    r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
    return stack(w1, gap(0.5*mm), r, gap(0.5*mm), w2, beam=collimator(waist=200*um, working_distance=10*mm))
def show(apex):
    plot(design(apex).forward(sweep(1530*nm, 1565*nm, 1*nm)))
`

// BenchmarkRedraw is the time from a move of a slider to the end of its redrawing, over sockets.
func BenchmarkRedraw(b *testing.B) {
	connection, end := serve(b)
	defer end()
	f := connect(b, connection, "engineer")
	defer f.close()
	slider := f.slider(b, exploredDesign+"e = explore(show, apex=between(3*deg, 8*deg))")
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		f.mu.Lock()
		f.forget()
		f.mu.Unlock()
		if _, err := f.move(slider, 3+0.05*float64(i%100)); err != nil {
			b.Fatal(err)
		}
	}
}

// slider runs a cell with an explore() in a front end of ipywidgets 8 and returns the id of its first slider, "" for a
// cell without one.
func (f *client) slider(t testing.TB, code string) string {
	t.Helper()
	m, err := f.send(transport.Shell, "comm_open", map[string]any{"comm_id": "control",
		"target_name": "jupyter.widget.control", "data": map[string]any{}})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.idle(m); err != nil {
		t.Fatal(err)
	}
	return sliderOf(f.run(t, code))
}

package live

import (
	"strings"
	"testing"
	"time"

	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// subshell creates a subshell.
func (f *client) subshell(t *testing.T) string {
	t.Helper()
	m, err := f.send(transport.Control, "create_subshell_request", map[string]any{})
	if err != nil {
		t.Fatal(err)
	}
	about, err := f.about(m)
	if err != nil {
		t.Fatal(err)
	}
	id := field(t, about, "create_subshell_reply", "subshell_id")
	if id == "" {
		t.Fatalf("no subshell: %s", kerneltest.Summary(about))
	}
	return id
}

// in sends a request to a subshell and waits for all about it.
func (f *client) in(t *testing.T, subshell, msgType string, content any) []kerneltest.Record {
	t.Helper()
	m, err := f.sendTo(transport.Shell, subshell, msgType, content)
	if err != nil {
		t.Fatal(err)
	}
	about, err := f.about(m)
	if err != nil {
		t.Fatal(err)
	}
	return about
}

// begin sends a cell and waits until it has printed.
func (f *client) begin(t *testing.T, code string) *wire.Message {
	t.Helper()
	m, err := f.send(transport.Shell, "execute_request", map[string]any{"code": code})
	if err != nil {
		t.Fatal(err)
	}
	if !f.printed(m) {
		t.Fatal("the cell has not begun")
	}
	return m
}

// printed waits until a cell has printed.
func (f *client) printed(m *wire.Message) bool {
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(time.Millisecond) {
		f.mu.Lock()
		about := kerneltest.About(f.log, m)
		f.mu.Unlock()
		if strings.Contains(kerneltest.Summary(about), "stream") {
			return true
		}
	}
	return false
}

// running fails when a cell is over.
func (f *client) running(t *testing.T, m *wire.Message) {
	t.Helper()
	f.mu.Lock()
	defer f.mu.Unlock()
	if kerneltest.Done(kerneltest.About(f.log, m)) {
		t.Fatalf("the cell is over: %s", kerneltest.Summary(kerneltest.About(f.log, m)))
	}
}

// beside is a stack and an exploration whose redrawing changes a list that cells change too.
const beside = `
log = []
c = crystal("YVO4")
def build(apex):
    w1 = wedge(c, apex=apex, slanted="front")
    w2 = wedge(c, apex=apex, slanted="back", axis=67.5*deg)
    r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
    return stack(w1, gap(1*mm), r, gap(1*mm), w2, beam=collimator(waist=0.2*mm, working_distance=6*mm))
s = build(4*deg)
def show(apex):
    log.append(apex)
    return build(apex).forward(1550*nm)
e = explore(show, apex=between(3*deg, 8*deg))
`

// Sliders live while a cell runs: in a loop of the interpreter, which changes the list that the redrawing changes too,
// and while trials are computed. What else a subshell is asked is answered as well.
func TestSubshellWhileACellRuns(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "front end")
	defer f.close()
	f.slider(t, "1")
	cell := f.run(t, beside)
	slider, id := sliderOf(cell), f.subshell(t)
	if slider == "" {
		t.Fatalf("no slider: %s", field(t, cell, "error", "evalue"))
	}
	for name, code := range map[string]string{
		"loop":   "print('begun')\nwhile True:\n    log.insert(0, None)\n    log.pop(0)",
		"trials": "print('begun')\ns.trials(100000000, {'wedge1.apex': normal(0.05*deg)}, wavelength=1550*nm)",
	} {
		m := f.begin(t, code)
		for i := range 5 {
			about, err := f.moveIn(id, slider, 4+float64(i)/4)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := exchanged(t, about), "busy comm_msg:echo_update update_display_data idle"; got != want {
				t.Errorf("%s: a move: %s, want %s", name, got, want)
			}
		}
		for _, tt := range []struct {
			request string
			content map[string]any
			reply   string
			want    string
		}{
			{"execute_request", map[string]any{"code": "e.values['apex']"}, "execute_result", "5 deg"},
			{"execute_request", map[string]any{"code": "x = 1"}, "error", "a subshell evaluates one expression"},
			{"execute_request", map[string]any{"code": "", "user_expressions": map[string]any{"n": "len(log) > 0"}},
				"execute_reply", "True"},
			{"complete_request", map[string]any{"code": "s.for", "cursor_pos": 5}, "complete_reply", "forward"},
			{"inspect_request", map[string]any{"code": "wedge", "cursor_pos": 5}, "inspect_reply", "apex"},
		} {
			about := f.in(t, id, tt.request, tt.content)
			text := ""
			for _, r := range about {
				if r.Header.Type == tt.reply {
					text += string(r.Content)
				}
			}
			if !strings.Contains(text, tt.want) {
				t.Errorf("%s: %s %v: %s, want %s with %q", name, tt.request, tt.content, text, tt.reply, tt.want)
			}
		}
		f.running(t, m)
		stop, err := f.send(transport.Control, "interrupt_request", map[string]any{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.about(stop); err != nil {
			t.Fatal(err)
		}
		about, err := f.about(m)
		if err != nil {
			t.Fatal(err)
		}
		if got := field(t, about, "error", "ename"); got != "Interrupted" {
			t.Errorf("%s: ended with %q, want Interrupted: %s", name, got, field(t, about, "error", "evalue"))
		}
	}
	if got := field(t, f.run(t, "x"), "error", "evalue"); !strings.Contains(got, "undefined: x") {
		t.Errorf("the subshell has left a name: %s", got)
	}
	drawn := f.run(t, "len([v for v in log if v != None])")
	if got := field(t, drawn, "execute_result", "data"); !strings.Contains(got, `"11"`) {
		t.Errorf("after 1 drawing and 10 moves the list holds %s", got)
	}
	if err := f.check(); err != nil {
		t.Error(err)
	}
}

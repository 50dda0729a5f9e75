package live

import (
	"encoding/json"
	"strings"
	"testing"

	"wedgework/kernel/kerneltest"
	"wedgework/kernel/transport"
	"wedgework/kernel/wire"
)

// exchanged writes the messages about one request as a recorded exchange: types in order, and of messages on comms the
// method or the model.
func exchanged(t *testing.T, about []kerneltest.Record) string {
	t.Helper()
	var out []string
	for _, r := range about {
		what := r.Header.Type
		switch what {
		case "status":
			what = field(t, []kerneltest.Record{r}, "status", "execution_state")
		case "comm_open", "comm_msg":
			var c struct {
				Data struct {
					Method string         `json:"method"`
					Name   string         `json:"_model_name"`
					State  map[string]any `json:"state"`
				} `json:"data"`
			}
			if err := json.Unmarshal(r.Content, &c); err != nil {
				t.Fatal(err)
			}
			name, _ := c.Data.State["_model_name"].(string)
			what += ":" + c.Data.Method + c.Data.Name + name
		}
		out = append(out, what)
	}
	return strings.Join(out, " ")
}

// only leaves out the messages that both exchanges of a cell have in common with any cell.
func only(s, start string) string {
	kept := []string{}
	for _, w := range strings.Fields(s) {
		if strings.HasPrefix(w, start) {
			kept = append(kept, w)
		}
	}
	return strings.Join(kept, " ")
}

const explored = "def show(apex):\n    print('apex is', apex)\n    return apex\ne = explore(show, apex=between(3*deg, 8*deg))"

// The exchange of a front end of ipywidgets 8, as the protocol document of its messages has it: the control comm, the
// models, one display; a move, echoed and drawn in place of what was there; the value in a later cell; and a front
// end that comes later and asks for all states.
func TestExchangeOfProtocol2(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "front end")
	defer f.close()
	slider := f.slider(t, "1") // no slider yet
	if slider != "" {
		t.Fatal("a cell without explore() opens a slider")
	}
	cell := f.run(t, explored)
	if got, want := only(exchanged(t, cell), "comm"), "comm_open:LayoutModel comm_open:LayoutModel "+
		"comm_open:SliderStyleModel comm_open:FloatSliderModel comm_open:VBoxModel"; got != want {
		t.Errorf("the cell opens\n%s\nwant\n%s", got, want)
	}
	if got, want := only(exchanged(t, cell), "d"), "display_data display_data"; got != want {
		t.Errorf("the cell shows %s, want the controls and what they move", got)
	}
	about, err := f.move(sliderOf(cell), 6.26)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := exchanged(t, about), "busy comm_msg:echo_update update_display_data idle"; got != want {
		t.Errorf("a move: %s, want %s", got, want)
	}
	var shown struct {
		Data map[string]string `json:"data"`
	}
	for _, r := range about {
		if r.Header.Type == "update_display_data" {
			if err := r.Read(&shown); err != nil {
				t.Fatal(err)
			}
		}
	}
	if text := shown.Data["text/plain"]; !strings.Contains(text, "apex is 6.25 deg") ||
		!strings.Contains(text, "Shown for apex = 6.25 deg (3 deg to 8 deg)") {
		t.Errorf("the move shows %q", text)
	}
	if got := field(t, f.run(t, "e.values['apex'], e.result"), "execute_result", "data"); !strings.Contains(got,
		"(6.25 deg, 6.25 deg)") {
		t.Errorf("a later cell has %s", got)
	}
	if err := f.check(); err != nil {
		t.Error(err)
	}
}

// sliderOf is the id of the slider that a cell opens, "" when it opens none.
func sliderOf(about []kerneltest.Record) string {
	for _, r := range about {
		var c struct {
			ID   string         `json:"comm_id"`
			Data map[string]any `json:"data"`
		}
		if r.Header.Type != "comm_open" || json.Unmarshal(r.Content, &c) != nil {
			continue
		}
		state, ok := c.Data["state"].(map[string]any)
		if !ok {
			state = c.Data
		}
		if state["_model_name"] == "FloatSliderModel" {
			return c.ID
		}
	}
	return ""
}

// What a function refuses is shown in place of the figure, and the slider goes on; a move that waits is replaced by the
// next.
func TestRedrawing(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "front end")
	defer f.close()
	slider := f.slider(t, "n = [0]\ndef show(x):\n    n[0] += 1\n    if x > 7:\n        fail('x is too large')\n    print(n[0])\n"+
		"e = explore(show, x=between(0.0, 10.0))")
	about, err := f.move(slider, 9)
	if err != nil {
		t.Fatal(err)
	}
	if got := field(t, about, "update_display_data", "data"); !strings.Contains(got, "x is too large") {
		t.Errorf("a value that the function refuses shows %s", got)
	}
	// Twenty moves in one go, while a cell runs: the last one is drawn, and few of the others.
	busy, err := f.send(transport.Shell, "execute_request", map[string]any{"code": "for i in range(3000000):\n    pass"})
	if err != nil {
		t.Fatal(err)
	}
	var m *wire.Message
	for i := range 20 {
		if m, err = f.send(transport.Shell, "comm_msg", map[string]any{"comm_id": slider, "data": map[string]any{
			"method": "update", "state": map[string]any{"value": 0.1 * float64(i)}}}); err != nil {
			t.Fatal(err)
		}
	}
	last, err := f.until(m, false)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.about(busy); err != nil {
		t.Fatal(err)
	}
	if got := field(t, last, "update_display_data", "data"); !strings.Contains(got, "Shown for x = 1.9") {
		t.Errorf("the last move shows %s", got)
	}
	if got := field(t, f.run(t, "n[0], e.values['x']"), "execute_result", "data"); !strings.Contains(got, "(3, 1.9)") {
		t.Errorf("the function has run and has %s, want three times: at first, refused, and for the last of 20 moves", got)
	}
}

// Without a front end that draws widgets the cell shows what it shows anywhere, and says what can move.
func TestExploreWithoutWidgets(t *testing.T) {
	connection, end := serve(t)
	defer end()
	f := connect(t, connection, "runner")
	defer f.close()
	cell := f.run(t, explored)
	if got, want := exchanged(t, cell), "busy execute_input stream display_data display_data idle execute_reply"; !sameWords(got, want) {
		t.Errorf("got %s, want %s", got, want)
	}
}

// sameWords compares without order: nothing orders the channels.
func sameWords(a, b string) bool {
	count := map[string]int{}
	for _, w := range strings.Fields(a) {
		count[w]++
	}
	for _, w := range strings.Fields(b) {
		count[w]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

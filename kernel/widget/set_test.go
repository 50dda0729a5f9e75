package widget

import "testing"

// Every kind of control says that it has moved when it alone has, and only then.
func TestEveryKindMoves(t *testing.T) {
	for name, c := range map[string]struct {
		control     Control
		same, other map[string]any
	}{
		"slider": {Control{Kind: Slider, Min: 0, Max: 10, Step: 1, Value: 3}, map[string]any{"value": 3.0},
			map[string]any{"value": 4.0}},
		"whole number": {Control{Kind: Whole, Min: 0, Max: 10, Step: 1, Value: 3}, map[string]any{"value": 3.0},
			map[string]any{"value": 4.0}},
		"check box": {Control{Kind: Check}, map[string]any{"value": false}, map[string]any{"value": true}},
		"choice": {Control{Kind: Choice, Options: []string{"a", "b"}}, map[string]any{"index": 0.0},
			map[string]any{"index": 1.0}},
	} {
		if moved, err := c.control.set(c.same); moved || err != nil {
			t.Errorf("%s: set to where it is: moved %v, %v", name, moved, err)
		}
		if moved, err := c.control.set(c.other); !moved || err != nil {
			t.Errorf("%s: set elsewhere: moved %v, %v", name, moved, err)
		}
	}
}

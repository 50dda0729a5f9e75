package memory

import (
	"testing"
	"time"
)

// TestWatchLooksInTime: what grows at a gigabyte a second, which is a byte a nanosecond, from the last look on, is seen
// before it has used up the reserve, and nobody looks more often than every ten milliseconds.
func TestWatchLooksInTime(t *testing.T) {
	for _, room := range []uint64{0, 1, 1 << 20, 15 << 20, 64 << 20, 1 << 30, 4 << 30, 1 << 63} {
		p := pause(room)
		if p < watchEvery || p > watchMost {
			t.Errorf("with %d bytes to go a watch looks away for %v, want %v to %v", room, p, watchEvery, watchMost)
		}
		if grown := uint64(p / time.Nanosecond); grown > room+reserve/4 {
			t.Errorf("with %d bytes to go %d are added before the next look, past a quarter of the reserve", room, grown)
		}
	}
}

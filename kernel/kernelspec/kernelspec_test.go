package kernelspec

import "testing"

func TestTemporary(t *testing.T) {
	for _, tt := range []struct {
		program string
		want    bool
	}{
		{"/tmp/go-build3576757897/b001/exe/wedgework", true},  // go run
		{"/home/e/.cache/go-build/1c/1c0f-d/wedgework", true}, // go run, kept in the cache
		{"/tmp/go-build12/b001/wedgework.test", true},         // go test
		{"/home/e/go/bin/wedgework", false},                   // go install
		{"/srv/build/wedgework", false},                       // go build -o
	} {
		if got := Temporary(tt.program); got != tt.want {
			t.Errorf("Temporary(%s) is %v, want %v", tt.program, got, tt.want)
		}
	}
}

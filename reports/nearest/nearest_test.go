package nearest

import "testing"

func TestTo(t *testing.T) {
	names := []string{"alpha", "budget", "collimator", "collimators", "deg", "degC", "display", "dB", "len", "mm", "nm",
		"plot", "print", "wavelength", "x"}
	for _, c := range []struct {
		name string
		from []string
		want string
	}{
		{"wavelenght", names, "wavelength"},
		{"Wavelength", names, "wavelength"},
		{"wave_length", names, "wavelength"},
		{"colimator", names, "collimator"},
		{"bugdet", names, "budget"},
		{"db", names, "dB"},
		{"nmm", names, "mm"},
		{"pritn", names, "print"},
		{"plott", names, "plot"},
		{"y", names, ""},
		{"zz", names, ""},
		{"rutile", names, ""},
		{"temperature", names, ""},
		{"", names, ""},
		{"x", names, ""},
		{"apx", []string{"apex", "axis"}, "apex"},
		{"axsi", []string{"apex", "axis"}, "axis"},
		{"insertionloss", []string{"insertion_loss"}, "insertion_loss"},
		{"insertion los", []string{"isolation", "insertion loss"}, "insertion loss"},
		{"math", []string{"hash"}, ""},
		{"zzz", []string{"apex", "axis"}, ""},
		{"x", []string{"apex"}, ""},
		{"", []string{"apex"}, ""},
		{"Δλ", []string{"Δl"}, "Δl"},
	} {
		if got := To(c.name, c.from); got != c.want {
			t.Errorf("To(%q, %q) = %q, want %q", c.name, c.from, got, c.want)
		}
	}
}

// A third of the letters, rounded down, but at least one and at most three.
func TestReach(t *testing.T) {
	for _, c := range []struct {
		name, near, far string
	}{
		{"abcd", "abce", "abef"},
		{"abcdef", "abcdxy", "abcxyz"},
		{"abcdefghijkl", "abcdefghixyz", "abcdefghwxyz"},
	} {
		if got := To(c.name, []string{c.near}); got != c.near {
			t.Errorf("%q is not found from %q", c.near, c.name)
		}
		if got := To(c.name, []string{c.far}); got != "" {
			t.Errorf("%q is offered for %q", got, c.name)
		}
	}
}

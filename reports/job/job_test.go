package job

import "testing"

// Names that TOML reads bare and names that it wants in quotes: TOML 1.0, "Keys".
func TestKey(t *testing.T) {
	for name, want := range map[string]string{
		"sweep": "sweep", "sweep-2": "sweep-2", "my sweep": `"my sweep"`, "a.b": `"a.b"`, "größe": `"größe"`,
		`a"b`: `"a\"b"`,
	} {
		if got := Key(name); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
}

// A remedy speaks the language of whoever wrote the job.
func TestRemedy(t *testing.T) {
	for at, want := range map[Place]string{
		"": "add --data my sweep=FILE", "plan.toml:3": `add data."my sweep" = "FILE" at plan.toml:3`,
	} {
		j := Job{At: at}
		if got := j.Remedy("my sweep"); got != want {
			t.Errorf("%q: %s, want %s", at, got, want)
		}
	}
}

func TestCheckName(t *testing.T) {
	for name, good := range map[string]bool{"a": true, "my sweep": true, "a=b": true, "": false, " a": false,
		"a\n": false} {
		if err := CheckName(name); (err == nil) != good {
			t.Errorf("%q: %v", name, err)
		}
	}
}

package record

import (
	"regexp"
	"strings"
	"testing"
)

// The content is all but the number and the machine.
func TestContent(t *testing.T) {
	base := Record{Program: Program{Name: "wedgework", Version: "1", Go: "go1", Architecture: "amd64"},
		Issued: "2026-11-25"}
	content := func(change func(*Record)) string {
		r := base
		change(&r)
		c, err := r.Content()
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	same := content(func(*Record) {})
	for name, change := range map[string]func(*Record){
		"number": func(r *Record) { r.Number = "A" }, "Go": func(r *Record) { r.Program.Go = "go2" },
		"architecture": func(r *Record) { r.Program.Architecture = "arm64" },
	} {
		if content(change) != same {
			t.Errorf("%s is part of the content", name)
		}
	}
	for name, change := range map[string]func(*Record){
		"version": func(r *Record) { r.Program.Version = "2" }, "day": func(r *Record) { r.Issued = "" },
		"supersedes": func(r *Record) { r.Supersedes = &Superseded{"A", strings.Repeat("0", 64)} },
		"cautions":   func(r *Record) { r.Cautions = []string{"x"} },
	} {
		if content(change) == same {
			t.Errorf("%s is no part of the content", name)
		}
	}
	number := OwnNumber(same)
	if !regexp.MustCompile(`^WR-[0-9A-HJKMNP-TV-Z]{5}-[0-9A-HJKMNP-TV-Z]{5}$`).MatchString(number) ||
		CheckNumber(number) != nil {
		t.Errorf("the own number is %s", number)
	}
	if OwnNumber(content(func(r *Record) { r.Issued = "2026-11-26" })) == number {
		t.Error("two reports have one number")
	}
}

func TestAnswers(t *testing.T) {
	digest := Digest([]byte("a"))
	for _, c := range []struct {
		code string
		same bool
		bad  bool
	}{
		{Code("A-1", digest), true, false},
		{" A-1:" + digest[:12] + "\n", true, false},
		{"A-1:" + digest[:11], false, true},
		{"A-2:" + digest, false, false},
		{"A-1:" + Digest([]byte("b")), false, false},
		{"A-1:" + digest + "0", false, true},
		{"A-1:" + digest[:12] + "g", false, true},
		{"A-1", false, true}, {"", false, true}, {":" + digest, false, true},
	} {
		same, err := Answers(c.code, "A-1", digest)
		if same != c.same || (err != nil) != c.bad {
			t.Errorf("Answers(%q): %t, %v", c.code, same, err)
		}
	}
}

func TestCheckNumber(t *testing.T) {
	for number, good := range map[string]bool{
		"QR-2026-017": true, "a/b_c.1": true, "": false, "9.9 CERTIFIED": false, "-1": false, "a\nb": false,
		strings.Repeat("a", 40): true, strings.Repeat("a", 41): false,
	} {
		if err := CheckNumber(number); (err == nil) != good {
			t.Errorf("%q: %v", number, err)
		}
	}
}

package main

import (
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"wedgework/kernel/topics"
)

// TestHelpThatIsPromised: whatever README.md, a page of help or another text of the program sends a reader to is there,
// and pages fit a terminal, tables apart.
func TestHelpThatIsPromised(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string]string{"README.md": string(readme)}
	for _, topic := range topics.All() {
		texts[topic.Name] = topic.Text
		for i, line := range strings.Split(topic.Text, "\n") {
			if n := len([]rune(line)); n > 120 && !strings.HasPrefix(line, "|") {
				t.Errorf("%s, line %d: %d characters", topic.Name, i+1, n)
			}
		}
	}
	sent := regexp.MustCompile("(?:wedgework |`|See also: |, )help ([a-zA-Z_]+(?: install)?)")
	for name, text := range texts {
		for _, m := range sent.FindAllStringSubmatch(text, -1) {
			asked := append([]string{"help"}, strings.Fields(m[1])...)
			if m[1] == "WORD" || m[1] == "TOPIC" || m[1] == "extinction" {
				continue
			}
			if status := run(t.Context(), asked, strings.NewReader(""), io.Discard, io.Discard); status != 0 {
				t.Errorf("%s sends its reader to wedgework help %s, which fails", name, m[1])
			}
		}
	}
}

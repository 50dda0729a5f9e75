package pdf

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/require"
)

// Another program reads the code from a picture of the page, beside a title of any length.
func TestCodeIsRead(t *testing.T) {
	for _, title := range []string{"", "A title", strings.Repeat("A title of many words ", 30)} {
		const code = "WR-7K3M9-QXT2B:2CB3E66D25252F29AF39665061986FA1F84720CE9D4E6D7344B585EB2A0011FF"
		file, _ := mustRender(t, document.Document{Title: title, Code: code}, Options{})
		picture := filepath.Join(t.TempDir(), "page")
		if out, err := exec.Command(require.Tool(t, "pdftoppm"), "-r", "150", "-png", "-singlefile", write(t, file),
			picture).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		out, err := exec.Command(require.Tool(t, "zbarimg"), "-q", "--raw", picture+".png").Output()
		if got := strings.TrimSpace(string(out)); err != nil || got != code {
			t.Errorf("the code reads %q (%v), want %q", got, err, code)
		}
	}
	if _, err := newSquares(strings.Repeat("x", 5000)); err == nil {
		t.Error("no error for a text that no code can hold")
	}
}

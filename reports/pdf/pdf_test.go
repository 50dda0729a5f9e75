package pdf

import (
	"os"
	"testing"
)

func TestDemoOut(t *testing.T) {
	out, warn, err := Render(demo(), Options{Attachments: demoAttachments(), Program: "wedgework 0.1"})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(warn)
	os.WriteFile("/tmp/demo.pdf", out, 0o644)
}

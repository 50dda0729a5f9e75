package pdf

import (
	"flag"
	"path/filepath"
	"testing"

	"wedgework/reports/require"
)

var update = flag.Bool("update", false, "rewrite the golden pictures from what the program draws now")

// TestPagesLookAsTheyDid holds pages of the demonstration document against small grey pictures of them: verdicts and a
// table, a figure.
func TestPagesLookAsTheyDid(t *testing.T) {
	file, _ := mustRender(t, demo(), demoOptions)
	require.Pages(t, write(t, file), filepath.Join("testdata", "page"), *update, 1, 2)
}

package reproduce

import (
	"bytes"

	"wedgework/reports/publish"
)

// SamePage reports whether a page for a screen that lies beside a report is the one that belongs to it, to the byte. It
// is made from the report made again; where that one agrees with the report and another version of the program made
// the report, with the names and hashes of that version.
func SamePage(page []byte, c *Carried, f *Finding, again *publish.Report) (bool, error) {
	want := again.HTML
	if f.Result == Agrees {
		var err error
		if want, err = again.PageOf(c.Record, c.JSON, c.Executed, c.PDF); err != nil {
			return false, err
		}
	}
	return bytes.Equal(page, want), nil
}

//go:build !unix

package fileset

import (
	"fmt"
	"os"

	"wedgework/reports/reason"
)

// lock checks that the folder is there. Two runs with the same report at the same time are not kept apart
// on this system: the second finds the first's files in its way and refuses.
func lock(folder string) (unlock func(), err error) {
	if _, err := os.Stat(folder); err != nil {
		return nil, fmt.Errorf("the folder of the report: %w", reason.Plain(err))
	}
	return func() {}, nil
}

// syncFolder does nothing: names of this system's folders are not brought to disk by hand.
func syncFolder(string) error { return nil }

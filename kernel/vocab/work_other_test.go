//go:build !unix

package vocab

import "time"

var began = time.Now()

// worked is the time since the test began, where the system does not tell that of processors.
func worked() time.Duration { return time.Since(began) }

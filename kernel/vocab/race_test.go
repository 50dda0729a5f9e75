//go:build race

package vocab

// slower is how much longer the race detector makes a call.
const slower = 10

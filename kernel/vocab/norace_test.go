//go:build !race

package vocab

const slower = 1
